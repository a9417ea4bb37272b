//! The face without a window: what it says, and that typing, keys and pointer do the same.

mod numbers;
mod rooms;
mod settled;
mod steering;
mod teaching;
mod typing;

use egui::accesskit::Role;
use egui::{Key, Modifiers, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{AccessKitNode, NodeT, Queryable};
use jigwise_bench::{Complex64, Scenario};
use jigwise_sim::face::simulator_ui;
use jigwise_sim::{BenchPage, Drawer, Simulator};

fn simulator(device: &str) -> Simulator {
    Simulator::new(Scenario {
        device: device.parse().unwrap(),
        ..Scenario::default()
    })
    .unwrap()
}

fn harness(simulator: Simulator, size: [f32; 2]) -> Harness<'static, Simulator> {
    Harness::builder()
        .with_size(Vec2::from(size))
        .with_step_dt(1.0 / 60.0)
        .build_ui_state(simulator_ui, simulator)
}

/// Frames in a window of `size` points at zoom 1: as a real window does, and the harness does not,
/// the place grows smaller in points where the zoom grows.
fn run_in(harness: &mut Harness<'_, Simulator>, size: [f32; 2], frames: usize) {
    for _ in 0..frames {
        harness.set_size(Vec2::from(size) / harness.ctx.zoom_factor());
        harness.run_steps(1);
    }
}

/// A window with its sums unfolded.
fn window(device: &str) -> Harness<'static, Simulator> {
    let mut start = simulator(device);
    start.view.sums = true;
    let mut harness = harness(start, [1280.0, 720.0]);
    harness.run_steps(10);
    harness
}

/// A window with a page of the bench's drawer open.
fn bench_window(device: &str, page: BenchPage) -> Harness<'static, Simulator> {
    let mut start = simulator(device);
    start.view.sums = true;
    start.view.drawer = Some(Drawer::Bench(page));
    let mut harness = harness(start, [1280.0, 720.0]);
    harness.run_steps(10);
    harness
}

/// What is said of `name`, after the name itself.
fn value(harness: &Harness<'_, Simulator>, name: &str) -> String {
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

fn type_into(harness: &mut Harness<'_, Simulator>, name: &str, text: &str) {
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

fn z(harness: &Harness<'_, Simulator>) -> Complex64 {
    harness.state().desk.readout().device.impedance().unwrap()
}
