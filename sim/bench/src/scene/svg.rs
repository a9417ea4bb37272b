//! The SVG back end: a scene as text for a page or a file.

use std::fmt::Write as _;

use jigwise_physics::Fixture;

use super::{Anchor, Ink, Mark, Palette, Point, Scene, Stroke};

/// A scene as an `svg` element that stands alone and can be set into a page. `id` must be
/// unique in the page: title and description are tied to it for screen readers.
///
/// Colours are custom properties (`--jw-text`, `--jw-reflect` and so on) that a stylesheet may
/// set; without one they are those of [`Palette::LIGHT`].
pub fn svg(scene: &Scene, id: &str) -> String {
    let mut out = String::new();
    begin(&mut out, scene, id, "");
    for mark in &scene.marks {
        write_mark(&mut out, mark);
    }
    out.push_str("</svg>");
    out
}

/// The same with a layer below that does not follow the part: a page that has the layer already
/// asks for it empty and keeps what it has.
pub fn layered_svg(still: &[Mark], scene: &Scene, id: &str) -> String {
    let mut out = String::new();
    begin(&mut out, scene, id, "");
    out.push_str("<g class=\"jw-still\">");
    for mark in still {
        write_mark(&mut out, mark);
    }
    out.push_str("</g>");
    for mark in &scene.marks {
        write_mark(&mut out, mark);
    }
    out.push_str("</svg>");
    out
}

/// A scene as a file of its own: with its size, a plain typeface and the palette of the
/// reader's theme.
pub fn svg_file(scene: &Scene, id: &str) -> String {
    let [width, height] = scene.size.map(number);
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    let size = format!(" width=\"{width}\" height=\"{height}\"");
    begin(&mut out, scene, id, &size);
    let _ = write!(
        out,
        "<style>text{{font-family:sans-serif}}svg{{{}}}\
         @media (prefers-color-scheme:dark){{svg{{{}}}}}</style>\
         <rect width=\"{width}\" height=\"{height}\" style=\"fill:var(--jw-ground)\"/>",
        properties(&Palette::LIGHT),
        properties(&Palette::DARK),
    );
    for mark in &scene.marks {
        write_mark(&mut out, mark);
    }
    out.push_str("</svg>\n");
    out
}

/// A palette as the custom properties that scenes are drawn with.
pub fn properties(palette: &Palette) -> String {
    [
        ("text", palette.text),
        ("faint", palette.faint),
        ("grid", palette.grid),
        ("hair", palette.hair),
        ("paper", palette.paper),
        ("ground", palette.ground),
        ("device", palette.device),
        ("reflect", palette.fixtures[0]),
        ("shunt", palette.fixtures[1]),
        ("series", palette.fixtures[2]),
    ]
    .map(|(name, color)| format!("--jw-{name}:{}", color.hex()))
    .join(";")
}

fn begin(out: &mut String, scene: &Scene, id: &str, more: &str) {
    let [width, height] = scene.size;
    // Writing to a String can't fail.
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"jw-figure\" viewBox=\"0 0 {} {}\"\
         {more} role=\"img\" aria-labelledby=\"{id}-title {id}-desc\">\
         <title id=\"{id}-title\">{}</title><desc id=\"{id}-desc\">{}</desc>",
        number(width),
        number(height),
        escaped(&scene.title),
        escaped(&scene.description),
        id = escaped(id),
    );
}

fn write_mark(out: &mut String, mark: &Mark) {
    let _ = match mark {
        Mark::Line { points, stroke } => write!(
            out,
            "<polyline points=\"{}\" style=\"fill:none;{}\"/>",
            list(points),
            stroke_style(stroke)
        ),
        Mark::Area { points, fill } => write!(
            out,
            "<polygon points=\"{}\" style=\"fill:{}\"/>",
            list(points),
            color(*fill)
        ),
        Mark::Fill { pieces, fill } => {
            let path: Vec<String> = pieces
                .iter()
                .map(|piece| format!("M{}Z", list(piece)))
                .collect();
            // The thin edge closes the seam that a renderer leaves between two pieces.
            let paint = color(*fill);
            write!(
                out,
                "<path d=\"{}\" style=\"fill:{paint};stroke:{paint};stroke-width:.3\"/>",
                path.concat(),
            )
        }
        Mark::Lines { ends, stroke } => {
            let path: Vec<String> = ends.iter().map(|ends| format!("M{}", list(ends))).collect();
            write!(
                out,
                "<path d=\"{}\" style=\"fill:none;{}\"/>",
                path.concat(),
                stroke_style(stroke)
            )
        }
        Mark::Circle {
            center: [x, y],
            radius,
            fill,
            stroke,
        } => write!(
            out,
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" style=\"fill:{};{}\"/>",
            number(*x),
            number(*y),
            number(*radius),
            fill.map_or("none".to_owned(), color),
            stroke.as_ref().map_or(String::new(), stroke_style)
        ),
        Mark::Dots {
            centers,
            radius,
            ink,
            edge,
        } => write_dots(out, centers, *radius, *ink, *edge),
        Mark::Text {
            at: [x, y],
            text,
            size,
            anchor,
            ink,
        } => write!(
            out,
            "<text x=\"{}\" y=\"{}\" style=\"font-size:{}px;text-anchor:{};\
             dominant-baseline:central;fill:{}\">{}</text>",
            number(*x),
            number(*y),
            number(*size),
            match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            },
            color(*ink),
            escaped(text)
        ),
    };
}

fn write_dots(
    out: &mut String,
    centers: &[Point],
    radius: f64,
    ink: Ink,
    edge: Option<f64>,
) -> std::fmt::Result {
    // One path for all: a cloud of hundreds moves with every step of a reader's hand, and an element
    // for each dot would cost more than the numbers in it.
    let style = match edge {
        None => format!(
            "fill:none;stroke:{};stroke-width:{};stroke-linecap:round",
            color(ink),
            number(2.0 * radius)
        ),
        Some(width) => format!("fill:none;{}", stroke_style(&Stroke::solid(ink, width))),
    };
    write!(out, "<path style=\"{style}\" d=\"")?;
    for [x, y] in centers {
        if edge.is_none() {
            write!(out, "M{} {}h0", number(*x), number(*y))?;
        } else {
            let (x, y, r, across) = (
                number(x - radius),
                number(*y),
                number(radius),
                number(2.0 * radius),
            );
            write!(
                out,
                "M{x} {y}a{r} {r} 0 1 0 {across} 0a{r} {r} 0 1 0 -{across} 0"
            )?;
        }
    }
    out.write_str("\"/>")
}

fn stroke_style(stroke: &Stroke) -> String {
    let dashes: Vec<String> = stroke
        .dash
        .pattern()
        .iter()
        .map(|length| number(length * stroke.width))
        .collect();
    let dashes = if dashes.is_empty() {
        String::new()
    } else {
        format!(";stroke-dasharray:{}", dashes.join(" "))
    };
    format!(
        "stroke:{};stroke-width:{}{dashes}",
        color(stroke.ink),
        number(stroke.width)
    )
}

fn color(ink: Ink) -> String {
    let name = match ink {
        Ink::Text => "text",
        Ink::Faint => "faint",
        Ink::Grid => "grid",
        Ink::Hair => "hair",
        Ink::Paper => "paper",
        Ink::Ground => "ground",
        Ink::Device => "device",
        Ink::Fixture(fixture) => fixture_name(fixture),
        Ink::Tint(fixture, level) => {
            return mixed(fixture, Palette::LIGHT.tint_share(level));
        }
        Ink::Pattern(fixture) => {
            return mixed(fixture, f64::from(Palette::LIGHT.pattern_percent) / 100.0);
        }
    };
    format!("var(--jw-{name},{})", Palette::LIGHT.ink(ink).hex())
}

fn fixture_name(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Reflect => "reflect",
        Fixture::ShuntThrough => "shunt",
        Fixture::SeriesThrough => "series",
    }
}

/// A fixture's colour on paper, which follows the reader's theme.
fn mixed(fixture: Fixture, share: f64) -> String {
    format!(
        "color-mix(in srgb,{} {}%,{})",
        color(Ink::Fixture(fixture)),
        number(100.0 * share),
        color(Ink::Paper)
    )
}

fn list(points: &[Point]) -> String {
    let points: Vec<String> = points
        .iter()
        .map(|[x, y]| format!("{},{}", number(*x), number(*y)))
        .collect();
    points.join(" ")
}

/// Two decimals, without trailing zeros.
fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0" } else { text }.to_owned()
}

/// Text with `&`, `<`, `>` and `"` written as HTML and XML want them.
pub fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}
