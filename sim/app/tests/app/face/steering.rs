//! Pointer, keys and screen reader move the device.

use egui::accesskit::Role;
use egui::{Key, Modifiers, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{AccessKitNode, NodeT, Queryable};
use jigwise_bench::scene::ChartKind;
use jigwise_bench::words::fixture_title;
use jigwise_bench::{Complex64, Fixture};
use jigwise_sim::{Simulator, Stage};

use super::{harness, simulator, value, window, z};

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
        "Button Instrument: handheld",
        "TextInput Nudge, percent of |Z|",
        "Button Calibrate again",
        "GraphicsObject Reflection chart",
        "Slider Magnitude of Z",
        "Slider Phase of Z",
        "Button Ohm plane",
        "Button Reach",
        "Button Bench",
        "Button View",
        "Button Sums and formulas",
    ] {
        assert!(reached.contains(wanted), "{wanted} not among {reached:?}");
    }
}

#[test]
fn a_drag_moves_the_device_and_the_live_region_follows_after_a_rest() {
    for kind in [ChartKind::Reflection, ChartKind::OhmPlane] {
        let mut start = simulator("100");
        start.view.stage = Stage::Chart(kind);
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
        assert!(harness.state().memory.announcement().is_waiting());
        harness.run_steps(60);
        let said = harness.state().memory.announcement().text().to_owned();
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
    let ask = |harness: &Harness<'_, Simulator>, name, action, data| {
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
fn the_reach_plot_moves_the_same_device() {
    let mut start = simulator("100");
    start.view.stage = Stage::Reach;
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
    assert_eq!(harness.state().view.wanted, 0.1);
    harness.drop_at(at);
}

#[test]
fn the_wanted_percentage_is_dragged_on_the_reach_plot() {
    let mut start = simulator("100");
    start.view.stage = Stage::Reach;
    let mut harness = harness(start, [1280.0, 720.0]);
    harness.run_steps(10);
    let plot = harness.get_by(|node| node.role() == Role::GraphicsObject);
    let rect = plot.rect();
    let frame = jigwise_bench::scene::ReachFrame {
        size: [f64::from(rect.width()), f64::from(rect.height())],
        reference: jigwise_bench::ReferenceImpedance::FIFTY_OHM,
        wanted: 0.1,
        type_size: 14.0,
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
    let wanted = harness.state().view.wanted;
    assert!(wanted < 0.1, "{wanted}");
    assert!(
        (wanted / frame.share_at(line + 50.0) - 1.0).abs() < 0.05,
        "{wanted}"
    );
    assert_eq!(z(&harness), Complex64::new(100.0, 0.0), "the device stays");
}

/// Steps 2 and 3 of the self-study evening without a pointer: place 4.7 kΩ, see who notices,
/// calibrate again, see the ohms move while the separation stays.
#[test]
fn the_first_evening_by_keyboard_alone() {
    const MOST_PRESSES: usize = 40;
    let mut harness = harness(simulator("100"), [1280.0, 720.0]);
    harness.run_steps(10);
    let presses = std::cell::Cell::new(0);
    let press = |harness: &mut Harness<'_, Simulator>, key: Key| {
        presses.set(presses.get() + 1);
        harness.key_press(key);
        harness.run_steps(2);
    };
    let tab_to = |harness: &mut Harness<'_, Simulator>, name: &str| {
        for _ in 0..60 {
            press(harness, Key::Tab);
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
    presses.set(presses.get() + "4.7k".len());
    harness.run_steps(1);
    press(&mut harness, Key::Enter);
    harness.run_steps(4);
    assert_eq!(z(&harness), Complex64::new(4_700.0, 0.0));
    let verdicts = |harness: &Harness<'_, Simulator>| {
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

    let ohms = |harness: &Harness<'_, Simulator>| {
        Fixture::ALL
            .map(|fixture| value(harness, &format!("{}, this time", fixture_title(fixture))))
    };
    tab_to(&mut harness, "Calibrate again");
    let mut before = ohms(&harness);
    for _ in 0..5 {
        press(&mut harness, Key::Enter);
        harness.run_steps(2);
        let after = ohms(&harness);
        for (before, after) in before.iter().zip(&after) {
            assert_ne!(before, after, "the ohms stayed");
        }
        before = after;
        assert_eq!(verdicts(&harness), seen, "the separation moved");
    }
    assert_eq!(harness.state().desk.trials().ticks().count, 5);
    assert!(presses.get() <= MOST_PRESSES, "{} presses", presses.get());
}
