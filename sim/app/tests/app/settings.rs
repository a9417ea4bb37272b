//! "Leave me alone" holds at the next start, "Show me again" takes it back, and a folder that
//! can't be written is no matter. Every file is in a folder of the test's own.

use std::path::{Path, PathBuf};

use bevy::app::App;
use jigwise_bench::Scenario;
use jigwise_sim::Simulator;
use jigwise_sim::host::headless;
use jigwise_sim::host::settings::{self, Settings};

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let folder = format!("jigwise-settings-{name}-{}", std::process::id());
        let folder = std::env::temp_dir().join(folder);
        std::fs::create_dir_all(&folder).unwrap();
        Self(folder)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn started(folder: Option<&Path>) -> App {
    let mut app = headless::app(Simulator::new(Scenario::default()).unwrap());
    settings::plugin(&mut app, Settings::in_folder(folder));
    app.update();
    app
}

fn offers(app: &App) -> bool {
    app.world().resource::<Simulator>().view.guide.is_on()
}

fn leave_alone(app: &mut App) {
    let mut simulator = app.world_mut().resource_mut::<Simulator>();
    simulator.view.guide.leave_alone();
    app.update();
}

#[test]
fn what_was_asked_for_holds_at_the_next_start() {
    let folder = Folder::new("kept");
    let start = || started(Some(&folder.0));
    let mut app = start();
    assert!(offers(&app));
    assert!(!folder.0.join("jigwise").exists(), "nothing was asked for");
    leave_alone(&mut app);
    let mut next = start();
    assert!(!offers(&next));
    let mut simulator = next.world_mut().resource_mut::<Simulator>();
    simulator.view.guide.show_again();
    next.update();
    assert!(offers(&start()));
}

#[test]
fn a_folder_that_can_not_be_written_is_no_matter() {
    let folder = Folder::new("barred");
    let file = folder.0.join("file");
    std::fs::write(&file, "no folder").unwrap();
    for place in [None, Some(file.as_path())] {
        let mut app = started(place);
        leave_alone(&mut app);
        assert!(!offers(&app));
        assert!(offers(&started(place)));
    }
}
