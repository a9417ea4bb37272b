//! What the program remembers of its user from one start to the next: that the first moves are
//! not offered any more. Where it can't be read or written, nothing is remembered.

use std::path::{Path, PathBuf};

use bevy::app::{App, PostUpdate};
use bevy::ecs::resource::Resource;
use bevy::ecs::system::{Res, ResMut};

use crate::Simulator;

const LEFT_ALONE: &str = "first_moves = false";

/// The file of the user's settings, and what stands in it.
#[derive(Resource, Debug)]
pub struct Settings {
    file: Option<PathBuf>,
    left_alone: bool,
}

impl Settings {
    /// Those in the user's folder for settings.
    pub fn of_user() -> Self {
        Self::in_folder(user_folder().as_deref())
    }

    /// Those in a folder; `None` remembers nothing.
    pub fn in_folder(folder: Option<&Path>) -> Self {
        let file = folder.map(|folder| folder.join("jigwise").join("settings.toml"));
        let text = file
            .as_ref()
            .and_then(|file| std::fs::read_to_string(file).ok());
        Self {
            file,
            left_alone: text.is_some_and(|text| text.lines().any(|line| line.trim() == LEFT_ALONE)),
        }
    }

    /// True where somebody has asked not to be offered the first moves.
    pub fn is_left_alone(&self) -> bool {
        self.left_alone
    }

    /// Writes the file; whoever may not write there is asked again at the next start.
    fn keep(&self) {
        let Some(file) = &self.file else { return };
        let line = if self.left_alone {
            LEFT_ALONE
        } else {
            "first_moves = true"
        };
        if let Some(folder) = file.parent() {
            let _ = std::fs::create_dir_all(folder);
        }
        let text = format!("# Jigwise: whether the window offers the first moves.\n{line}\n");
        let _ = super::platform::write_whole(file, text.as_bytes());
    }
}

/// The folder in which programs keep their settings, by the custom of the system.
fn user_folder() -> Option<PathBuf> {
    let folder = |name: &str| {
        let path = PathBuf::from(std::env::var_os(name)?);
        path.is_absolute().then_some(path)
    };
    if cfg!(windows) {
        folder("APPDATA")
    } else if cfg!(target_os = "macos") {
        Some(folder("HOME")?.join("Library").join("Application Support"))
    } else {
        folder("XDG_CONFIG_HOME").or_else(|| Some(folder("HOME")?.join(".config")))
    }
}

/// Begins as the settings say, and keeps what is changed. The app must hold a [`Simulator`].
pub fn plugin(app: &mut App, settings: Settings) {
    if settings.left_alone {
        let mut simulator = app.world_mut().resource_mut::<Simulator>();
        simulator.view.guide.leave_alone();
    }
    app.insert_resource(settings)
        .add_systems(PostUpdate, keep_changes);
}

fn keep_changes(simulator: Res<Simulator>, mut settings: ResMut<Settings>) {
    let left_alone = simulator.view.guide.is_left_alone();
    if settings.left_alone != left_alone {
        settings.left_alone = left_alone;
        settings.keep();
    }
}
