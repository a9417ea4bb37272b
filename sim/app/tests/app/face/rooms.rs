//! Everything has room at every size of window, theme and text: no two texts overlap, none is too
//! small, and what answers the question is inside the window.

use egui::accesskit::Role;
use egui::epaint::{ClippedShape, Shape, TextShape};
use egui::{Rect, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use jigwise_bench::Fixture;
use jigwise_bench::scene::ChartKind;
use jigwise_bench::words::fixture_title;
use jigwise_sim::{Simulator, Stage, Theme};

use super::{harness, run_in, simulator};

const SIZES: [[f32; 2]; 6] = [
    [400.0, 850.0],
    [1024.0, 600.0],
    [1280.0, 720.0],
    [1366.0, 768.0],
    [1920.0, 1080.0],
    [3840.0, 2160.0],
];
/// Windows that nobody would choose, at the plain size of text.
const ODD_SIZES: [[f32; 2]; 3] = [[320.0, 320.0], [5_000.0, 320.0], [500.0, 2_000.0]];
/// The least height of letters, points of the zoom.
const LEAST_TYPE: f32 = 14.0;
/// Controls at the start.
const MOST_CONTROLS: usize = 20;

fn texts_of(shapes: &[ClippedShape]) -> Vec<(Rect, TextShape)> {
    fn gather(shape: &Shape, clip: Rect, found: &mut Vec<(Rect, TextShape)>) {
        match shape {
            Shape::Vec(shapes) => shapes.iter().for_each(|shape| gather(shape, clip, found)),
            Shape::Text(text) => {
                for row in &text.galley.rows {
                    let rect = row.rect().translate(text.pos.to_vec2()).intersect(clip);
                    if rect.is_positive() && !row.glyphs.is_empty() {
                        found.push((rect, text.clone()));
                    }
                }
            }
            _ => {}
        }
    }
    let mut found = Vec::new();
    for shape in shapes {
        gather(&shape.shape, shape.clip_rect, &mut found);
    }
    found
}

fn window(stage: Stage, theme: Theme, percent: u32, size: [f32; 2]) -> Harness<'static, Simulator> {
    let mut start = simulator("4.7k");
    start.view.stage = stage;
    start.view.theme = theme;
    start.view.set_text_percent(percent);
    let mut harness = harness(start, size);
    run_in(&mut harness, size, 10);
    for _ in 0..5 {
        harness.state_mut().desk.calibrate_again();
    }
    run_in(&mut harness, size, 30);
    harness
}

pub(super) fn whole(harness: &Harness<'_, Simulator>, size: [f32; 2]) -> Rect {
    let zoom = harness.ctx.zoom_factor();
    Rect::from_min_size(egui::Pos2::ZERO, Vec2::from(size) / zoom)
}

fn at_every_size(check: impl Fn(&Harness<'_, Simulator>, Rect, &str)) {
    at_every_size_on(Stage::Chart(ChartKind::Reflection), check);
}

fn at_every_size_on(stage: Stage, check: impl Fn(&Harness<'_, Simulator>, Rect, &str)) {
    let usual = SIZES.into_iter().flat_map(|size| {
        [100, 200, 250, 300]
            .into_iter()
            .map(move |percent| (size, percent))
    });
    let odd = ODD_SIZES.into_iter().map(|size| (size, 100));
    for (size, percent) in usual.chain(odd) {
        for theme in Theme::ALL {
            let harness = window(stage, theme, percent, size);
            let told = format!("{size:?} {} {percent} %", theme.name());
            check(&harness, whole(&harness, size), &told);
        }
    }
}

#[test]
fn no_text_overlaps_another_or_is_too_small() {
    for stage in Stage::ALL {
        at_every_size_on(stage, |harness, window, told| {
            has_room(harness, window, &format!("{} {told}", stage.name()));
        });
    }
}

pub(super) fn has_room(harness: &Harness<'_, Simulator>, window: Rect, told: &str) {
    let texts = texts_of(&harness.output().shapes);
    assert!(texts.len() > 8, "{told}: {} texts", texts.len());
    for (k, (rect, text)) in texts.iter().enumerate() {
        let said = text.galley.text();
        assert!(
            window.expand(1.0).contains_rect(*rect),
            "{told}: \"{said}\" at {rect}"
        );
        for section in &text.galley.job.sections {
            let size = section.format.font_id.size;
            assert!(size >= LEAST_TYPE - 0.01, "{told}: \"{said}\" of {size}");
        }
        for (other, that) in &texts[..k] {
            // Letters have air around them that may touch.
            let shared = rect.shrink2(Vec2::new(1.0, 3.0)).intersect(*other);
            assert!(
                !shared.is_positive(),
                "{told}: \"{said}\" over \"{}\" at {rect} and {other}",
                that.galley.text()
            );
        }
    }
}

#[test]
fn what_answers_the_question_is_in_the_window() {
    at_every_size(|harness, window, told| {
        let inside = |rect: Rect, what: &str| {
            assert!(
                window.expand(1.0).contains_rect(rect),
                "{told}: {what} at {rect}"
            );
        };
        let named = |name: &str| {
            let beginning = format!("{name}: ");
            let found = harness.root().children_recursive().find(|node| {
                let value = node.accesskit_node().value();
                value.is_some_and(|value| value.starts_with(&beginning))
            });
            found
                .unwrap_or_else(|| panic!("{told}: nothing says {name}"))
                .rect()
        };
        inside(named("Answer"), "the answer");
        for fixture in Fixture::ALL {
            let name = format!("{}, verdict", fixture_title(fixture));
            inside(named(&name), &name);
        }
        let is_rule = |node: &egui_kittest::kittest::AccessKitNode<'_>| {
            node.role() == Role::Slider && node.label().as_deref() == Some("Magnitude of Z")
        };
        let rule = harness.get_by(is_rule).rect();
        inside(rule, "the rule");
        assert!(
            rule.height() >= 80.0 && rule.width() > 150.0,
            "{told}: {rule}"
        );
        inside(harness.get_by_label("Calibrate again").rect(), "the button");
    });
}

#[test]
fn there_are_few_controls_at_the_start() {
    at_every_size(|harness, _, told| {
        let roles = [
            Role::Button,
            Role::TextInput,
            Role::Slider,
            Role::GraphicsObject,
            Role::CheckBox,
            Role::ComboBox,
        ];
        let count = harness
            .root()
            .children_recursive()
            .filter(|node| roles.contains(&node.accesskit_node().role()))
            .count();
        assert!(count <= MOST_CONTROLS, "{told}: {count} controls");
    });
}
