//! The toolkit dressed in our own colours: flat, square-cornered, one weight of line.

use std::sync::Arc;

use egui::{
    Context, CornerRadius, FontData, FontDefinitions, FontFamily, FontId, Stroke, Style, TextStyle,
    Vec2, Visuals,
};

use super::paint::color;
use crate::Theme;

/// Puts the theme and text size on. Does nothing where they are on already.
pub(super) fn wear(ctx: &Context, theme: Theme, text_percent: u32) {
    let zoom = text_percent as f32 / 100.0 * theme.type_factor();
    ctx.set_zoom_factor(zoom);
    let id = egui::Id::new("theme worn");
    let worn = ctx.data(|data| data.get_temp::<u8>(id));
    let wanted = theme as u8;
    if worn.is_none() {
        ctx.set_fonts(fonts());
    }
    if worn != Some(wanted) {
        ctx.data_mut(|data| data.insert_temp(id, wanted));
        ctx.all_styles_mut(|style| dress(style, theme));
    }
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

fn strong_family() -> FontFamily {
    FontFamily::Name(STRONG.into())
}

fn dress(style: &mut Style, theme: Theme) {
    let palette = theme.palette();
    let [text, faint, grid, paper, ground] = [
        palette.text,
        palette.faint,
        palette.grid,
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
    visuals.selection.bg_fill = grid;
    visuals.selection.stroke = Stroke::new(1.0, text);
    visuals.text_cursor.blink = false;
    let line = theme.line_factor();
    for (widget, edge, fill) in [
        (&mut visuals.widgets.noninteractive, grid, ground),
        (&mut visuals.widgets.inactive, faint, paper),
        (&mut visuals.widgets.hovered, text, paper),
        (&mut visuals.widgets.active, text, grid),
        (&mut visuals.widgets.open, text, grid),
    ] {
        widget.bg_fill = fill;
        widget.weak_bg_fill = fill;
        widget.bg_stroke = Stroke::new(line, edge);
        widget.fg_stroke = Stroke::new(line, text);
        widget.corner_radius = CornerRadius::same(2);
        widget.expansion = 0.0;
    }
    style.visuals = visuals;
    style.animation_time = 0.0;
    style.spacing.item_spacing = Vec2::new(8.0, 5.0);
    style.spacing.button_padding = Vec2::new(8.0, 3.0);
    style.spacing.interact_size.y = 24.0;
    style.text_styles = [
        (TextStyle::Small, 12.0),
        (TextStyle::Body, 14.5),
        (TextStyle::Button, 14.5),
        (TextStyle::Heading, 19.0),
        (TextStyle::Monospace, 14.0),
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
