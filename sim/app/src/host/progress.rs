//! What was predicted and played, kept in the folder for data of the platform.

use std::path::{Path, PathBuf};

use bevy::app::{App, PostUpdate};
use bevy::ecs::resource::Resource;
use bevy::ecs::system::{Res, ResMut};
use etcetera::BaseStrategy;
use jigwise_exercises::progress::Progress;

use crate::Simulator;

/// The file of the progress, and how much of it was written.
#[derive(Resource, Debug)]
pub struct Kept {
    file: Option<PathBuf>,
    revision: u64,
    /// True where the file holds what could not be read, and has to be kept aside first.
    is_damaged: bool,
}

impl Kept {
    /// That in the user's folder for data.
    pub fn of_user() -> Self {
        let folder = etcetera::choose_base_strategy().ok();
        Self::in_folder(folder.map(|folder| folder.data_dir()).as_deref())
    }

    /// That in a folder; `None` keeps nothing.
    pub fn in_folder(folder: Option<&Path>) -> Self {
        Self {
            file: folder.map(|folder| folder.join("jigwise").join("progress.toml")),
            revision: 0,
            is_damaged: false,
        }
    }

    /// Reads what was kept into the simulator; what can't be read is said there.
    fn read_into(&mut self, simulator: &mut Simulator) {
        let Some(file) = &self.file else { return };
        // No file yet is the usual thing.
        let Ok(bytes) = std::fs::read(file) else {
            return;
        };
        let text = String::from_utf8_lossy(&bytes);
        let found = Progress::from_toml(&text, &file.display().to_string());
        self.is_damaged = !found.faults.is_empty();
        simulator.teach.take_kept(found);
    }

    fn write(&mut self, simulator: &Simulator) {
        let Some(file) = &self.file else { return };
        if let Some(folder) = file.parent() {
            let _ = std::fs::create_dir_all(folder);
        }
        if std::mem::take(&mut self.is_damaged) {
            let _ = std::fs::copy(file, file.with_extension("damaged.toml"));
        }
        if simulator.teach.progress.is_empty() {
            let _ = std::fs::remove_file(file);
            return;
        }
        let text = simulator.teach.progress.to_toml();
        let _ = super::platform::write_whole(file, text.as_bytes());
    }
}

/// Begins with what was kept, and keeps what is added. The app must hold a [`Simulator`].
pub fn plugin(app: &mut App, mut kept: Kept) {
    let mut simulator = app.world_mut().resource_mut::<Simulator>();
    kept.read_into(&mut simulator);
    kept.revision = simulator.teach.revision();
    app.insert_resource(kept)
        .add_systems(PostUpdate, keep_changes);
}

fn keep_changes(simulator: Res<Simulator>, mut kept: ResMut<Kept>) {
    let revision = simulator.teach.revision();
    if kept.revision != revision {
        kept.revision = revision;
        kept.write(&simulator);
    }
}
