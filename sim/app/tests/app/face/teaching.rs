//! The modes that teach, walked through by what a screen reader is told and by keys alone.

use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, PointerButton, pos2};
use egui_kittest::Harness;
use egui_kittest::kittest::{AccessKitNode, NodeT, Queryable};
use jigwise_bench::Fixture;
use jigwise_exercises::round::{Code, Sort};
use jigwise_exercises::talk::{Talk, talk, talks};
use jigwise_exercises::{Cover, predict};
use jigwise_sim::{Drawer, Mode, Simulator, Theme};

use super::rooms::{has_room, whole};
use super::{harness, run_in, simulator, type_into, value, z};

const SIZE: [f32; 2] = [1280.0, 720.0];

fn open(start: Simulator) -> Harness<'static, Simulator> {
    let mut harness = harness(start, SIZE);
    harness.run_steps(10);
    harness
}

/// All that a screen reader could say of the window.
fn said(harness: &Harness<'_, Simulator>) -> Vec<String> {
    harness
        .root()
        .children_recursive()
        .filter_map(|node| {
            let node = node.accesskit_node();
            let parts = [node.label(), node.value()].into_iter().flatten();
            let text = parts.collect::<Vec<_>>().join(": ");
            (!text.is_empty() && node.role() != Role::TextRun).then_some(text)
        })
        .collect()
}

/// Presses a button by the keyboard.
fn press(harness: &mut Harness<'_, Simulator>, name: &str) {
    let is = |node: &AccessKitNode<'_>| {
        node.role() == Role::Button && node.label().as_deref() == Some(name)
    };
    let button = harness.query_by(is);
    let button = button.unwrap_or_else(|| panic!("no \"{name}\" in {:#?}", said(harness)));
    button.focus();
    harness.run_steps(2);
    harness.key_press(Key::Enter);
    harness.run_steps(3);
}

fn key(harness: &mut Harness<'_, Simulator>, key: Key) {
    harness.key_press(key);
    harness.run_steps(3);
}

fn teach(harness: &Harness<'_, Simulator>) -> &'static str {
    match harness.state().teach.mode {
        Mode::Free => "free",
        Mode::Predict(_) => "predict",
        Mode::Round(_) => "round",
        Mode::Talk(_) => "talk",
    }
}

#[test]
fn both_talks_go_from_the_first_stop_to_the_last_and_back_by_a_clicker() {
    for built_in in talks() {
        let mut start = simulator("33");
        start.view.theme = Theme::Hall;
        let before = start.desk.scenario().clone();
        start.begin_talk(built_in.talk.clone());
        let mut harness = open(start);
        let count = built_in.talk.stops.len();
        for (at, stop) in built_in.talk.stops.iter().enumerate() {
            let shown = stop.shown.as_ref().unwrap();
            assert_eq!(harness.state().teach.stop(), Some(at));
            assert_eq!(value(&harness, "Sentence"), shown.sentence);
            assert_eq!(harness.state().view.covers.any(), !shown.covered.is_empty());
            let answer = value(&harness, "Answer");
            let hides = shown.covered.contains(&Cover::BestFixture);
            assert_eq!(answer == "covered", hides, "{answer}");
            if !shown.covered.is_empty() {
                key(&mut harness, Key::PageDown);
                assert_eq!(harness.state().teach.stop(), Some(at), "uncovered first");
                assert!(!harness.state().view.covers.any());
            }
            key(&mut harness, Key::PageDown);
        }
        // Beyond the last stop there is nothing.
        assert_eq!(harness.state().teach.stop(), Some(count - 1));
        for at in (0..count - 1).rev() {
            key(&mut harness, Key::PageUp);
            assert_eq!(harness.state().teach.stop(), Some(at));
            assert!(!harness.state().view.covers.any());
        }
        key(&mut harness, Key::PageUp);
        assert_eq!(harness.state().teach.stop(), Some(0));
        press(&mut harness, "End the talk");
        assert_eq!(teach(&harness), "free");
        assert_eq!(
            *harness.state().desk.scenario().device.to_string(),
            before.device.to_string()
        );
        assert_eq!(harness.state().view.theme, Theme::Hall);
    }
}

#[test]
fn escape_comes_back_exactly_from_wherever_the_speaker_dragged() {
    let mut start = simulator("33");
    start.begin_talk(talk("club").unwrap().clone());
    let mut harness = open(start);
    // The stop with five calibrations, whose clouds and ticks have to come back too.
    while harness.state().teach.stop() != Some(7) {
        key(&mut harness, Key::PageDown);
    }
    harness.run_steps(60);
    let there = said(&harness);
    let state = |harness: &Harness<'_, Simulator>| {
        let Simulator { desk, view, .. } = harness.state();
        (
            desk.scenario().clone(),
            format!("{:?}", desk.trials()),
            view.clone(),
        )
    };
    let before = state(&harness);
    for device in ["30", "open", "330p", "-25"] {
        type_into(&mut harness, "Part", device);
        press(&mut harness, "Calibrate again");
        press(&mut harness, "Ohm plane");
        press(&mut harness, "Bench");
        assert_ne!(said(&harness), there);
        key(&mut harness, Key::Escape);
        key(&mut harness, Key::Escape);
        harness.run_steps(60);
        assert_eq!(state(&harness), before, "{device}");
        assert_eq!(said(&harness), there, "{device}");
    }
}

#[test]
fn a_blank_window_says_so_and_comes_back() {
    let mut start = simulator("33");
    start.begin_talk(talk("short").unwrap().clone());
    let mut harness = open(start);
    let there = said(&harness);
    for letter in ["b", "."] {
        harness.event(Event::Text(letter.to_owned()));
        harness.run_steps(3);
        assert!(said(&harness).iter().any(|line| line.contains("Blank")));
        assert!(!said(&harness).iter().any(|line| line.contains("Answer")));
        key(&mut harness, Key::PageDown);
        assert_eq!(harness.state().teach.stop(), Some(0), "only the blank goes");
        assert_eq!(said(&harness), there);
    }
    // In a field the letter is a letter.
    type_into(&mut harness, "Part", "1k");
    harness
        .get_by(|node| node.label().as_deref() == Some("Part"))
        .focus();
    harness.run_steps(2);
    harness.event(Event::Text("b".to_owned()));
    harness.run_steps(2);
    assert!(!harness.state().teach.is_blank());
}

#[test]
fn a_stop_without_a_scenario_is_a_sentence_and_the_talk_goes_on() {
    let text = "version = 1\ntitle = \"T\"\n[[stop]]\ntitle = \"One\"\nsentence = \"First.\"\n\
                [[stop]]\ntitle = \"Two\"\nsentence = \"Second.\"\nscenario = \"anode-resistor\"\n";
    let mut start = simulator("33");
    start.begin_talk(Talk::from_toml(text, "mine.toml").unwrap());
    let mut harness = open(start);
    let sentence = value(&harness, "Sentence");
    assert!(
        sentence.starts_with("mine.toml, line 3: this stop has no scenario"),
        "{sentence}"
    );
    assert_eq!(z(&harness).re, 33.0, "the bench stays");
    key(&mut harness, Key::PageDown);
    assert_eq!(value(&harness, "Sentence"), "Second.");
    assert_eq!(z(&harness).re, 10_000.0);
}

/// Nothing that a screen reader is told gives away what is covered.
#[test]
fn what_is_covered_is_said_nowhere() {
    for (cover, hidden) in [
        (Cover::Reading(Fixture::SeriesThrough), vec!["−33.6"]),
        (
            Cover::Bar(Fixture::SeriesThrough),
            vec!["4.4 to 5.1", "± 0.4", "4.7 ± "],
        ),
        (Cover::BestFixture, vec!["knows this part: ", "4.4 to 5.1"]),
        (
            Cover::Verdict(Fixture::SeriesThrough),
            vec!["sees it (", "σ apart"],
        ),
    ] {
        let mut start = simulator("4.7k");
        start.view.sums = true;
        let mut harness = open(start);
        let shown = |harness: &Harness<'_, Simulator>| {
            let all = said(harness);
            let of_fixture = all.iter().filter(|line| {
                cover
                    .fixture()
                    .is_none_or(|_| !line.starts_with("Reflect") && !line.starts_with("Shunt"))
            });
            of_fixture.cloned().collect::<Vec<_>>().join("\n")
        };
        let before = shown(&harness);
        assert!(
            hidden.iter().any(|text| before.contains(text)),
            "{cover}: {before}"
        );
        harness.state_mut().predict(cover);
        // Past the half second after which a move is told.
        harness.run_steps(60);
        let covered = shown(&harness);
        for text in hidden {
            assert!(!covered.contains(text), "{cover}: {text} in\n{covered}");
        }
    }
}

#[test]
fn a_round_of_predictions_by_keyboard_alone() {
    let mut harness = open(simulator("4.7k"));
    press(&mut harness, "Learn");
    press(&mut harness, "Predict the level in series-through");
    assert_eq!(teach(&harness), "predict");
    type_into(&mut harness, "Prediction", "-16.8");
    let told = value(&harness, "Prediction");
    assert!(
        told.contains("−33.6") && told.contains("20·log10"),
        "{told}"
    );
    press(&mut harness, "Predict another part");
    let Mode::Predict(predicting) = &harness.state().teach.mode else {
        panic!("still predicting");
    };
    let next = predicting.cover();
    assert_ne!(next, Cover::Reading(Fixture::SeriesThrough));
    // Whichever comes next is committed in its own way.
    match next {
        Cover::BestFixture => press(&mut harness, "Predict Reflect"),
        Cover::Verdict(_) => press(&mut harness, "Predict: sees it"),
        Cover::Reading(_) => type_into(&mut harness, "Prediction", "-3 dB"),
        Cover::Bar(_) => type_into(&mut harness, "Prediction", "5 %"),
    }
    let Mode::Predict(predicting) = &harness.state().teach.mode else {
        panic!("still predicting");
    };
    assert!(predicting.uncovered().is_some());
    press(&mut harness, "Stop predicting");
    assert_eq!(teach(&harness), "free");
    press(&mut harness, "Learn");
    let lines = said(&harness).join("\n");
    assert!(lines.contains("Predicted, levels: 0 of"), "{lines}");
    press(&mut harness, "Erase what you did");
    assert!(harness.state().teach.progress.is_empty());
}

#[test]
fn a_bar_is_predicted_by_a_tap_on_the_rule_that_moves_nothing() {
    let mut start = simulator("4.7k");
    start.predict(Cover::Bar(Fixture::SeriesThrough));
    let mut harness = open(start);
    let rule = harness.get_by(|node| node.label().as_deref() == Some("Magnitude of Z"));
    let rect = rule.rect();
    let at = pos2(rect.left() + 0.78 * rect.width(), rect.center().y);
    harness.hover_at(at);
    harness.run_steps(1);
    for pressed in [true, false] {
        harness.event(Event::PointerButton {
            pos: at,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        });
        harness.run_steps(2);
    }
    assert_eq!(z(&harness).re, 4_700.0);
    let name = said(&harness)
        .into_iter()
        .find(|line| line.starts_with("Predict: It ends at"))
        .unwrap();
    press(&mut harness, &name);
    let told = value(&harness, "Prediction");
    assert!(told.contains("The bar is ±"), "{told}");
    assert!(predict::how(Cover::Bar(Fixture::Reflect)).contains("tap"));
}

#[test]
fn one_unlabelled_part_of_each_sort_by_name() {
    for sort in Sort::ALL {
        let mut harness = open(simulator("33"));
        harness.state_mut().begin_round(Code::new(sort, 11));
        harness.run_steps(4);
        assert_eq!(harness.state().view.drawer, Some(Drawer::Round));
        let told = said(&harness).join("\n");
        assert!(told.contains(sort.about()), "{told}");
        assert!(told.contains("16 of 16 left"), "{told}");
        press(&mut harness, "Put in: the known 100\u{202f}Ω");
        press(&mut harness, "Read it (costs 1)");
        press(&mut harness, "Calibrate (costs 3)");
        press(&mut harness, "Put in: the part");
        press(&mut harness, "In: shunt-through");
        press(&mut harness, "Averages: 16");
        press(&mut harness, "Read it (costs 3)");
        if sort.has_strays() {
            press(&mut harness, "Put in: a blank");
            press(&mut harness, "Averages: 1");
            press(&mut harness, "Read it (costs 1)");
        }
        type_into(&mut harness, "Formula in S and Z0", "Z0/2*S/(1-S)");
        let told = said(&harness).join("\n");
        assert!(told.contains("It makes"), "{told}");
        assert!(told.contains("calibration 1: "), "{told}");
        // Nothing before the answer tells what the part is.
        assert!(!told.contains("The part was"), "{told}");
        type_into(&mut harness, "Answer with its ±", "1 furlong");
        assert!(harness.state().memory.complaint().is_some());
        type_into(&mut harness, "Answer with its ±", "can't be told");
        let told = said(&harness).join("\n");
        assert!(told.contains("The part was"), "{told}");
        press(&mut harness, "Stop this round");
        assert_eq!(teach(&harness), "free");
        assert_eq!(z(&harness).re, 33.0, "the bench is back");
        assert!(!harness.state().teach.progress.is_empty());
    }
}

#[test]
fn a_code_with_a_typo_is_a_sentence_and_the_bench_stays() {
    let mut harness = open(simulator("33"));
    press(&mut harness, "Learn");
    type_into(&mut harness, "Code of a round", "22222-22223");
    let complaint = harness.state().memory.complaint().unwrap().to_owned();
    assert!(complaint.contains("compare it"), "{complaint}");
    assert_eq!(teach(&harness), "free");
    type_into(&mut harness, "Code of a round", "22222-22222");
    assert_eq!(teach(&harness), "round");
}

/// What the pointer rests on, and what has the keyboard, have their page of the book.
#[test]
fn every_place_opens_its_page_of_the_book() {
    use jigwise_exercises::explain::Thing;
    let mut harness = open(simulator("4.7k"));
    let place_of = |harness: &Harness<'_, Simulator>, beginning: &str| {
        let nodes = harness.root().children_recursive();
        let found = nodes.into_iter().find(|node| {
            let said = node.accesskit_node();
            let said = said.value().or(said.label()).unwrap_or_default();
            said.starts_with(beginning)
        });
        found
            .unwrap_or_else(|| panic!("nothing says {beginning}"))
            .rect()
    };
    for (beginning, thing) in [
        ("Answer: ", Thing::Answer),
        ("The device is", Thing::Chart),
        ("Reflect, fixture", Thing::Reflect),
        ("Series-through, fixture", Thing::SeriesThrough),
        ("Shunt-through, verdict", Thing::Clouds),
        ("Reflect, value", Thing::Value),
        ("Reflect, this time", Thing::Ticks),
        ("Reflect, a change", Thing::SmallestChange),
        ("Series-through, decibels", Thing::Reading),
        ("Calibrate again", Thing::CalibrateAgain),
        ("Sums and formulas", Thing::Sums),
    ] {
        harness.hover_at(place_of(&harness, beginning).center());
        harness.run_steps(1);
        harness.event(Event::Text("?".to_owned()));
        harness.run_steps(2);
        let asked = harness.state_mut().teach.take_asked();
        assert_eq!(asked, Some(thing), "{beginning}");
    }
    // On the rule: a lane's sign, its bar, its track.
    let rule = harness
        .get_by(|node| node.label().as_deref() == Some("Magnitude of Z"))
        .rect();
    let at = |x: f32, lane: f32| pos2(rule.left() + x * rule.width(), rule.top() + lane);
    for (at, thing) in [
        (at(0.005, 75.0), Thing::SeriesThrough),
        (at(0.6, 75.0), Thing::Track),
        (at(0.71, 15.0), Thing::Bar),
    ] {
        harness.hover_at(at);
        harness.run_steps(1);
        harness.event(Event::Text("?".to_owned()));
        harness.run_steps(2);
        assert_eq!(harness.state_mut().teach.take_asked(), Some(thing), "{at}");
    }
    // By the keyboard alone.
    for (name, thing) in [
        ("Part", Thing::Part),
        ("Frequency", Thing::Frequency),
        ("Nudge, percent of |Z|", Thing::Nudge),
    ] {
        harness
            .get_by(|node| node.label().as_deref() == Some(name))
            .focus();
        harness.run_steps(2);
        key(&mut harness, Key::F1);
        assert_eq!(
            harness.state_mut().teach.take_asked(),
            Some(thing),
            "{name}"
        );
    }
    // Each drawer has its own sign.
    for (drawer, spoken, thing) in [
        ("Bench", "Read about the part in the book", Thing::Part),
        (
            "View",
            "Read about the look of the window in the book",
            Thing::View,
        ),
        (
            "Learn",
            "Read about predict first in the book",
            Thing::Predict,
        ),
    ] {
        press(&mut harness, drawer);
        press(&mut harness, spoken);
        assert_eq!(
            harness.state_mut().teach.take_asked(),
            Some(thing),
            "{drawer}"
        );
    }
}

/// Whatever the mode, no text lies over another and none leaves the window.
#[test]
fn every_mode_has_room() {
    type Begin = fn(&mut Simulator);
    let modes: [(&str, Begin); 5] = [
        ("talk", |start| {
            start.begin_talk(talk("club").unwrap().clone())
        }),
        ("uncovered talk", |start| {
            start.begin_talk(talk("club").unwrap().clone());
            start.next_in_talk();
        }),
        ("level", |start| {
            start.predict(Cover::Reading(Fixture::ShuntThrough))
        }),
        ("best fixture", |start| start.predict(Cover::BestFixture)),
        ("round", |start| {
            start.begin_round(Code::new(Sort::Coil, 4));
            start.view.drawer = None;
        }),
    ];
    for size in [
        [1280.0, 720.0],
        [1024.0, 600.0],
        [700.0, 700.0],
        [400.0, 850.0],
    ] {
        for theme in [Theme::Light, Theme::Hall] {
            for (name, begin) in modes {
                let mut start = simulator("4.7k");
                start.view.theme = theme;
                begin(&mut start);
                let mut harness = harness(start, size);
                run_in(&mut harness, size, 12);
                let told = format!("{name} {size:?} {}", theme.name());
                has_room(&harness, whole(&harness, size), &told);
            }
        }
    }
}
