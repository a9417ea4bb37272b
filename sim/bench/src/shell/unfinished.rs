//! What a run has begun to write, so that a signal leaves nothing half done.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use super::staged;

static FOLDERS: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// What the shell says of a run that ctrl-C ended: 128 and the number of the signal.
const STOPPED: i32 = 130;

fn folders() -> MutexGuard<'static, Vec<PathBuf>> {
    FOLDERS.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Notes the marked folder of a set that is begun.
pub(super) fn add(folder: &Path) {
    folders().push(folder.to_owned());
}

/// The set is in its place, or given up.
pub(super) fn forget(folder: &Path) {
    folders().retain(|known| known != folder);
}

/// While this is held a signal waits.
pub(super) fn hold() -> MutexGuard<'static, Vec<PathBuf>> {
    folders()
}

/// From now on a signal that asks the program to stop (ctrl-C, or the terminal or the system
/// closing) first removes what is half written. For the `main` of a command.
pub fn clean_up_when_stopped(name: &'static str) {
    // Where there is no such handler the next run removes what this one leaves.
    let _ = ctrlc::set_handler(move || {
        // Held to the end: nothing more is put in place.
        let folders = folders();
        for folder in folders.iter() {
            staged::abandon(folder, folder.parent().unwrap_or(Path::new("")));
        }
        let _ = std::io::Write::write_all(
            &mut std::io::stderr(),
            if folders.is_empty() {
                format!("{name}: stopped\n")
            } else {
                format!("{name}: stopped; what was half written is removed\n")
            }
            .as_bytes(),
        );
        std::process::exit(STOPPED);
    });
}
