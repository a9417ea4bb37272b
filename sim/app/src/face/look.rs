//! The toolkit dressed in our own colours: flat, square-cornered, one weight of line.

use std::sync::Arc;

use egui::style::ScrollStyle;
use egui::{
    Context, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Stroke, Style, TextStyle,
    Vec2, Visuals,
};

use super::paint::color;
use crate::Theme;
use jigwise_bench::Fixture;
use jigwise_bench::scene::Ink;

/// Sizes of type, points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TypeSizes {
    pub small: f32,
    pub body: f32,
    pub head: f32,
    pub answer: f32,
}

impl TypeSizes {
    /// Those of a room are for a window that has room for them.
    pub(super) fn of(theme: Theme, window: Vec2) -> Self {
        const LARGE: Vec2 = Vec2::new(900.0, 600.0);
        let is_large = window.x >= LARGE.x && window.y >= LARGE.y;
        match theme {
            Theme::Hall if !is_large => Self::of(Theme::Light, window),
            Theme::Light | Theme::Dark => Self {
                small: 14.0,
                body: 16.0,
                head: 20.0,
                answer: 28.0,
            },
            Theme::Hall => Self {
                small: 21.0,
                body: 24.0,
                head: 28.0,
                answer: 42.0,
            },
        }
    }
}

/// The window for which everything has its plain size.
const PLAIN: Vec2 = Vec2::new(1280.0, 720.0);
/// Of what a window is larger, this part makes things larger; the rest makes room.
const SHARE_OF_GROWTH: f32 = 5.0 / 6.0;

/// How much larger than plain things are in a window of so many points at zoom 1.
fn automatic_zoom(size: Vec2, theme: Theme) -> f32 {
    let growth = (size.x / PLAIN.x).min(size.y / PLAIN.y);
    match theme {
        Theme::Light | Theme::Dark => (growth * SHARE_OF_GROWTH).max(1.0),
        Theme::Hall => growth.max(1.0),
    }
}

/// The largest zoom that leaves room for bar, answer and rule in a window of so many points at
/// zoom 1. Never less than 1.
fn most_zoom(size: Vec2) -> f32 {
    const LEAST_WIDE: Vec2 = Vec2::new(424.0, 240.0);
    const LEAST_TALL: Vec2 = Vec2::new(200.0, 400.0);
    let least = if size.x < size.y {
        LEAST_TALL
    } else {
        LEAST_WIDE
    };
    (size.x / least.x).min(size.y / least.y).max(1.0)
}

/// The text size for which the window has room, where that is less than `text_percent`.
pub(super) fn fitting_percent(ctx: &Context, theme: Theme, text_percent: u32) -> Option<u32> {
    let size = ctx.viewport_rect().size() * ctx.zoom_factor();
    let percent = 100.0 * most_zoom(size) / automatic_zoom(size, theme);
    (percent < text_percent as f32).then_some(percent.floor() as u32)
}

/// Puts the theme and text size on. Does nothing where they are on already. False while the
/// typefaces are not there yet, which is so in the first frames.
pub(super) fn wear(ctx: &Context, theme: Theme, text_percent: u32) -> bool {
    let size = ctx.viewport_rect().size() * ctx.zoom_factor();
    let zoom = text_percent as f32 / 100.0 * automatic_zoom(size, theme);
    let zoom = zoom.min(most_zoom(size));
    // Steps of a hundredth: a window that is dragged by a pixel keeps its letters.
    ctx.set_zoom_factor((zoom * 100.0).round() / 100.0);
    let id = egui::Id::new("theme worn");
    let worn = ctx.data(|data| data.get_temp::<(u8, u8)>(id));
    let sizes = TypeSizes::of(theme, size / zoom);
    let wanted = (theme as u8, sizes.body as u8);
    if worn.is_none() {
        ctx.set_fonts(fonts());
    }
    if worn != Some(wanted) {
        ctx.data_mut(|data| data.insert_temp(id, wanted));
        ctx.all_styles_mut(|style| dress(style, theme, sizes));
    }
    let has_letters =
        ctx.fonts(|fonts| fonts.definitions().families.contains_key(&strong_family()));
    if !has_letters {
        ctx.request_repaint();
    }
    has_letters
}

const REGULAR: &str = "Atkinson Hyperlegible Next";
const STRONG: &str = "Atkinson Hyperlegible Next SemiBold";

/// A typeface drawn for readers with poor sight (licence beside the files). What it lacks, µ
/// and Greek among it, comes from the toolkit's own.
fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    for (name, bytes) in [
        (
            REGULAR,
            include_bytes!("../../assets/AtkinsonHyperlegibleNext-Regular.ttf").as_slice(),
        ),
        (
            STRONG,
            include_bytes!("../../assets/AtkinsonHyperlegibleNext-SemiBold.ttf").as_slice(),
        ),
    ] {
        let data = Arc::new(FontData::from_static(bytes));
        fonts.font_data.insert(name.to_owned(), data);
    }
    let others = fonts.families.entry(FontFamily::Proportional).or_default();
    let mut strong = vec![STRONG.to_owned()];
    strong.extend(others.iter().cloned());
    others.insert(0, REGULAR.to_owned());
    fonts.families.insert(strong_family(), strong);
    fonts
}

/// The family of the stronger weight.
pub(super) fn strong_family() -> FontFamily {
    FontFamily::Name(STRONG.into())
}

fn dress(style: &mut Style, theme: Theme, sizes: TypeSizes) {
    let palette = theme.palette();
    let [text, faint, hair, paper, ground] = [
        palette.text,
        palette.faint,
        palette.hair,
        palette.paper,
        palette.ground,
    ]
    .map(color);
    let mut visuals = match theme {
        Theme::Dark => Visuals::dark(),
        Theme::Light | Theme::Hall => Visuals::light(),
    };
    visuals.override_text_color = Some(text);
    visuals.weak_text_color = Some(faint);
    visuals.panel_fill = ground;
    visuals.window_fill = ground;
    visuals.extreme_bg_color = paper;
    visuals.text_edit_bg_color = Some(paper);
    visuals.selection.bg_fill = color(palette.ink(Ink::Tint(Fixture::Reflect, 3)));
    visuals.window_stroke = Stroke::new(theme.line_factor(), text);
    visuals.window_corner_radius = CornerRadius::same(3);
    visuals.menu_corner_radius = CornerRadius::same(3);
    visuals.popup_shadow = egui::Shadow::NONE;
    visuals.window_shadow = egui::Shadow::NONE;
    visuals.selection.stroke = Stroke::new(1.0, text);
    visuals.text_cursor.blink = false;
    let line = theme.line_factor();
    for (widget, edge, fill) in [
        (&mut visuals.widgets.noninteractive, hair, ground),
        (&mut visuals.widgets.inactive, text, paper),
        (&mut visuals.widgets.hovered, text, paper),
        (&mut visuals.widgets.active, text, paper),
        (&mut visuals.widgets.open, text, paper),
    ] {
        widget.bg_fill = fill;
        widget.weak_bg_fill = fill;
        widget.bg_stroke = Stroke::new(line, edge);
        widget.fg_stroke = Stroke::new(line, text);
        widget.corner_radius = CornerRadius::same(3);
        widget.expansion = 0.0;
    }
    style.visuals = visuals;
    style.animation_time = 0.0;
    style.spacing.item_spacing = Vec2::new(8.0, 4.0);
    style.spacing.button_padding = Vec2::new(8.0, 3.0);
    style.spacing.interact_size.y = 0.0;
    // Always there where something goes on below: a sign of it, and a place to drag.
    style.spacing.scroll = ScrollStyle {
        floating: false,
        bar_width: 4.0,
        foreground_color: true,
        ..ScrollStyle::solid()
    };
    style.text_styles = [
        (TextStyle::Small, sizes.small),
        (TextStyle::Body, sizes.body),
        (TextStyle::Button, sizes.body),
        (TextStyle::Heading, sizes.head),
        (TextStyle::Monospace, sizes.small),
    ]
    .into_iter()
    .map(|(role, size)| {
        let family = match role {
            TextStyle::Monospace => FontFamily::Monospace,
            TextStyle::Heading => strong_family(),
            _ => FontFamily::Proportional,
        };
        (role, FontId::new(size, family))
    })
    .collect();
}
