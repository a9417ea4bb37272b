//! Typing instead of dragging.

use egui::Key;
use egui::accesskit::Role;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use jigwise_bench::{Complex64, Device};
use jigwise_sim::{BenchPage, Simulator};

use super::{bench_window, type_into, window, z};

#[test]
fn what_is_typed_is_connected() {
    let mut harness = bench_window("4.7k", BenchPage::Part);
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
    assert_eq!(harness.state().desk.readout().reference.ohm(), 75.0);
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
        let mut harness = bench_window("4.7k", BenchPage::Part);
        let before = harness.state().desk.scenario().clone();
        let rule = rule_of(&harness);
        type_into(&mut harness, field, text);
        assert_eq!(
            rule_of(&harness),
            rule,
            "nothing moves because of a complaint"
        );
        assert_eq!(*harness.state().desk.scenario(), before, "{field}: {text}");
        assert!(
            harness.query_by_label_contains(reason).is_some(),
            "{field}: {text}: nothing says \"{reason}\""
        );
    }
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
    let mut harness = bench_window("100", BenchPage::Part);
    type_into(&mut harness, "Good is, percent", "3 %");
    assert_eq!(harness.state().view.wanted, 0.03);
    type_into(&mut harness, "Good is, percent", "0");
    assert_eq!(harness.state().view.wanted, 0.03);
    assert!(harness.query_by_label_contains("out of range").is_some());
}

fn rule_of(harness: &Harness<'_, Simulator>) -> egui::Rect {
    let is_rule = |node: &egui_kittest::kittest::AccessKitNode<'_>| {
        node.role() == Role::Slider && node.label().as_deref() == Some("Magnitude of Z")
    };
    harness.get_by(is_rule).rect()
}

#[test]
fn a_field_that_is_clicked_is_typed_over() {
    let mut harness = window("4.7k");
    let is_part = |node: &egui_kittest::kittest::AccessKitNode<'_>| {
        node.role() == Role::TextInput && node.label().as_deref() == Some("Part")
    };
    harness.get_by(is_part).click();
    harness.run_steps(3);
    harness.event(egui::Event::Text("220".to_owned()));
    harness.run_steps(1);
    harness.key_press(Key::Enter);
    harness.run_steps(2);
    assert_eq!(z(&harness), Complex64::new(220.0, 0.0));
}

/// The kind and its values, one by one and by keys alone; what is wrong is said and makes no
/// device.
#[test]
fn a_part_is_made_by_kind_with_the_keyboard() {
    let mut harness = bench_window("4.7k", BenchPage::Part);
    choose_kind(&mut harness, "series-rlc");
    let begun = harness.state().desk.scenario().device.clone();
    assert_eq!(begun, "4.7k".parse().unwrap(), "not complete yet");
    assert!(
        harness
            .query_by_label_contains("needs inductance")
            .is_some()
    );
    for (key, text) in [
        ("resistance", "5"),
        ("inductance", "1u"),
        ("capacitance", "1n"),
    ] {
        tab_to(&mut harness, &format!("Value: {key}"));
        harness.event(egui::Event::Text(text.to_owned()));
        harness.run_steps(1);
        harness.key_press(Key::Enter);
        harness.run_steps(2);
    }
    let made = |harness: &Harness<'_, Simulator>| harness.state().desk.scenario().device.clone();
    let rlc = made(&harness);
    assert_eq!(
        rlc.to_string(),
        "5.000\u{202f}Ω, 1.000\u{202f}µH and 1.000\u{202f}nF in series"
    );
    assert!(harness.query_by_label_contains("needs").is_none());
    type_into(&mut harness, "Value: capacitance", "-1n");
    assert_eq!(made(&harness), rlc);
    assert!(harness.query_by_label_contains("above zero").is_some());
    choose_kind(&mut harness, "parallel-rlc");
    assert!(made(&harness).to_string().contains("side by side"));
    choose_kind(&mut harness, "open");
    assert_eq!(made(&harness), Device::Open);
}

fn choose_kind(harness: &mut Harness<'_, Simulator>, kind: &str) {
    tab_to(harness, "Kind: ");
    harness.key_press(Key::Enter);
    harness.run_steps(3);
    tab_to(harness, kind);
    harness.key_press(Key::Enter);
    harness.run_steps(3);
}

fn tab_to(harness: &mut Harness<'_, Simulator>, name: &str) {
    for _ in 0..80 {
        harness.key_press(Key::Tab);
        harness.run_steps(2);
        let focused = harness.query_by(|node| node.is_focused());
        let label = focused.and_then(|node| node.accesskit_node().label());
        if label.is_some_and(|label| label.starts_with(name)) {
            return;
        }
    }
    panic!("Tab never comes to {name}");
}

#[test]
fn a_sweep_shows_its_middle_frequency() {
    let text = "version = 1\ndevice = { kind = \"resistor\", resistance = \"4.7k\" }\n\
                sweep = { from = \"1 MHz\", to = \"9 MHz\", points = 101 }\n";
    let scenario = jigwise_bench::Scenario::from_toml(text, "sweep.toml").unwrap();
    let mut harness = super::harness(Simulator::new(scenario).unwrap(), [1280.0, 720.0]);
    harness.run_steps(10);
    let field = harness.get_by(|node| {
        node.role() == Role::TextInput && node.label().as_deref() == Some("Frequency")
    });
    let shown = field.accesskit_node().value().unwrap_or_default();
    let middle = harness.state().desk.scenario().readout_hz().unwrap();
    let shown = jigwise_bench::parse_value(&shown, jigwise_bench::Unit::Hertz).unwrap();
    assert!((shown / middle - 1.0).abs() < 1e-4, "{shown} for {middle}");
}

#[test]
fn arrow_keys_go_through_the_list_of_instruments() {
    let mut harness = window("4.7k");
    let name = |harness: &Harness<'_, Simulator>| harness.state().desk.instrument().name;
    let first = name(&harness);
    let is_list = |node: &egui_kittest::kittest::AccessKitNode<'_>| {
        node.label()
            .is_some_and(|label| label.starts_with("Instrument: "))
    };
    harness.get_by(is_list).focus();
    harness.run_steps(2);
    harness.key_press(Key::Enter);
    harness.run_steps(3);
    harness.key_press(Key::ArrowDown);
    harness.run_steps(3);
    harness.key_press(Key::Enter);
    harness.run_steps(3);
    assert_ne!(name(&harness), first);
    assert!(harness.get_by(is_list).is_focused(), "back on the list");
}

#[test]
fn a_long_part_ends_in_three_points_until_it_is_edited() {
    let has_points = |harness: &Harness<'_, Simulator>| {
        fn any(shape: &egui::Shape) -> bool {
            match shape {
                egui::Shape::Vec(shapes) => shapes.iter().any(any),
                egui::Shape::Text(text) => text.galley.text() == "…",
                _ => false,
            }
        }
        harness
            .output()
            .shapes
            .iter()
            .any(|shape| any(&shape.shape))
    };
    let text = "version = 1\ndevice = { kind = \"crystal\", series_resonance = \"8.998 MHz\", \
                motional_resistance = \"14\", motional_capacitance = \"18 fF\", \
                parallel_capacitance = \"4.2 pF\" }\nat = { frequency = \"8.998 MHz\" }\n";
    let scenario = jigwise_bench::Scenario::from_toml(text, "crystal.toml").unwrap();
    let mut harness = super::harness(Simulator::new(scenario).unwrap(), [1280.0, 720.0]);
    harness.run_steps(10);
    assert!(has_points(&harness));
    let part = |node: &egui_kittest::kittest::AccessKitNode<'_>| {
        node.role() == Role::TextInput && node.label().as_deref() == Some("Part")
    };
    harness.get_by(part).focus();
    harness.run_steps(2);
    assert!(!has_points(&harness), "nothing covers what is edited");
}
