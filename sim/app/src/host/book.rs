//! Opens a page of the book that lies beside the program.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use bevy::app::{App, PostUpdate};
use bevy::ecs::system::ResMut;

use crate::Simulator;

/// Opens what was asked about. The app must hold a [`Simulator`].
pub(super) fn plugin(app: &mut App) {
    app.add_systems(PostUpdate, open_asked);
}

fn open_asked(mut simulator: ResMut<Simulator>) {
    if simulator.teach.asked_for().is_none() {
        return;
    }
    let Some(thing) = simulator.teach.take_asked() else {
        return;
    };
    let opened = match folder() {
        Some(folder) => open(&folder, &thing.address()),
        None => Err(format!(
            "the book has a page about {}, and the book is not here; build it with cargo book build, \
             and it is found",
            thing.name()
        )),
    };
    simulator.memory.complain(opened);
}

/// The folder of the built book: beside the program, or where the project builds it.
fn folder() -> Option<PathBuf> {
    let program = std::env::current_exe().ok();
    let beside = program.as_deref().and_then(Path::parent);
    let above = beside.into_iter().flat_map(Path::ancestors).take(4);
    let here = std::env::current_dir().ok();
    above
        .flat_map(|folder| [folder.join("book"), folder.join("target").join("book")])
        .chain(
            here.into_iter()
                .map(|here| here.join("target").join("book")),
        )
        .find(|folder| folder.join("index.html").is_file())
}

fn open(folder: &Path, address: &str) -> Result<(), String> {
    let path = folder.join(address.split('#').next().unwrap_or(address));
    let address = format!("file://{}/{address}", folder.display());
    let mut command = if cfg!(windows) {
        let mut command = Command::new("explorer");
        // It knows no address of a heading.
        command.arg(&path);
        command
    } else if cfg!(target_os = "macos") {
        let mut command = Command::new("open");
        command.arg(&address);
        command
    } else {
        let mut command = Command::new("xdg-open");
        command.arg(&address);
        command
    };
    let begun = command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    match begun {
        Ok(_) => Ok(()),
        Err(_) => Err(format!(
            "no browser could be started; open {} yourself",
            path.display()
        )),
    }
}
