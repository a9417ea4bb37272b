//! Many small rings of one size as one mesh.

use egui::epaint::{Mesh, Vertex, WHITE_UV};
use egui::{Color32, Pos2, Stroke, Vec2};

/// A small ring as triangles, fading out over a pixel on both sides. One ring is made and copied
/// to every place, instead of 600 circles tessellated from scratch in every frame.
pub(super) struct Ring {
    /// (offset from the centre, colour), [`Ring::CORNERS`] at a time from the inside out.
    vertices: Vec<(Vec2, Color32)>,
}

impl Ring {
    const CORNERS: usize = 10;
    const LAYERS: usize = 3;

    /// A line thinner than a pixel is drawn a pixel wide and paler, as egui does.
    pub(super) fn new(radius: f32, stroke: Stroke, pixel: f32) -> Self {
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

    pub(super) fn at_all(&self, places: impl Iterator<Item = Pos2>) -> Mesh {
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
    use egui::pos2;

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
