//! Draws scenes with egui's painter.

use std::sync::Arc;

use egui::epaint::{CircleShape, Mesh, Tessellator};
use egui::{Align2, Color32, FontId, Painter, Pos2, Shape, Stroke, Vec2};
use jigwise_bench::scene::{self, Anchor, Mark, Palette, Point, Rgb};

use super::ring::Ring;
use crate::Theme;

pub(super) fn color(Rgb([r, g, b]): Rgb) -> Color32 {
    Color32::from_rgb(r, g, b)
}

/// Marks ready to be drawn again: lines and areas as one mesh, letters as marks.
#[derive(Clone)]
pub(super) struct Baked {
    lines: Shape,
    letters: Arc<[Mark]>,
}

/// Draws marks of one theme with their origin at a point of the window.
pub(super) struct Brush<'a> {
    painter: &'a Painter,
    origin: Pos2,
    scale: f32,
    theme: Theme,
    line_factor: f32,
    palette: &'static Palette,
}

impl<'a> Brush<'a> {
    pub(super) fn new(painter: &'a Painter, origin: Pos2, theme: Theme) -> Self {
        Self {
            painter,
            origin,
            scale: 1.0,
            theme,
            line_factor: theme.line_factor(),
            palette: theme.palette(),
        }
    }

    pub(super) fn scaled(self, scale: f32) -> Self {
        Self { scale, ..self }
    }

    pub(super) fn origin(&self) -> Pos2 {
        self.origin
    }

    pub(super) fn theme(&self) -> Theme {
        self.theme
    }

    pub(super) fn pixels_per_point(&self) -> f32 {
        self.painter.ctx().pixels_per_point()
    }

    pub(super) fn draw(&self, marks: &[Mark]) {
        self.painter.extend(self.shapes(marks));
    }

    /// The marks with everything but letters as one mesh, which costs nothing to draw again.
    /// Letters are kept as marks and shaped anew in every frame: their places in the font's
    /// texture move whenever it is filled or made again.
    pub(super) fn baked(&self, marks: Vec<Mark>) -> Baked {
        let (letters, lines): (Vec<Mark>, Vec<Mark>) = marks
            .into_iter()
            .partition(|mark| matches!(mark, Mark::Text { .. }));
        let ctx = self.painter.ctx();
        let options = ctx.tessellation_options(|options| *options);
        // No discs of the font's texture, whose place may move too.
        let mut tessellator = Tessellator::new(ctx.pixels_per_point(), options, [1, 1], Vec::new());
        let mut mesh = Mesh::default();
        for shape in self.shapes(&lines) {
            tessellator.tessellate_shape(shape, &mut mesh);
        }
        Baked {
            lines: Shape::mesh(mesh),
            letters: letters.into(),
        }
    }

    /// Draws what was baked, in this brush's place.
    pub(super) fn draw_baked(&self, baked: &Baked) {
        self.painter.add(baked.lines.clone());
        self.draw(&baked.letters);
    }

    fn shapes(&self, marks: &[Mark]) -> Vec<Shape> {
        let mut shapes = Vec::with_capacity(marks.len());
        for mark in marks {
            self.shape(mark, &mut shapes);
        }
        shapes
    }

    fn at(&self, [x, y]: Point) -> Pos2 {
        self.origin + Vec2::new(x as f32, y as f32) * self.scale
    }

    fn stroke(&self, stroke: &scene::Stroke) -> Stroke {
        let width = stroke.width as f32 * self.scale * self.line_factor;
        Stroke::new(width, self.ink(stroke.ink))
    }

    fn ink(&self, ink: scene::Ink) -> Color32 {
        color(self.palette.ink(ink))
    }

    fn shape(&self, mark: &Mark, shapes: &mut Vec<Shape>) {
        match mark {
            Mark::Line { points, stroke } => self.line(points, stroke, shapes),
            Mark::Area { points, fill } => {
                let points = points.iter().map(|p| self.at(*p)).collect();
                shapes.push(Shape::convex_polygon(points, self.ink(*fill), Stroke::NONE));
            }
            Mark::Fill { pieces, fill } => shapes.push(Shape::mesh(self.fill(pieces, *fill))),
            Mark::Lines { ends, stroke } => {
                let stroke = self.stroke(stroke);
                let lines = ends
                    .iter()
                    .map(|ends| Shape::line_segment(ends.map(|end| self.at(end)), stroke));
                shapes.extend(lines);
            }
            Mark::Circle {
                center,
                radius,
                fill,
                stroke,
            } => shapes.push(Shape::Circle(CircleShape {
                center: self.at(*center),
                radius: *radius as f32 * self.scale,
                fill: fill.map_or(Color32::TRANSPARENT, |ink| self.ink(ink)),
                stroke: stroke.as_ref().map_or(Stroke::NONE, |s| self.stroke(s)),
            })),
            Mark::Dots {
                centers,
                radius,
                ink,
                edge,
            } => {
                let fill = self.ink(*ink);
                let radius = *radius as f32 * self.scale;
                let places = centers.iter().map(|center| self.at(*center));
                match edge {
                    // The font atlas holds small discs: each is two triangles.
                    None => shapes
                        .extend(places.map(|center| Shape::circle_filled(center, radius, fill))),
                    Some(width) => {
                        let width = *width as f32 * self.scale * self.line_factor;
                        let pixel = 1.0 / self.painter.ctx().pixels_per_point();
                        let ring = Ring::new(radius, Stroke::new(width, fill), pixel);
                        shapes.push(Shape::mesh(ring.at_all(places)));
                    }
                }
            }
            Mark::Text {
                at,
                text,
                size,
                anchor,
                ink,
            } => {
                let align = match anchor {
                    Anchor::Start => Align2::LEFT_CENTER,
                    Anchor::Middle => Align2::CENTER_CENTER,
                    Anchor::End => Align2::RIGHT_CENTER,
                };
                let (at, color) = (self.at(*at), self.ink(*ink));
                let font = FontId::proportional(*size as f32 * self.scale);
                let shape = self
                    .painter
                    .fonts_mut(|fonts| Shape::text(fonts, at, align, text, font, color));
                shapes.push(shape);
            }
        }
    }

    /// Pieces side by side: their edges are not softened, which would leave seams.
    fn fill(&self, pieces: &[Vec<Point>], fill: scene::Ink) -> Mesh {
        let ink = self.ink(fill);
        let mut mesh = Mesh::default();
        for piece in pieces {
            let first = mesh.vertices.len() as u32;
            for corner in piece {
                mesh.colored_vertex(self.at(*corner), ink);
            }
            for k in 2..piece.len() as u32 {
                mesh.add_triangle(first, first + k - 1, first + k);
            }
        }
        mesh
    }

    fn line(&self, points: &[Point], stroke: &scene::Stroke, shapes: &mut Vec<Shape>) {
        let points: Vec<Pos2> = points.iter().map(|p| self.at(*p)).collect();
        let pattern = stroke.dash.pattern();
        let stroke = self.stroke(stroke);
        if pattern.is_empty() {
            shapes.push(Shape::line(points, stroke));
            return;
        }
        // The pattern is dash, gap, dash, gap, in widths of the line.
        let lengths = |first: usize| -> Vec<f32> {
            let every_other = pattern.iter().skip(first).step_by(2);
            every_other
                .map(|length| *length as f32 * stroke.width)
                .collect()
        };
        let (dashes, gaps) = (lengths(0), lengths(1));
        Shape::dashed_line_many_with_offset(&points, stroke, &dashes, &gaps, 0.0, shapes);
    }
}
