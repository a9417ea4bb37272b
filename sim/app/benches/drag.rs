//! A recorded drag replayed over the real plugins without a renderer, every layer on: what a
//! frame costs in systems, face and tessellation. Prints median, 99th percentile and worst, and
//! the time of one readout in the same run as the peer to compare with.
//!
//! `cargo bench -p jigwise-sim --bench drag`

use std::hint::black_box;
use std::io::Write;
use std::time::Instant;

use bevy::app::App;
use bevy::ecs::entity::Entity;
use bevy::ecs::query::With;
use bevy::input::ButtonState;
use bevy::input::mouse::{MouseButton, MouseButtonInput};
use bevy::math::Vec2;
use bevy::window::{CursorMoved, PrimaryWindow, WindowEvent};
use jigwise_bench::Scenario;
use jigwise_bench::scene::{ChartKind, MapAim};
use jigwise_sim::host::headless;
use jigwise_sim::{Desk, Simulator, Stage};

const FRAMES: usize = 2_000;

fn app(stage: Stage) -> (App, Entity) {
    let mut simulator =
        Simulator::new(Scenario::default()).expect("the default scenario can be computed");
    simulator.view.stage = stage;
    simulator.view.layers.map = Some(MapAim::BestForValue);
    simulator.view.layers.regions = true;
    simulator.desk.keep_copy();
    simulator.desk.calibrate_again();
    let mut app = headless::app(simulator);
    for _ in 0..30 {
        app.update();
    }
    let mut windows = app
        .world_mut()
        .query_filtered::<Entity, With<PrimaryWindow>>();
    let window = windows
        .single(app.world())
        .expect("the default plugins make one window");
    (app, window)
}

fn move_to(app: &mut App, window: Entity, position: Vec2) {
    app.world_mut()
        .write_message(WindowEvent::CursorMoved(CursorMoved {
            window,
            position,
            delta: None,
        }));
}

fn main() {
    let mut out = std::io::stdout().lock();
    for (name, stage) in [
        ("reflection chart", Stage::Chart(ChartKind::Reflection)),
        ("ohm plane", Stage::Chart(ChartKind::OhmPlane)),
        ("reach", Stage::Reach),
    ] {
        let (mut app, window) = app(stage);
        let center = Vec2::new(218.0, 327.0);
        move_to(&mut app, window, center);
        app.update();
        app.world_mut()
            .write_message(WindowEvent::MouseButtonInput(MouseButtonInput {
                button: MouseButton::Left,
                state: ButtonState::Pressed,
                window,
            }));
        app.update();
        let mut micros: Vec<f64> = (0..FRAMES)
            .map(|frame| {
                // A spiral from the middle to the rim and back.
                let turn = frame as f32 * 0.05;
                let reach = 130.0 * (frame as f32 * 0.01).sin().abs();
                move_to(
                    &mut app,
                    window,
                    center + reach * Vec2::new(turn.cos(), turn.sin()),
                );
                let began = Instant::now();
                app.update();
                began.elapsed().as_secs_f64() * 1e6
            })
            .collect();
        micros.sort_by(f64::total_cmp);
        let readout = readout_micros(&app.world().resource::<Simulator>().desk);
        let line = format!(
            "{name}: frame median {:.0} µs, p99 {:.0} µs, worst {:.0} µs; one readout {readout:.2} \
             µs, so a median frame is {:.0} readouts",
            micros[FRAMES / 2],
            micros[FRAMES * 99 / 100],
            micros[FRAMES - 1],
            micros[FRAMES / 2] / readout
        );
        writeln!(out, "{line}").expect("the terminal takes a line");
    }
}

fn readout_micros(desk: &Desk) -> f64 {
    const COUNT: u32 = 20_000;
    let began = Instant::now();
    for _ in 0..COUNT {
        black_box(black_box(desk).readout());
    }
    began.elapsed().as_secs_f64() * 1e6 / f64::from(COUNT)
}
