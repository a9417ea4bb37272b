//! The borders between the regions of a plane as curves.
//!
//! The plane is cut into small triangles. Where the corners of one lie in different regions, the
//! border is found on its sides by halving, to a small part of a pixel.

use std::collections::HashMap;

use super::Point;

/// How well the place of a border is known, pixels.
const SHARP: f64 = 0.03;

/// Regions of a plane.
pub(super) struct Traced<L> {
    /// Convex pieces of each region.
    pub pieces: Vec<(L, Vec<Vec<Point>>)>,
    /// The curves between two regions.
    pub borders: Vec<Vec<Point>>,
    /// The roomiest place of each region and how far its border is, about.
    pub seats: Vec<(L, Point, f64)>,
    /// Which region a point lies in.
    pub regions: Grid<L>,
}

pub(super) struct Grid<L> {
    area: [f64; 4],
    columns: usize,
    rows: usize,
    corners: Vec<Option<L>>,
}

impl<L: Copy + PartialEq> Grid<L> {
    fn corner(&self, i: usize, j: usize) -> Point {
        let [left, top, right, bottom] = self.area;
        [
            left + (right - left) * i as f64 / self.columns as f64,
            top + (bottom - top) * j as f64 / self.rows as f64,
        ]
    }

    /// The region at a point; only near a border it is asked of `label`.
    pub(super) fn at(&self, point: Point, label: impl Fn(Point) -> Option<L>) -> Option<L> {
        let (i, j) = self.cell_of(point)?;
        self.whole(i, j).or_else(|| label(point))
    }

    fn of_corner(&self, i: usize, j: usize) -> Option<L> {
        self.corners[j * (self.columns + 1) + i]
    }

    /// The region of a whole cell; `None` where it has several or lies outside.
    fn whole(&self, i: usize, j: usize) -> Option<L> {
        let first = self.of_corner(i, j)?;
        [(i + 1, j), (i, j + 1), (i + 1, j + 1)]
            .into_iter()
            .all(|(i, j)| self.of_corner(i, j) == Some(first))
            .then_some(first)
    }

    fn cell_of(&self, [x, y]: Point) -> Option<(usize, usize)> {
        let [left, top, right, bottom] = self.area;
        let i = (x - left) / (right - left) * self.columns as f64;
        let j = (y - top) / (bottom - top) * self.rows as f64;
        let is_inside =
            (0.0..self.columns as f64).contains(&i) && (0.0..self.rows as f64).contains(&j);
        is_inside.then_some((i as usize, j as usize))
    }
}

impl<L: Copy + PartialEq> Traced<L> {
    /// Traces the regions of `label` in a rectangle, with cells of about `cell` pixels. What is
    /// smaller than a cell may be missed.
    pub(super) fn new(area: [f64; 4], cell: f64, label: impl Fn(Point) -> Option<L>) -> Self {
        let [left, top, right, bottom] = area;
        let count = |length: f64| ((length / cell).ceil() as usize).clamp(1, 1_000);
        let mut grid = Grid {
            area,
            columns: count(right - left),
            rows: count(bottom - top),
            corners: Vec::new(),
        };
        grid.corners = (0..=grid.rows)
            .flat_map(|j| (0..=grid.columns).map(move |i| (i, j)))
            .map(|(i, j)| label(grid.corner(i, j)))
            .collect();
        let mut traced = Self {
            pieces: Vec::new(),
            borders: Vec::new(),
            seats: Vec::new(),
            regions: grid,
        };
        let mut segments = Vec::new();
        for j in 0..traced.regions.rows {
            traced.row(j, &label, &mut segments);
        }
        traced.borders = chained(&segments);
        traced.seats = traced
            .roomiest()
            .into_iter()
            .map(|(region, seat, room)| traced.centered(region, seat, room, &label))
            .collect();
        traced
    }

    /// The seat in a narrow region, moved to the middle between the borders about it.
    fn centered(
        &self,
        region: L,
        mut seat: Point,
        room: f64,
        label: &impl Fn(Point) -> Option<L>,
    ) -> (L, Point, f64) {
        const WIDE: f64 = 24.0;
        if room > WIDE {
            return (region, seat, room);
        }
        let mut least = f64::INFINITY;
        for axis in [0, 1] {
            let reach = |way: f64| {
                let mut far = 0.0;
                let mut at = seat;
                while far < 2.0 * WIDE && self.regions.at(at, label) == Some(region) {
                    far += 1.0;
                    at[axis] += way;
                }
                far
            };
            let (back, forth) = (reach(-1.0), reach(1.0));
            seat[axis] += 0.5 * (forth - back);
            least = least.min(0.5 * (back + forth));
        }
        (region, seat, least)
    }

    fn put(&mut self, label: L, piece: Vec<Point>) {
        match self.pieces.iter_mut().find(|(known, _)| *known == label) {
            Some((_, pieces)) => pieces.push(piece),
            None => self.pieces.push((label, vec![piece])),
        }
    }

    fn row(
        &mut self,
        j: usize,
        label: &impl Fn(Point) -> Option<L>,
        segments: &mut Vec<[Point; 2]>,
    ) {
        let columns = self.regions.columns;
        let mut i = 0;
        while i < columns {
            let whole = self.regions.whole(i, j);
            let begin = i;
            i += 1;
            let Some(region) = whole else {
                let [a, b, c, d] = [(begin, j), (i, j), (i, j + 1), (begin, j + 1)];
                self.triangle([a, b, c], label, segments);
                self.triangle([a, c, d], label, segments);
                continue;
            };
            while i < columns && self.regions.whole(i, j) == Some(region) {
                i += 1;
            }
            let corners = [(begin, j), (i, j), (i, j + 1), (begin, j + 1)];
            let piece = corners.map(|(i, j)| self.regions.corner(i, j));
            self.put(region, piece.to_vec());
        }
    }

    fn triangle(
        &mut self,
        corners: [(usize, usize); 3],
        label: &impl Fn(Point) -> Option<L>,
        segments: &mut Vec<[Point; 2]>,
    ) {
        let places = corners.map(|(i, j)| self.regions.corner(i, j));
        let labels = corners.map(|(i, j)| self.regions.of_corner(i, j));
        let [a, b, c] = labels;
        if a == b && b == c {
            if let Some(region) = a {
                self.put(region, places.to_vec());
            }
            return;
        }
        // The border on a side, the same point from both triangles that share it.
        let cut = |from: usize, to: usize| {
            let (from, to) = if corners[from] < corners[to] {
                (from, to)
            } else {
                (to, from)
            };
            border(places[from], places[to], labels[from], label)
        };
        if a != b && b != c && a != c {
            let cuts = [cut(0, 1), cut(1, 2), cut(2, 0)];
            let center = [0, 1].map(|k| cuts.iter().map(|cut| cut[k]).sum::<f64>() / 3.0);
            for k in 0..3 {
                if let Some(region) = labels[k] {
                    let piece = vec![places[k], cuts[k], center, cuts[(k + 2) % 3]];
                    self.put(region, piece);
                }
                if labels[k].is_some() && labels[(k + 1) % 3].is_some() {
                    segments.push([cuts[k], center]);
                }
            }
            return;
        }
        // One corner alone, in the order of the triangle.
        let alone = if b == c {
            0
        } else if a == c {
            1
        } else {
            2
        };
        let (next, last) = ((alone + 1) % 3, (alone + 2) % 3);
        let (first, second) = (cut(alone, next), cut(last, alone));
        if let Some(region) = labels[alone] {
            self.put(region, vec![places[alone], first, second]);
        }
        if let Some(region) = labels[next] {
            self.put(region, vec![first, places[next], places[last], second]);
        }
        if labels[alone].is_some() && labels[next].is_some() {
            segments.push([first, second]);
        }
    }

    /// Distances to the nearest border in cells, by one sweep forth and one back.
    fn roomiest(&self) -> Vec<(L, Point, f64)> {
        let (columns, rows) = (self.regions.columns, self.regions.rows);
        let mut away = vec![0_u32; columns * rows];
        let same = |i: usize, j: usize, k: usize, l: usize| {
            self.regions.whole(i, j).is_some()
                && self.regions.whole(i, j) == self.regions.whole(k, l)
        };
        for (j, i) in (1..rows.saturating_sub(1))
            .flat_map(|j| (1..columns.saturating_sub(1)).map(move |i| (j, i)))
        {
            let around = [(i - 1, j), (i - 1, j - 1), (i, j - 1), (i + 1, j - 1)];
            let least = around.iter().map(|&(k, l)| {
                if same(i, j, k, l) {
                    away[l * columns + k] + 1
                } else {
                    0
                }
            });
            away[j * columns + i] = least.min().unwrap_or(0);
        }
        for (j, i) in (1..rows.saturating_sub(1))
            .rev()
            .flat_map(|j| (1..columns.saturating_sub(1)).rev().map(move |i| (j, i)))
        {
            let around = [(i + 1, j), (i + 1, j + 1), (i, j + 1), (i - 1, j + 1)];
            let least = around.iter().map(|&(k, l)| {
                if same(i, j, k, l) {
                    away[l * columns + k] + 1
                } else {
                    0
                }
            });
            away[j * columns + i] = away[j * columns + i].min(least.min().unwrap_or(0));
        }
        let cell = (self.regions.area[2] - self.regions.area[0]) / columns as f64;
        let mut seats: Vec<(L, Point, f64)> = Vec::new();
        for (index, steps) in away.into_iter().enumerate() {
            let (i, j) = (index % columns, index / columns);
            let Some(region) = self.regions.whole(i, j) else {
                continue;
            };
            let [x, y] = self.regions.corner(i, j);
            let seat = (
                region,
                [x + 0.5 * cell, y + 0.5 * cell],
                f64::from(steps) * cell,
            );
            match seats.iter_mut().find(|(known, ..)| *known == region) {
                Some(best) if best.2 < seat.2 => *best = seat,
                Some(_) => {}
                None => seats.push(seat),
            }
        }
        seats
    }
}

/// Where the region `begin` ends between two points.
fn border<L: PartialEq>(
    mut from: Point,
    mut to: Point,
    begin: Option<L>,
    label: &impl Fn(Point) -> Option<L>,
) -> Point {
    let middle = |from: Point, to: Point| [0, 1].map(|k| f64::midpoint(from[k], to[k]));
    while (to[0] - from[0]).abs().max((to[1] - from[1]).abs()) > SHARP {
        let half = middle(from, to);
        if label(half) == begin {
            from = half;
        } else {
            to = half;
        }
    }
    middle(from, to)
}

/// Segments that share an end joined to lines.
fn chained(segments: &[[Point; 2]]) -> Vec<Vec<Point>> {
    let key = |point: Point| point.map(f64::to_bits);
    let mut meeting: HashMap<[u64; 2], Vec<usize>> = HashMap::new();
    for (number, ends) in segments.iter().enumerate() {
        for end in ends {
            meeting.entry(key(*end)).or_default().push(number);
        }
    }
    let mut used = vec![false; segments.len()];
    let grow = |mut end: Point, used: &mut Vec<bool>| {
        let mut points = vec![end];
        while let Some(number) = meeting
            .get(&key(end))
            .and_then(|numbers| numbers.iter().copied().find(|number| !used[*number]))
        {
            used[number] = true;
            let [a, b] = segments[number];
            end = if key(a) == key(end) { b } else { a };
            points.push(end);
        }
        points
    };
    let mut lines = Vec::new();
    for number in 0..segments.len() {
        if used[number] {
            continue;
        }
        used[number] = true;
        let [from, to] = segments[number];
        let mut points = grow(from, &mut used);
        points.reverse();
        points.extend(grow(to, &mut used));
        lines.push(points);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area_of(pieces: &[Vec<Point>]) -> f64 {
        let twice = |piece: &Vec<Point>| {
            (0..piece.len())
                .map(|k| {
                    let ([ax, ay], [bx, by]) = (piece[k], piece[(k + 1) % piece.len()]);
                    ax * by - bx * ay
                })
                .sum::<f64>()
        };
        pieces.iter().map(|piece| 0.5 * twice(piece).abs()).sum()
    }

    #[test]
    fn a_disc_in_a_disc_is_traced_to_a_part_of_a_pixel() {
        let label = |[x, y]: Point| match (x - 50.0).hypot(y - 50.0) {
            r if r < 20.0 => Some('a'),
            r if r < 40.0 => Some('b'),
            _ => None,
        };
        let traced = Traced::new([0.0, 0.0, 100.0, 100.0], 4.0, label);
        assert_eq!(traced.borders.len(), 1);
        for [x, y] in &traced.borders[0] {
            assert!(((x - 50.0).hypot(y - 50.0) - 20.0).abs() < 0.12);
        }
        let pi = std::f64::consts::PI;
        for (region, expected) in [('a', 400.0 * pi), ('b', 1_200.0 * pi)] {
            let (_, pieces) = traced
                .pieces
                .iter()
                .find(|(known, _)| *known == region)
                .unwrap();
            assert!((area_of(pieces) / expected - 1.0).abs() < 0.01);
        }
        let seat = traced.seats.iter().find(|seat| seat.0 == 'a').unwrap();
        assert!((seat.1[0] - 50.0).hypot(seat.1[1] - 50.0) < 6.0, "{seat:?}");
        assert_eq!(traced.regions.at([50.0, 31.0], label), Some('a'));
        assert_eq!(traced.regions.at([50.0, 28.0], label), Some('b'));
        assert_eq!(traced.regions.at([1.0, 1.0], label), None);
    }

    #[test]
    fn three_regions_meet() {
        let label = |[x, y]: Point| {
            Some(if y > 50.0 {
                0
            } else if x > 47.0 {
                1
            } else {
                2
            })
        };
        let traced = Traced::new([0.0, 0.0, 100.0, 100.0], 7.0, label);
        let whole: f64 = traced
            .pieces
            .iter()
            .map(|(_, pieces)| area_of(pieces))
            .sum();
        assert!((whole - 10_000.0).abs() < 1e-6, "{whole}");
        assert_eq!(traced.seats.len(), 3);
    }
}
