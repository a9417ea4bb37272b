//! Where everything is: rectangles computed from the window's size, so that nothing scrolls and
//! nothing moves because of what is written in it.

use egui::{Rect, Vec2, pos2};
use jigwise_bench::scene::RuleLook;

use super::look::TypeSizes;
use crate::Theme;

/// How the window is divided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    /// Chart at the left, three columns at the right.
    Wide,
    /// Chart above, three columns below.
    Tall,
    /// No chart; a row for each fixture.
    Narrow,
}

/// The rectangles of one window.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout {
    pub shape: Shape,
    pub sizes: TypeSizes,
    /// Height of what is pressed.
    pub target: f32,
    pub bar: Rect,
    pub answer: Rect,
    /// Largest size of the answer's letters.
    pub answer_size: f32,
    pub has_why: bool,
    /// The names of the stages; empty where there is no room.
    pub tabs: Rect,
    /// The chart; empty where there is no room.
    pub stage: Rect,
    pub columns: [Rect; 3],
    pub rule: Rect,
    pub rule_look: RuleLook,
    /// The last row; empty where there is no room.
    pub foot: Rect,
    /// What a drawer covers.
    pub drawer: Rect,
}

const GAP: f32 = 16.0;
/// Windows less wide than this have the phone's bar, however low they are.
const LEAST_WIDE: f32 = 420.0;
/// A drawer lower than this covers columns and rule too.
const LEAST_DRAWER: f32 = 160.0;

impl Layout {
    pub(super) fn of(window: Rect, theme: Theme) -> Self {
        let size = window.size();
        let shape = if size.x < 300.0 {
            Shape::Narrow
        } else if size.x < LEAST_WIDE || size.x < 600.0 && size.y > size.x {
            Shape::Tall
        } else {
            Shape::Wide
        };
        let sizes = TypeSizes::of(theme, size);
        let heights = Heights::of(size, shape, theme, sizes);
        let margin = if shape == Shape::Wide { GAP } else { 12.0 };
        let inner = window.shrink2(Vec2::new(margin, 0.0));
        let row = |top: f32, height: f32| {
            Rect::from_min_size(pos2(inner.left(), top), Vec2::new(inner.width(), height))
        };
        let bar = row(window.top(), heights.bar);
        let answer = row(bar.bottom(), heights.answer);
        let foot = row(window.bottom() - heights.foot, heights.foot);
        let rule = row(foot.top() - heights.rule, heights.rule);
        let middle = Rect::from_min_max(
            pos2(inner.left(), answer.bottom()),
            pos2(inner.right(), rule.top() - 6.0),
        );
        let (stage, columns) = match shape {
            Shape::Wide => wide(middle, theme),
            Shape::Tall => tall(middle, sizes),
            Shape::Narrow => (Rect::NOTHING, rows(middle)),
        };
        let has_stage = stage.is_positive();
        let has_tabs = shape == Shape::Wide
            && theme != Theme::Hall
            && stage.width() > 300.0
            && stage.height() > 240.0;
        let tabs_height = if has_tabs { 30.0 } else { 0.0 };
        let tabs = Rect::from_min_size(stage.min, Vec2::new(stage.width(), tabs_height));
        let drawer = if middle.height() < LEAST_DRAWER {
            Rect::from_min_max(answer.min, inner.right_bottom())
        } else if has_stage && shape == Shape::Wide {
            Rect::from_min_max(
                stage.min,
                pos2(stage.right().max(stage.left() + 240.0), middle.bottom()),
            )
        } else {
            middle
        };
        Self {
            shape,
            sizes,
            target: heights.target,
            bar,
            answer,
            answer_size: heights.answer_size,
            has_why: heights.has_why,
            tabs,
            stage: if has_stage {
                Rect::from_min_max(pos2(stage.left(), tabs.bottom()), stage.max)
            } else {
                stage
            },
            columns,
            rule,
            rule_look: heights.rule_look,
            foot,
            drawer,
        }
    }
}

struct Heights {
    bar: f32,
    target: f32,
    answer: f32,
    answer_size: f32,
    has_why: bool,
    rule: f32,
    rule_look: RuleLook,
    foot: f32,
}

/// Below this height a phone's window has less of everything.
const LOW_PHONE: f32 = 480.0;

impl Heights {
    fn of(size: Vec2, shape: Shape, theme: Theme, sizes: TypeSizes) -> Self {
        let is_low = size.y < 560.0;
        let rule_look = rule_look(size, shape, theme);
        let (bar, target) = match (shape, theme) {
            (Shape::Wide, Theme::Hall) if size.y >= 600.0 => (60.0, 40.0),
            (Shape::Wide, _) if !is_low => (50.0, 32.0),
            (Shape::Wide, _) => (40.0, 32.0),
            (Shape::Tall, _) if size.y < LOW_PHONE => (44.0, 36.0),
            (Shape::Tall, _) => (54.0, 44.0),
            (Shape::Narrow, _) => (42.0, 36.0),
        };
        let (answer, answer_size, has_why) = match (shape, theme) {
            (Shape::Wide, Theme::Hall) if size.y >= 600.0 => (66.0, sizes.answer, false),
            (Shape::Wide, Theme::Hall) => (60.0, 24.0, false),
            (Shape::Wide, _) if !is_low => (74.0, sizes.answer, true),
            (Shape::Wide, _) if size.y >= 380.0 => (54.0, sizes.head, true),
            (Shape::Wide, _) => (48.0, sizes.head, false),
            (Shape::Tall, _) if size.y < LOW_PHONE => (52.0, 18.0, false),
            (Shape::Tall, Theme::Hall) => (88.0, 22.0, false),
            (Shape::Tall, _) => (88.0, 20.0, true),
            (Shape::Narrow, _) => (84.0, 16.0, false),
        };
        let foot = match shape {
            Shape::Wide if size.y >= 420.0 && theme != Theme::Hall => 32.0,
            Shape::Wide => 0.0,
            Shape::Tall if size.y < LOW_PHONE => 34.0,
            Shape::Tall => 46.0,
            Shape::Narrow => 34.0,
        };
        Self {
            bar,
            target,
            answer,
            answer_size,
            has_why,
            rule: rule_look.height() as f32 + 6.0,
            rule_look,
            foot,
        }
    }
}

fn rule_look(size: Vec2, shape: Shape, theme: Theme) -> RuleLook {
    let is_hall = theme == Theme::Hall;
    match shape {
        Shape::Wide if is_hall && size.y >= 600.0 => RuleLook::HALL,
        Shape::Wide if is_hall => RuleLook {
            lane: 24.0,
            grip: 8.0,
            left: 40.0,
            right: 66.0,
            type_size: 14.0,
            ..RuleLook::HALL
        },
        Shape::Wide if size.y >= 640.0 && size.x >= 1_000.0 => RuleLook::WINDOW,
        Shape::Wide if size.y >= 540.0 => RuleLook {
            lane: 28.0,
            has_detail: size.x >= 700.0,
            has_legend: size.x >= 1_000.0,
            ..RuleLook::WINDOW
        },
        Shape::Wide if size.x >= 600.0 => RuleLook {
            lane: 20.0,
            has_detail: false,
            has_legend: false,
            ..RuleLook::WINDOW
        },
        Shape::Wide => RuleLook {
            lane: 20.0,
            grip: 8.0,
            is_bare: is_hall,
            ..RuleLook::PHONE
        },
        Shape::Tall => RuleLook {
            lane: if size.y < LOW_PHONE { 20.0 } else { 28.0 },
            grip: if size.y < LOW_PHONE { 8.0 } else { 12.0 },
            is_bare: is_hall,
            ..RuleLook::PHONE
        },
        Shape::Narrow => RuleLook {
            lane: 20.0,
            grip: 9.0,
            left: 26.0,
            right: 54.0,
            is_bare: is_hall,
            ..RuleLook::PHONE
        },
    }
}

fn wide(middle: Rect, theme: Theme) -> (Rect, [Rect; 3]) {
    const LEAST_CHART: f32 = 170.0;
    let tabs = if theme == Theme::Hall { 0.0 } else { 30.0 };
    // As wide as it is high; the columns keep two thirds.
    let side = (middle.height() - tabs + 60.0)
        .min(0.325 * middle.width())
        .max(0.0);
    let has_chart = middle.height() >= LEAST_CHART && side >= LEAST_CHART;
    let (stage, left) = if has_chart {
        let stage = Rect::from_min_size(middle.min, Vec2::new(side, middle.height()));
        (stage, stage.right() + 1.5 * GAP)
    } else {
        (Rect::NOTHING, middle.left())
    };
    let rest = Rect::from_min_max(pos2(left, middle.top()), middle.max);
    (
        stage,
        abreast(rest, if rest.width() > 700.0 { 20.0 } else { 10.0 }),
    )
}

fn tall(middle: Rect, sizes: TypeSizes) -> (Rect, [Rect; 3]) {
    // Sign, verdict, a small cloud and two rows of numbers come first.
    let columns = (8.6 * sizes.body + 96.0).min(middle.height());
    let chart = middle.height() - columns;
    if chart < 120.0 {
        return (Rect::NOTHING, abreast(middle, 10.0));
    }
    let stage = Rect::from_min_size(middle.min, Vec2::new(middle.width(), chart));
    let rest = Rect::from_min_max(pos2(middle.left(), stage.bottom()), middle.max);
    (stage, abreast(rest, 10.0))
}

fn abreast(rect: Rect, gap: f32) -> [Rect; 3] {
    let width = (rect.width() - 2.0 * gap) / 3.0;
    std::array::from_fn(|k| {
        let left = rect.left() + k as f32 * (width + gap);
        Rect::from_min_size(pos2(left, rect.top()), Vec2::new(width, rect.height()))
    })
}

fn rows(rect: Rect) -> [Rect; 3] {
    let height = rect.height() / 3.0;
    std::array::from_fn(|k| {
        let top = rect.top() + k as f32 * height;
        Rect::from_min_size(pos2(rect.left(), top), Vec2::new(rect.width(), height))
    })
}
