//! What was predicted is there at the next start, and a damaged file costs no more than itself.

use std::fs;
use std::path::Path;

use bevy::app::App;
use jigwise_bench::{Fixture, Scenario};
use jigwise_exercises::Cover;
use jigwise_exercises::predict::Guess;
use jigwise_sim::Simulator;
use jigwise_sim::host::headless;
use jigwise_sim::host::progress::{self, Kept};

fn app(folder: &Path) -> App {
    let mut app = headless::app(Simulator::new(Scenario::default()).unwrap());
    progress::plugin(&mut app, Kept::in_folder(Some(folder)));
    app.update();
    app
}

fn folder(name: &str) -> std::path::PathBuf {
    let folder = std::env::temp_dir().join(format!("jigwise-{name}-{}", std::process::id()));
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(folder.join("jigwise")).unwrap();
    folder
}

fn words(app: &App) -> String {
    let simulator = app.world().resource::<Simulator>();
    simulator.teach.progress.sentences().join(" ")
}

fn predict(app: &mut App) {
    let mut simulator = app.world_mut().resource_mut::<Simulator>();
    simulator.predict(Cover::BestFixture);
    simulator.commit(Guess::Fixture(Fixture::SeriesThrough));
    app.update();
}

#[test]
fn what_was_predicted_is_there_at_the_next_start_until_it_is_erased() {
    let folder = folder("progress");
    let mut first = app(&folder);
    assert!(words(&first).starts_with("Nothing"));
    predict(&mut first);
    drop(first);
    let mut second = app(&folder);
    assert!(words(&second).contains("1 of 1 well"), "{}", words(&second));
    second.world_mut().resource_mut::<Simulator>().teach.erase();
    second.update();
    assert!(!folder.join("jigwise/progress.toml").exists());
    let _ = fs::remove_dir_all(&folder);
}

#[test]
fn a_half_written_file_is_a_sentence_and_is_kept_aside() {
    let folder = folder("half-progress");
    let file = folder.join("jigwise/progress.toml");
    let text = "version = 1\n\n[[predicted]]\nwhat = \"best fixture\"\nwell = true\n\n[[predicted]]\nwhat = \"bar re";
    fs::write(&file, text).unwrap();
    let mut app = app(&folder);
    let simulator = app.world().resource::<Simulator>();
    assert_eq!(simulator.teach.faults.len(), 1);
    assert!(
        simulator.teach.faults[0].contains("line 8"),
        "{:?}",
        simulator.teach.faults
    );
    predict(&mut app);
    assert!(words(&app).contains("2 of 2 well"), "{}", words(&app));
    let aside = fs::read_to_string(folder.join("jigwise/progress.damaged.toml")).unwrap();
    assert_eq!(aside, text);
    assert!(
        fs::read_to_string(&file)
            .unwrap()
            .matches("[[predicted]]")
            .count()
            == 2
    );
    let _ = fs::remove_dir_all(&folder);
}
