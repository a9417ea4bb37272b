//! The thin back end: scenes onto egui's painter.

use std::sync::Arc;

use egui::epaint::{Mesh, Tessellator, Vertex, WHITE_UV};
use egui::{Align2, Color32, FontId, Painter, Pos2, Shape, Stroke, Vec2, pos2};
use jigwise_bench::NamedInstrument;
use jigwise_bench::scene::{self, Anchor, ChartFrame, Mark, Palette, Point, ReachFrame, Rgb};

use crate::{Desk, Theme};

pub(crate) fn color(Rgb([r, g, b]): Rgb) -> Color32 {
    Color32::from_rgb(r, g, b)
}

/// What changes seldom, as last drawn: lines baked into one mesh, kept until something it
/// depends on has changed.
#[derive(Default)]
pub(crate) struct Drawn {
    chart: Option<(ChartKey, Arc<[Shape]>)>,
    reach: Option<(ReachKey, Backdrop)>,
}

/// A plot without what moves on it, ready to be drawn.
#[derive(Clone)]
pub(crate) struct Backdrop {
    pub shapes: Arc<[Shape]>,
    /// Title and description, for screen readers.
    pub words: Arc<[String; 2]>,
}

/// Where and how something is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Place {
    origin: Pos2,
    theme: Theme,
    pixels_per_point: f32,
}

impl Place {
    fn of(painter: &Painter, origin: Pos2, theme: Theme) -> Self {
        Self {
            origin,
            theme,
            pixels_per_point: painter.ctx().pixels_per_point(),
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct ChartKey {
    frame: ChartFrame,
    place: Place,
}

#[derive(Debug, Clone, PartialEq)]
struct ReachKey {
    frame: ReachFrame,
    place: Place,
    phase_rad: f64,
    instrument: NamedInstrument,
    connections: u32,
}

impl Drawn {
    /// The chart's grid at `origin`, made again only when something it depends on has changed.
    pub(crate) fn chart_grid(
        &mut self,
        painter: &Painter,
        frame: ChartFrame,
        origin: Pos2,
        theme: Theme,
    ) -> Arc<[Shape]> {
        let key = ChartKey {
            frame,
            place: Place::of(painter, origin, theme),
        };
        match &self.chart {
            Some((kept, shapes)) if *kept == key => Arc::clone(shapes),
            _ => {
                let shapes = Brush::new(painter, origin, theme).baked(&frame.grid());
                self.chart = Some((key, Arc::clone(&shapes)));
                shapes
            }
        }
    }
}

impl Desk {
    /// The reach plot without the device. `None` without an instrument.
    pub(crate) fn reach_backdrop(
        &mut self,
        painter: &Painter,
        frame: ReachFrame,
        origin: Pos2,
    ) -> Option<Backdrop> {
        let key = ReachKey {
            frame,
            place: Place::of(painter, origin, self.theme),
            phase_rad: ReachFrame::phase_of(self.bench()),
            instrument: self.instrument(),
            connections: self.scenario().connections,
        };
        if let Some((_, backdrop)) = self.drawn.reach.as_ref().filter(|(kept, _)| *kept == key) {
            return Some(backdrop.clone());
        }
        let scene = frame.backdrop(self.bench())?;
        let backdrop = Backdrop {
            shapes: Brush::new(painter, origin, self.theme).baked(&scene.marks),
            words: Arc::new([scene.title, scene.description]),
        };
        self.drawn.reach = Some((key, backdrop.clone()));
        Some(backdrop)
    }
}

/// Draws marks of one theme with their origin at a point of the window.
pub(crate) struct Brush<'a> {
    painter: &'a Painter,
    origin: Pos2,
    scale: f32,
    line_factor: f32,
    palette: &'static Palette,
}

impl<'a> Brush<'a> {
    pub(crate) fn new(painter: &'a Painter, origin: Pos2, theme: Theme) -> Self {
        Self {
            painter,
            origin,
            scale: 1.0,
            line_factor: theme.line_factor(),
            palette: theme.palette(),
        }
    }

    pub(crate) fn scaled(self, scale: f32) -> Self {
        Self { scale, ..self }
    }

    pub(crate) fn draw(&self, marks: &[Mark]) {
        self.painter.extend(self.shapes(marks));
    }

    /// The marks with everything but letters as one mesh, which costs nothing to draw again.
    /// Letters lie above it and stay shapes: their places in the font's texture may move.
    fn baked(&self, marks: &[Mark]) -> Arc<[Shape]> {
        let (letters, lines): (Vec<Shape>, Vec<Shape>) = self
            .shapes(marks)
            .into_iter()
            .partition(|shape| matches!(shape, Shape::Text(_)));
        let ctx = self.painter.ctx();
        let options = ctx.tessellation_options(|options| *options);
        // No discs of the font's texture, whose place may move too.
        let mut tessellator = Tessellator::new(ctx.pixels_per_point(), options, [1, 1], Vec::new());
        let mut mesh = Mesh::default();
        for shape in lines {
            tessellator.tessellate_shape(shape, &mut mesh);
        }
        [Shape::mesh(mesh)].into_iter().chain(letters).collect()
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
        Stroke::new(width, color(self.palette.ink(stroke.ink)))
    }

    fn shape(&self, mark: &Mark, shapes: &mut Vec<Shape>) {
        match mark {
            Mark::Line { points, stroke } => {
                let points: Vec<Pos2> = points.iter().map(|p| self.at(*p)).collect();
                let pattern = stroke.dash.pattern();
                let stroke = self.stroke(stroke);
                if pattern.is_empty() {
                    shapes.push(Shape::line(points, stroke));
                } else {
                    let lengths = |parity: usize| -> Vec<f32> {
                        pattern
                            .iter()
                            .skip(parity)
                            .step_by(2)
                            .map(|length| *length as f32 * stroke.width)
                            .collect()
                    };
                    Shape::dashed_line_many_with_offset(
                        &points,
                        stroke,
                        &lengths(0),
                        &lengths(1),
                        0.0,
                        shapes,
                    );
                }
            }
            Mark::Area { points, fill } => {
                let points = points.iter().map(|p| self.at(*p)).collect();
                let fill = color(self.palette.ink(*fill));
                shapes.push(Shape::convex_polygon(points, fill, Stroke::NONE));
            }
            Mark::Circle {
                center,
                radius,
                fill,
                stroke,
            } => {
                let fill = fill.map_or(Color32::TRANSPARENT, |ink| color(self.palette.ink(ink)));
                let stroke = stroke.as_ref().map_or(Stroke::NONE, |s| self.stroke(s));
                shapes.push(Shape::Circle(egui::epaint::CircleShape {
                    center: self.at(*center),
                    radius: *radius as f32 * self.scale,
                    fill,
                    stroke,
                }));
            }
            Mark::Dots {
                centers,
                radius,
                ink,
                edge,
            } => {
                let fill = color(self.palette.ink(*ink));
                let radius = *radius as f32 * self.scale;
                let places = centers.iter().map(|center| self.at(*center));
                match edge {
                    // The font atlas holds small discs: each is two triangles.
                    None => shapes
                        .extend(places.map(|center| Shape::circle_filled(center, radius, fill))),
                    Some(width) => {
                        let stroke =
                            Stroke::new(*width as f32 * self.scale * self.line_factor, fill);
                        let pixel = 1.0 / self.painter.ctx().pixels_per_point();
                        let rings = Ring::new(radius, stroke, pixel).at_all(places);
                        shapes.push(Shape::mesh(rings));
                    }
                }
            }
            Mark::Text {
                at: [x, y],
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
                let at = pos2(
                    self.origin.x + *x as f32 * self.scale,
                    self.origin.y + *y as f32 * self.scale,
                );
                let font = FontId::proportional(*size as f32 * self.scale);
                let color = color(self.palette.ink(*ink));
                let shape = self
                    .painter
                    .fonts_mut(|fonts| Shape::text(fonts, at, align, text, font, color));
                shapes.push(shape);
            }
        }
    }
}

/// A small ring as triangles, fading out over a pixel on both sides. One ring is made and copied
/// to every place, instead of 600 circles tessellated from scratch in every frame.
struct Ring {
    /// (offset from the centre, colour), [`Ring::CORNERS`] at a time from the inside out.
    vertices: Vec<(Vec2, Color32)>,
}

impl Ring {
    const CORNERS: usize = 10;
    const LAYERS: usize = 3;

    /// A line thinner than a pixel is drawn a pixel wide and paler, as egui does.
    fn new(radius: f32, stroke: Stroke, pixel: f32) -> Self {
        let width = stroke.width.max(pixel);
        let ink = stroke.color.gamma_multiply((stroke.width / pixel).min(1.0));
        let layers = [
            (radius - width, Color32::TRANSPARENT),
            (radius, ink),
            (radius + width, Color32::TRANSPARENT),
        ];
        let vertices = layers
            .iter()
            .flat_map(|(radius, color)| {
                (0..Self::CORNERS).map(|corner| {
                    let angle = std::f32::consts::TAU * corner as f32 / Self::CORNERS as f32;
                    (Vec2::angled(angle) * radius.max(0.0), *color)
                })
            })
            .collect();
        Self { vertices }
    }

    fn at_all(&self, places: impl Iterator<Item = Pos2>) -> Mesh {
        let mut mesh = Mesh::default();
        let corner =
            |layer: usize, corner: usize| (layer * Self::CORNERS + corner % Self::CORNERS) as u32;
        for place in places {
            let first = mesh.vertices.len() as u32;
            mesh.vertices
                .extend(self.vertices.iter().map(|(offset, color)| Vertex {
                    pos: place + *offset,
                    uv: WHITE_UV,
                    color: *color,
                }));
            for layer in 0..Self::LAYERS - 1 {
                for k in 0..Self::CORNERS {
                    let [a, b] = [corner(layer, k), corner(layer, k + 1)];
                    let [c, d] = [corner(layer + 1, k), corner(layer + 1, k + 1)];
                    mesh.indices.extend([a, b, c, b, d, c].map(|at| first + at));
                }
            }
        }
        mesh
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rings_are_whole_and_lie_where_they_should() {
        let stroke = Stroke::new(0.8, Color32::RED);
        let places = [pos2(10.0, 20.0), pos2(-3.0, 5.0)];
        let mesh = Ring::new(1.8, stroke, 1.0).at_all(places.into_iter());
        assert!(mesh.is_valid());
        assert_eq!(mesh.vertices.len(), 2 * 3 * Ring::CORNERS);
        for (vertices, place) in mesh.vertices.chunks(3 * Ring::CORNERS).zip(places) {
            for vertex in vertices {
                let distance = vertex.pos.distance(place);
                let on_the_line = vertex.color.a() > 0;
                assert_eq!(on_the_line, (distance - 1.8).abs() < 1e-5, "{distance}");
            }
        }
    }
}
