//! The command as it is started: a signal stops it while it waits for a file.

#![cfg(all(unix, feature = "shell"))]

use std::fs::{self, File};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Longer than any of this takes on a slow machine.
const PATIENCE: Duration = Duration::from_secs(60);
/// What a command ends with that was stopped.
const STOPPED: i32 = 130;

#[test]
fn a_signal_stops_the_command_at_once() {
    let name = format!("talk-{}.toml", std::process::id());
    let pipe = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    assert!(
        Command::new("mkfifo")
            .arg(&pipe)
            .status()
            .unwrap()
            .success()
    );
    let mut lab = Command::new(env!("CARGO_BIN_EXE_lab"))
        .args(["talk", "check"])
        .arg(&pipe)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    // A pipe opens when both ends do: from here on the command waits for text that never comes.
    let _never_written = File::options().write(true).open(&pipe).unwrap();
    let stop = Command::new("kill")
        .args(["-TERM", &lab.id().to_string()])
        .status();
    assert!(stop.unwrap().success());
    let began = Instant::now();
    let ended = loop {
        match lab.try_wait().unwrap() {
            Some(status) => break Some(status),
            None if began.elapsed() > PATIENCE => break None,
            None => std::thread::sleep(Duration::from_millis(10)),
        }
    };
    if ended.is_none() {
        lab.kill().unwrap();
    }
    fs::remove_file(&pipe).unwrap();
    assert_eq!(ended.expect("stopped").code(), Some(STOPPED));
}
