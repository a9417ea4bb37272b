//! The face without a window: what it says, and that typing, keys and pointer do the same.

use egui::accesskit::Role;
use egui::{Key, Modifiers, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{AccessKitNode, NodeT, Queryable};
use jigwise_bench::scene::ChartKind;
use jigwise_bench::words::fixture_title;
use jigwise_bench::{Complex64, Device, Fixture, Scenario, fixed, sums};
use jigwise_sim::face::desk_ui;
use jigwise_sim::{Desk, Stage, Theme};

fn desk(device: &str) -> Desk {
    Desk::new(Scenario {
        device: device.parse().unwrap(),
        ..Scenario::default()
    })
    .unwrap()
}

fn harness(desk: Desk, size: [f32; 2]) -> Harness<'static, Desk> {
    Harness::builder()
        .with_size(Vec2::from(size))
        .with_step_dt(1.0 / 60.0)
        .build_ui_state(|ui, desk: &mut Desk| desk_ui(ui, desk), desk)
}

fn window(device: &str) -> Harness<'static, Desk> {
    let mut harness = harness(desk(device), [1280.0, 720.0]);
    harness.run_steps(10);
    harness
}

/// What is said of `name`, after the name itself.
fn value(harness: &Harness<'_, Desk>, name: &str) -> String {
    let beginning = format!("{name}: ");
    harness
        .root()
        .children_recursive()
        .filter(|node| node.accesskit_node().role() == Role::Label)
        .find_map(|node| {
            let said = node.accesskit_node().value()?;
            said.strip_prefix(&beginning).map(str::to_owned)
        })
        .unwrap_or_else(|| panic!("nothing says \"{name}\""))
}

fn type_into(harness: &mut Harness<'_, Desk>, name: &str, text: &str) {
    let is_field = |node: &AccessKitNode<'_>| {
        node.role() == Role::TextInput && node.label().as_deref() == Some(name)
    };
    let field = harness.get_by(is_field);
    field.focus();
    harness.run_steps(2);
    harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    harness.run_steps(1);
    harness.get_by(is_field).type_text(text);
    harness.run_steps(1);
    harness.key_press(Key::Enter);
    harness.run_steps(2);
}

fn z(harness: &Harness<'_, Desk>) -> Complex64 {
    harness.state().readout().device.impedance().unwrap()
}

#[test]
fn columns_say_what_the_readout_holds() {
    for device in ["4.7k", "330 - j120", "0.5", "open", "short", "-25", "j40"] {
        let harness = window(device);
        let readout = harness.state().readout();
        for entry in &readout.fixtures {
            let title = fixture_title(entry.fixture);
            if entry.reading.is_none() {
                assert!(value(&harness, &format!("{title}, reading")).contains("oscillate"));
                continue;
            }
            let decibels = value(&harness, &format!("{title}, decibels"));
            match entry.decibels() {
                Some(db) => assert_eq!(decibels, format!("{}\u{202f}dB", fixed(db, 3))),
                None => assert!(decibels.starts_with('0'), "{device}: {decibels}"),
            }
            assert_eq!(
                value(&harness, &format!("{title}, ohms got back")),
                sums::back(entry, readout.reference).result
            );
        }
    }
}

#[test]
fn what_is_typed_is_connected() {
    let mut harness = window("4.7k");
    type_into(&mut harness, "Part", "330 - j120");
    assert_eq!(z(&harness), Complex64::new(330.0, -120.0));
    type_into(&mut harness, "Resistance R", "1k2");
    assert_eq!(z(&harness), Complex64::new(1_200.0, -120.0));
    type_into(&mut harness, "Reactance X", "−40");
    assert_eq!(z(&harness), Complex64::new(1_200.0, -40.0));
    type_into(&mut harness, "Part", "2u2H");
    type_into(&mut harness, "Frequency", "1M");
    assert!((z(&harness).im - std::f64::consts::TAU * 2.2).abs() < 1e-9);
    type_into(&mut harness, "Part", "4k7");
    type_into(&mut harness, "Magnitude of Z", "100");
    type_into(&mut harness, "Phase of Z", "-90");
    assert!((z(&harness) - Complex64::new(0.0, -100.0)).norm() < 1e-12);
    type_into(&mut harness, "Reference Z0", "75");
    assert_eq!(harness.state().readout().reference.ohm(), 75.0);
}

#[test]
fn what_can_not_be_used_is_said_and_changes_nothing() {
    for (field, text, reason) in [
        ("Part", "10u", "10uH or 10uF"),
        ("Part", "a coil", "no number"),
        ("Frequency", "-3", "not above zero"),
        ("Frequency", "7.1m", "M is a million"),
        ("Resistance R", "many", "no number"),
        ("Magnitude of Z", "0", "not above zero"),
        ("Phase of Z", "400", "half a turn"),
        ("Reference Z0", "0", "not above zero"),
    ] {
        let mut harness = window("4.7k");
        let before = harness.state().scenario().clone();
        type_into(&mut harness, field, text);
        assert_eq!(*harness.state().scenario(), before, "{field}: {text}");
        assert!(
            harness.query_by_label_contains(reason).is_some(),
            "{field}: {text}: nothing says \"{reason}\""
        );
    }
}

#[test]
fn arrows_step_by_the_stated_amounts() {
    let mut harness = window("100");
    let chart_is = |node: &AccessKitNode<'_>| node.role() == Role::GraphicsObject;
    harness.get_by(chart_is).focus();
    harness.run_steps(2);
    let step = 10f64.powf(1.0 / 24.0);
    harness.key_press(Key::ArrowRight);
    harness.run_steps(2);
    assert!((z(&harness).norm() / (100.0 * step) - 1.0).abs() < 1e-12);
    harness.key_press(Key::ArrowLeft);
    harness.key_press(Key::ArrowUp);
    harness.run_steps(2);
    assert!((z(&harness).arg().to_degrees() - 1.0).abs() < 1e-9);
    harness.key_press_modifiers(Modifiers::SHIFT, Key::ArrowUp);
    harness.run_steps(2);
    assert!((z(&harness).arg().to_degrees() - 1.1).abs() < 1e-9);
    harness.key_press_modifiers(Modifiers::SHIFT, Key::ArrowRight);
    harness.run_steps(2);
    let fine = 10f64.powf(0.1 / 24.0);
    assert!((z(&harness).norm() / (100.0 * fine) - 1.0).abs() < 1e-12);
}

#[test]
fn tab_reaches_every_control() {
    let mut harness = window("100");
    let mut reached = std::collections::BTreeSet::new();
    for _ in 0..60 {
        harness.key_press(Key::Tab);
        harness.run_steps(2);
        if let Some(node) = harness.query_by(|node| node.is_focused()) {
            let node = node.accesskit_node();
            reached.insert(format!(
                "{:?} {}",
                node.role(),
                node.label().unwrap_or_default()
            ));
        }
    }
    for wanted in [
        "TextInput Part",
        "TextInput Frequency",
        "TextInput Resistance R",
        "TextInput Reactance X",
        "TextInput Magnitude of Z",
        "TextInput Phase of Z",
        "TextInput Reference Z0",
        "GraphicsObject Reflection chart",
        "Slider Magnitude of Z",
        "Slider Phase of Z",
        "Button Ohm plane",
        "Button Hall",
        "Button Larger text",
    ] {
        assert!(reached.contains(wanted), "{wanted} not among {reached:?}");
    }
}

#[test]
fn a_drag_moves_the_device_and_the_live_region_follows_after_a_rest() {
    for kind in [ChartKind::Reflection, ChartKind::OhmPlane] {
        let mut start = desk("100");
        start.stage = Stage::Chart(kind);
        let mut harness = harness(start, [1280.0, 720.0]);
        harness.run_steps(10);
        let chart = harness.get_by(|node| node.role() == Role::GraphicsObject);
        let rect = chart.rect();
        let from = rect.center();
        let to = from + Vec2::new(-60.0, 40.0);
        harness.hover_at(from);
        harness.run_steps(1);
        harness.drag_at(from);
        harness.run_steps(1);
        let clicked = z(&harness);
        // The middle of the chart's rectangle: Z0 in the disc, near it in the plane, whose
        // labels stand at the left.
        let decades = (clicked.norm() / 50.0).log10().abs();
        let reach = if kind == ChartKind::Reflection {
            0.02
        } else {
            0.5
        };
        assert!(decades < reach, "{kind:?}: {clicked}");
        harness.hover_at(to);
        harness.run_steps(2);
        let dragged = z(&harness);
        assert!(
            dragged.norm() < clicked.norm() && dragged.im < 0.0,
            "{dragged}"
        );
        harness.drop_at(to);
        harness.run_steps(2);
        assert!(harness.state().announcement().is_waiting());
        harness.run_steps(60);
        let said = harness.state().announcement().text().to_owned();
        assert!(said.contains("Ω at"), "{said}");
        assert!(harness.query_by_label(&said).is_some(), "{said}");
    }
}

#[test]
fn sliders_obey_a_screen_reader() {
    use egui::accesskit::{Action, ActionData, ActionRequest, TreeId};
    let mut harness = window("100");
    let slider = |name: &'static str| {
        move |node: &AccessKitNode<'_>| {
            node.role() == Role::Slider && node.label().as_deref() == Some(name)
        }
    };
    let ask = |harness: &Harness<'_, Desk>, name, action, data| {
        let target_node = harness.get_by(slider(name)).accesskit_node().locate().0;
        harness.event(egui::Event::AccessKitActionRequest(ActionRequest {
            action,
            target_tree: TreeId::ROOT,
            target_node,
            data,
        }));
    };
    ask(&harness, "Magnitude of Z", Action::Increment, None);
    harness.run_steps(2);
    assert!((z(&harness).norm() / (100.0 * 10f64.powf(1.0 / 24.0)) - 1.0).abs() < 1e-12);
    let value = Some(ActionData::NumericValue(4_700.0));
    ask(&harness, "Magnitude of Z", Action::SetValue, value);
    harness.run_steps(2);
    assert!((z(&harness).norm() - 4_700.0).abs() < 1e-9);
    let value = Some(ActionData::NumericValue(-30.0));
    ask(&harness, "Phase of Z", Action::SetValue, value);
    harness.run_steps(2);
    assert!((z(&harness).arg().to_degrees() + 30.0).abs() < 1e-9);
    ask(&harness, "Phase of Z", Action::Decrement, None);
    harness.run_steps(2);
    assert!((z(&harness).arg().to_degrees() + 31.0).abs() < 1e-9);
}

#[test]
fn every_theme_and_text_size_keeps_all_three_columns() {
    for theme in Theme::ALL {
        for percent in [100, 200, 300] {
            let mut start = desk("4.7k");
            start.theme = theme;
            start.set_text_percent(percent);
            let mut harness = harness(start, [1280.0, 720.0]);
            harness.run_steps(10);
            for title in ["Reflect", "Shunt-through", "Series-through"] {
                let name = format!("{title}, ohms got back");
                assert_eq!(value(&harness, &name), "4.7000 + j0.0000\u{202f}kΩ");
            }
        }
    }
}

#[test]
fn a_wrong_scenario_leaves_the_desk_as_it_was() {
    let mut desk = desk("100");
    let wrong = Scenario {
        device: Device::inductor(1e-6),
        freq_hz: None,
        ..Scenario::default()
    };
    assert!(desk.set_scenario(wrong).is_err());
    assert_eq!(desk.scenario().device, "100".parse().unwrap());
}

#[test]
fn calibrating_again_moves_the_ohms_and_leaves_verdict_and_separation() {
    let mut harness = window("4.7k");
    let verdict = value(&harness, "Series-through, verdict");
    let before = value(&harness, "Series-through, ohms got back");
    for _ in 0..3 {
        let last = value(&harness, "Series-through, ohms got back");
        harness.get_by_label("Calibrate again").click();
        harness.run_steps(3);
        assert_ne!(value(&harness, "Series-through, ohms got back"), last);
        assert_eq!(value(&harness, "Series-through, verdict"), verdict);
    }
    harness.get_by_label("Calibrate perfectly").click();
    harness.run_steps(3);
    assert_eq!(value(&harness, "Series-through, ohms got back"), before);
}

#[test]
fn a_nudge_too_small_for_all_names_the_nearest() {
    let mut harness = window("20k");
    assert!(
        harness
            .query_by_label_contains("No fixture shows +10.0\u{202f}% here. Nearest: series")
            .is_some()
    );
    type_into(&mut harness, "Nudge, percent of |Z|", "+20 %");
    assert!(
        harness
            .query_by_label_contains("No fixture shows")
            .is_none()
    );
    assert_eq!(harness.state().scenario().nudge.amount(), 0.2);
    type_into(&mut harness, "Nudge, percent of |Z|", "-120 %");
    assert_eq!(harness.state().scenario().nudge.amount(), 0.2);
}

#[test]
fn every_entry_of_the_instrument_is_live() {
    let mut harness = window("4.7k");
    let u = |harness: &Harness<'_, Desk>| value(harness, "Series-through, uncertainty");
    let handheld = u(&harness);
    harness.get_by_label("laboratory").click();
    harness.run_steps(3);
    assert_ne!(u(&harness), handheld);
    harness.get_by_label("handheld").click();
    harness.get_by_label("entries").click();
    harness.run_steps(3);
    assert_eq!(u(&harness), handheld);
    type_into(&mut harness, "Load", "-20 dB");
    assert_ne!(u(&harness), handheld);
    assert_eq!(harness.state().instrument().name, "handheld, changed");
    type_into(&mut harness, "Load", "6 dB");
    assert!(harness.query_by_label_contains("-300 to 0 dB").is_some());
}

#[test]
fn a_kept_copy_comes_back() {
    let mut harness = window("100");
    harness.get_by_label("Keep a copy").click();
    harness.run_steps(2);
    type_into(&mut harness, "Part", "4.7k");
    harness.get_by_label_contains("Swap with kept").click();
    harness.run_steps(3);
    assert_eq!(z(&harness), Complex64::new(100.0, 0.0));
    assert_eq!(
        harness.state().kept().unwrap().device,
        "4.7k".parse().unwrap()
    );
}

#[test]
fn the_reach_plot_moves_the_same_device() {
    let mut start = desk("100");
    start.stage = Stage::Reach;
    let mut harness = harness(start, [1280.0, 720.0]);
    harness.run_steps(10);
    let plot = harness.get_by(|node| node.role() == Role::GraphicsObject);
    // Away from the line of the wanted percentage, which lies in the middle.
    let at = plot.rect().center() + Vec2::new(60.0, 60.0);
    harness.hover_at(at);
    harness.run_steps(1);
    harness.drag_at(at);
    harness.run_steps(2);
    assert!(z(&harness).norm() > 100.0);
    assert_eq!(z(&harness).im, 0.0);
    assert_eq!(harness.state().wanted, 0.1);
    harness.drop_at(at);
}

#[test]
fn the_wanted_percentage_is_dragged_on_the_reach_plot() {
    let mut start = desk("100");
    start.stage = Stage::Reach;
    let mut harness = harness(start, [1280.0, 720.0]);
    harness.run_steps(10);
    let plot = harness.get_by(|node| node.role() == Role::GraphicsObject);
    let rect = plot.rect();
    let frame = jigwise_bench::scene::ReachFrame {
        size: [f64::from(rect.width()), f64::from(rect.height())],
        reference: jigwise_bench::ReferenceImpedance::FIFTY_OHM,
        wanted: 0.1,
    };
    let line = (0..rect.height() as i32)
        .map(f64::from)
        .min_by(|a, b| {
            let away = |y: f64| (frame.share_at(y) / 0.1).ln().abs();
            away(*a).total_cmp(&away(*b))
        })
        .unwrap();
    let at = rect.min + Vec2::new(rect.width() / 3.0, line as f32);
    harness.hover_at(at);
    harness.run_steps(1);
    harness.drag_at(at);
    harness.run_steps(2);
    let lower = at + Vec2::new(40.0, 50.0);
    harness.hover_at(lower);
    harness.run_steps(2);
    harness.drop_at(lower);
    harness.run_steps(2);
    let wanted = harness.state().wanted;
    assert!(wanted < 0.1, "{wanted}");
    assert!(
        (wanted / frame.share_at(line + 50.0) - 1.0).abs() < 0.05,
        "{wanted}"
    );
    assert_eq!(z(&harness), Complex64::new(100.0, 0.0), "the device stays");
}

#[test]
fn a_standard_left_out_shows_in_the_readout() {
    let mut harness = window("100");
    harness.get_by_label("fixtures and calibration").click();
    harness.run_steps(4);
    harness.get_by_label("calibrated: full").click();
    harness.run_steps(4);
    let back = |harness: &Harness<'_, Desk>| {
        harness
            .state()
            .got_back(Fixture::SeriesThrough)
            .and_then(|device| device.impedance())
            .unwrap()
    };
    assert!((back(&harness) - 100.0).norm() < 1e-9);
    harness.get_by_label("the short left out").click();
    harness.run_steps(4);
    assert!((back(&harness) - 100.0).norm() > 1.0, "{}", back(&harness));
    harness.get_by_label_contains("Not measured: short");
    harness.get_by_label("the short left out").click();
    harness.run_steps(4);
    assert!((back(&harness) - 100.0).norm() < 1e-9);

    type_into(&mut harness, "The load is", "51");
    harness.run_steps(4);
    for fixture in Fixture::ALL {
        let low = harness
            .state()
            .got_back(fixture)
            .unwrap()
            .impedance()
            .unwrap();
        assert!(
            (low / 100.0 - 50.0 / 51.0).norm() < 1e-9,
            "{fixture:?}: {low}"
        );
    }
    type_into(&mut harness, "Gap", "-1 pF");
    harness.get_by_label_contains("Gap: gap capacitance is");
}

#[test]
fn a_field_that_is_tabbed_to_is_typed_over() {
    let mut harness = window("4.7k");
    for _ in 0..40 {
        harness.key_press(Key::Tab);
        harness.run_steps(2);
        let focused = harness.query_by(|node| node.is_focused());
        if focused
            .and_then(|node| node.accesskit_node().label())
            .as_deref()
            == Some("Part")
        {
            break;
        }
    }
    harness.event(egui::Event::Text("330".to_owned()));
    harness.run_steps(1);
    harness.key_press(Key::Enter);
    harness.run_steps(2);
    assert_eq!(z(&harness), Complex64::new(330.0, 0.0));
}

#[test]
fn the_wanted_percentage_is_typed() {
    let mut harness = window("100");
    type_into(&mut harness, "Wanted uncertainty, percent", "3 %");
    assert_eq!(harness.state().wanted, 0.03);
    type_into(&mut harness, "Wanted uncertainty, percent", "0");
    assert_eq!(harness.state().wanted, 0.03);
    assert!(harness.query_by_label_contains("out of range").is_some());
}

/// Steps 2 and 3 of the self-study evening without a pointer: place 4.7 kΩ, see who notices,
/// calibrate again, see the ohms move while the separation stays.
#[test]
fn the_first_evening_by_keyboard_alone() {
    let mut harness = window("100");
    let tab_to = |harness: &mut Harness<'_, Desk>, name: &str| {
        for _ in 0..60 {
            harness.key_press(Key::Tab);
            harness.run_steps(2);
            let focused = harness.query_by(|node| node.is_focused());
            let label = focused.and_then(|node| node.accesskit_node().label());
            if label.as_deref() == Some(name) {
                return;
            }
        }
        panic!("Tab never comes to {name}");
    };
    tab_to(&mut harness, "Part");
    harness.event(egui::Event::Text("4.7k".to_owned()));
    harness.run_steps(1);
    harness.key_press(Key::Enter);
    harness.run_steps(4);
    assert_eq!(z(&harness), Complex64::new(4_700.0, 0.0));
    let verdicts = |harness: &Harness<'_, Desk>| {
        Fixture::ALL.map(|fixture| value(harness, &format!("{}, verdict", fixture_title(fixture))))
    };
    let seen = verdicts(&harness);
    let notices = |text: &String| text.starts_with("sees it");
    assert_eq!(
        seen.iter().filter(|text| notices(text)).count(),
        1,
        "{seen:?}"
    );
    assert!(notices(&seen[Fixture::SeriesThrough as usize]), "{seen:?}");

    let ohms = |harness: &Harness<'_, Desk>| {
        Fixture::ALL.map(|fixture| {
            value(
                harness,
                &format!("{}, ohms got back", fixture_title(fixture)),
            )
        })
    };
    let before = ohms(&harness);
    tab_to(&mut harness, "Calibrate again");
    harness.key_press(Key::Enter);
    harness.run_steps(4);
    let after = ohms(&harness);
    for (before, after) in before.iter().zip(&after) {
        assert_ne!(before, after, "the ohms stayed");
    }
    assert_eq!(verdicts(&harness), seen, "the separation moved");
    harness.get_by_label_contains("calibration 1 (seed");
}
