//! Pictures as geometry: made once here, drawn by thin back ends (SVG in the book, the
//! window's painter in the app).
//!
//! Lengths are in pixels of the finished picture, x to the right and y down.

mod chart;
mod circuit;
mod cloud;
mod map;
mod palette;
mod pattern;
mod reach;
mod region;
mod rule;
mod sign;
mod spectrum;
mod svg;
mod sweep;
mod ticks;
mod trace;

pub use chart::{ChartFrame, ChartKind, chart};
pub use circuit::{circuit, envelope, mini_circuit};
pub use cloud::{CloudScale, Glide, cloud, half_width_sigma, sigma_ruler};
pub use map::{ChartMap, MapAim, MapFigure};
pub use palette::{Palette, Rgb};
pub use reach::ReachFrame;
pub use rule::{RuleFrame, RuleLook, Ticks};
pub use sign::{hollow_sign, sign, verdict_sign};
pub use spectrum::SpectrumFrame;
pub use svg::{escaped, layered_svg, properties, svg, svg_file};
pub use sweep::{CurvePoint, SweepAxis, SweepFrame, ValueScale, chosen_strip};

use jigwise_physics::Fixture;

/// A point, [x, y].
pub type Point = [f64; 2];

/// A picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// Width and height.
    pub size: [f64; 2],
    /// A few words, for the picture's accessible name.
    pub title: String,
    /// What the picture shows, in a sentence or two with its numbers.
    pub description: String,
    /// What is drawn, from the back to the front.
    pub marks: Vec<Mark>,
}

/// What a colour is used for. The [`Palette`] says which colour that is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ink {
    /// Writing and wires.
    Text,
    /// Writing of less weight.
    Faint,
    /// Lines of a scale.
    Grid,
    /// Lines that part one thing from another and carry no meaning.
    Hair,
    /// The ground that a chart is drawn on.
    Paper,
    /// The ground around charts.
    Ground,
    /// The device itself.
    Device,
    /// What belongs to one fixture.
    Fixture(Fixture),
    /// The pale ground of an area of one fixture, the deeper the higher the level.
    Tint(Fixture, u8),
    /// The pattern of an area of one fixture.
    Pattern(Fixture),
}

/// How a line is broken; each fixture has its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dash {
    /// Unbroken: reflect.
    Solid,
    /// Long dashes: shunt-through.
    Long,
    /// Dots in pairs: series-through.
    PairedDots,
    /// Dots: what ties two things together.
    Dots,
}

impl Dash {
    /// The dash of a fixture's lines.
    pub fn of(fixture: Fixture) -> Self {
        match fixture {
            Fixture::Reflect => Self::Solid,
            Fixture::ShuntThrough => Self::Long,
            Fixture::SeriesThrough => Self::PairedDots,
        }
    }

    /// Lengths drawn and left out in turn, in units of the line's width; empty if unbroken.
    pub fn pattern(self) -> &'static [f64] {
        match self {
            Self::Solid => &[],
            Self::Long => &[7.0, 3.0],
            Self::PairedDots => &[1.0, 1.5, 1.0, 4.0],
            Self::Dots => &[1.0, 2.5],
        }
    }
}

/// Colour, width and dashes of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Its colour.
    pub ink: Ink,
    /// Its width, in the units of the scene.
    pub width: f64,
    /// The pattern of its dashes; solid for none.
    pub dash: Dash,
}

impl Stroke {
    /// An unbroken line.
    pub fn solid(ink: Ink, width: f64) -> Self {
        Self {
            ink,
            width,
            dash: Dash::Solid,
        }
    }
}

/// Where writing stands against its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Begins there.
    Start,
    /// Centred there.
    Middle,
    /// Ends there.
    End,
}

/// One thing drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// A line through points.
    Line {
        /// The points.
        points: Vec<Point>,
        /// Its look.
        stroke: Stroke,
    },
    /// A convex filled shape.
    Area {
        /// Its corners.
        points: Vec<Point>,
        /// Its colour.
        fill: Ink,
    },
    /// One area of many convex pieces side by side, without a seam between them.
    Fill {
        /// The corners of each piece.
        pieces: Vec<Vec<Point>>,
        /// Its colour.
        fill: Ink,
    },
    /// Many short lines alike, such as a hatching.
    Lines {
        /// Both ends of each.
        ends: Vec<[Point; 2]>,
        /// Their look; never dashed.
        stroke: Stroke,
    },
    /// A circle.
    Circle {
        /// Its centre.
        center: Point,
        /// Its radius.
        radius: f64,
        /// Its inside, if filled.
        fill: Option<Ink>,
        /// Its edge, if drawn.
        stroke: Option<Stroke>,
    },
    /// Many points alike, of a few pixels each: a cloud is one mark, so that a back end can
    /// draw it in one go.
    Dots {
        /// Their centres.
        centers: Vec<Point>,
        /// The radius of each.
        radius: f64,
        /// Their colour.
        ink: Ink,
        /// Width of the edge of hollow ones; `None` where they are filled.
        edge: Option<f64>,
    },
    /// A line of writing, centred on its point's height.
    Text {
        /// Where.
        at: Point,
        /// What.
        text: String,
        /// Height of the type.
        size: f64,
        /// Against its point.
        anchor: Anchor,
        /// Its colour.
        ink: Ink,
    },
}

impl Mark {
    fn line(from: Point, to: Point, stroke: Stroke) -> Self {
        Self::Line {
            points: vec![from, to],
            stroke,
        }
    }

    /// A filled rectangle from its left, top, right and bottom.
    fn rectangle([left, top, right, bottom]: [f64; 4], fill: Ink) -> Self {
        Self::Area {
            points: vec![[left, top], [right, top], [right, bottom], [left, bottom]],
            fill,
        }
    }

    fn text(at: Point, text: impl Into<String>, size: f64, anchor: Anchor, ink: Ink) -> Self {
        Self::Text {
            at,
            text: text.into(),
            size,
            anchor,
            ink,
        }
    }
}

/// Points along an arc, close enough together that the chord leaves it by less than a fifth
/// of a pixel.
fn arc(center: Point, radius: f64, from_rad: f64, to_rad: f64) -> Vec<Point> {
    const SAGITTA: f64 = 0.2;
    let step = 2.0 * (1.0 - (SAGITTA / radius).min(1.0)).acos();
    let span = to_rad - from_rad;
    let count = (span.abs() / step).ceil().clamp(2.0, 400.0) as usize;
    (0..=count)
        .map(|k| {
            let angle = from_rad + span * k as f64 / count as f64;
            [
                center[0] + radius * angle.cos(),
                center[1] + radius * angle.sin(),
            ]
        })
        .collect()
}

/// Points in unbroken runs: `None` ends a run, and a single point is none.
fn unbroken(points: impl Iterator<Item = Option<Point>>) -> Vec<Vec<Point>> {
    let mut runs: Vec<Vec<Point>> = Vec::new();
    let mut joined = false;
    for point in points {
        match (point, runs.last_mut()) {
            (Some(point), Some(run)) if joined => run.push(point),
            (Some(point), _) => runs.push(vec![point]),
            (None, _) => {}
        }
        joined = point.is_some();
    }
    runs.retain(|run| run.len() > 1);
    runs
}
