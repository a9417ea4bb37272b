//! A window that was resized, or whose letters were made anew, settles to what a fresh one shows.

use egui::ClippedPrimitive;
use egui_kittest::Harness;
use jigwise_sim::{Simulator, Theme};

use super::{harness, run_in, simulator};

const SIZES: [[f32; 2]; 10] = [
    [421.0, 720.0],
    [1000.0, 720.0],
    [1280.0, 720.0],
    [400.0, 850.0],
    [1920.0, 1080.0],
    [559.0, 900.0],
    [1024.0, 600.0],
    [3840.0, 2160.0],
    [700.0, 700.0],
    [1366.0, 768.0],
];

fn start(theme: Theme) -> Simulator {
    let mut start = simulator("4.7k");
    start.view.theme = theme;
    start
}

/// Triangles with their places and colours, and the letters by what they say and where: where a
/// letter lies in the font's texture depends on what was written before.
fn drawn(harness: &Harness<'_, Simulator>) -> Vec<String> {
    let output = harness.output();
    let mut letters: Vec<String> = Vec::new();
    let mut rest = Vec::new();
    for clipped in output.shapes.clone() {
        part(clipped.shape, clipped.clip_rect, &mut letters, &mut rest);
    }
    let primitives = harness.ctx.tessellate(rest, output.pixels_per_point);
    let mut lines: Vec<String> = primitives.iter().map(corners).collect();
    lines.extend(letters);
    lines
}

fn part(
    shape: egui::Shape,
    clip_rect: egui::Rect,
    letters: &mut Vec<String>,
    rest: &mut Vec<egui::epaint::ClippedShape>,
) {
    match shape {
        egui::Shape::Vec(shapes) => shapes
            .into_iter()
            .for_each(|shape| part(shape, clip_rect, letters, rest)),
        egui::Shape::Text(text) => {
            letters.push(format!(
                "{:?} {:?} {}",
                clip_rect,
                text.pos,
                text.galley.text()
            ));
        }
        shape => rest.push(egui::epaint::ClippedShape { clip_rect, shape }),
    }
}

fn corners(primitive: &ClippedPrimitive) -> String {
    match &primitive.primitive {
        egui::epaint::Primitive::Mesh(mesh) => {
            let places: Vec<_> = mesh.vertices.iter().map(|v| (v.pos, v.color)).collect();
            format!("{:?} {places:?} {:?}", primitive.clip_rect, mesh.indices)
        }
        egui::epaint::Primitive::Callback(_) => String::new(),
    }
}

#[test]
fn a_window_that_was_resized_is_as_a_fresh_one() {
    for theme in Theme::ALL {
        let mut resized = harness(start(theme), SIZES[0]);
        run_in(&mut resized, SIZES[0], 10);
        for size in SIZES {
            run_in(&mut resized, size, 12);
            let mut fresh = harness(start(theme), size);
            run_in(&mut fresh, size, 12);
            let (after, first) = (drawn(&resized), drawn(&fresh));
            let told = format!("{} at {size:?} differs from a fresh start", theme.name());
            assert_eq!(after.len(), first.len(), "{told}");
            for (after, first) in after.iter().zip(&first) {
                assert!(after == first, "{told}:\n{after:.400}\n{first:.400}");
            }
        }
    }
}

/// Every texture that was made anew is a new place for every letter, and a letter that was kept
/// would show another one.
#[test]
fn letters_survive_a_new_texture_of_letters() {
    let mut window = harness(start(Theme::Light), [1280.0, 720.0]);
    window.run_steps(12);
    let before = drawn(&window);
    // Letters of many sizes fill the texture until it is made anew.
    for size in 20..90 {
        let font = egui::FontId::proportional(size as f32);
        let text = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz".to_owned();
        window.ctx.fonts_mut(|fonts| {
            fonts.layout_no_wrap(text, font, egui::Color32::WHITE);
        });
    }
    window.run_steps(12);
    assert!(drawn(&window) == before);
    let used = |window: &Harness<'_, Simulator>| {
        let mut places = std::collections::BTreeSet::new();
        let output = window.output();
        for clipped in &output.shapes {
            letters_of(&clipped.shape, &mut places);
        }
        places
    };
    let mut fresh = harness(start(Theme::Light), [1280.0, 720.0]);
    fresh.run_steps(12);
    // What each text says is laid out with the texture as it is now.
    assert_eq!(used(&window).len(), used(&fresh).len());
}

fn letters_of(shape: &egui::Shape, found: &mut std::collections::BTreeSet<String>) {
    match shape {
        egui::Shape::Vec(shapes) => shapes.iter().for_each(|shape| letters_of(shape, found)),
        egui::Shape::Text(text) => {
            found.insert(text.galley.text().to_owned());
        }
        _ => {}
    }
}
