//! Best-fixture and uncertainty maps into a caller's buffer.
//!
//! Along a row of the chart (Γ = g + j·h, h fixed) and along a ray of the ohm plane (phase
//! fixed) the form behind e² is a polynomial of fourth degree in one variable, so a pixel costs
//! one Horner scheme per fixture and nothing else. All three forms have the same divisor, which
//! the comparison does not need.

use crate::uncertainty::polynomial::value_at;
use crate::{Complex64, Fixture, Merits};

/// A rectangle of the chart, Γ = 1 at the right and +j at the top.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartArea {
    /// Γ at the middle.
    pub center: Complex64,
    /// Half the side of the area, 1 for the whole chart.
    pub half_side: f64,
    /// Pixels of one side.
    pub pixels: usize,
}

impl ChartArea {
    /// The whole chart.
    pub const fn whole(pixels: usize) -> Self {
        Self {
            center: Complex64::ZERO,
            half_side: 1.0,
            pixels,
        }
    }

    /// Γ at the middle of a pixel; row 0 is the top.
    pub fn reflection(&self, column: usize, row: usize) -> Complex64 {
        Complex64::new(
            self.center.re + self.offset(column),
            self.center.im - self.offset(row),
        )
    }

    fn offset(&self, index: usize) -> f64 {
        self.half_side * ((2 * index + 1) as f64 / self.pixels as f64 - 1.0)
    }
}

/// A rectangle of the ohm plane, |Z| rising to the right on a logarithmic scale, phase rising
/// to the top.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OhmArea {
    /// |Z| at the left edge, Ω, above zero.
    pub from_ohm: f64,
    /// |Z| at the right edge, Ω.
    pub to_ohm: f64,
    /// Phase at the bottom edge, radians.
    pub from_rad: f64,
    /// Phase at the top edge, radians.
    pub to_rad: f64,
    /// Pixels across.
    pub columns: usize,
    /// Pixels down.
    pub rows: usize,
}

impl OhmArea {
    /// |Z| in ohms at the middle of a column.
    pub fn ohm(&self, column: usize) -> f64 {
        let part = (column as f64 + 0.5) / self.columns as f64;
        (self.from_ohm.ln() * (1.0 - part) + self.to_ohm.ln() * part).exp()
    }

    /// Phase at the middle of a row; row 0 is the top.
    pub fn angle_rad(&self, row: usize) -> f64 {
        let part = (row as f64 + 0.5) / self.rows as f64;
        self.to_rad + (self.from_rad - self.to_rad) * part
    }
}

/// The buffer does not fit the area.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BufferSizeError {
    /// Pixels of the area.
    pub expected: usize,
    /// Length of the buffer.
    pub length: usize,
}

impl std::fmt::Display for BufferSizeError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "buffer of {} for a map of {} pixels: give one element per pixel",
            self.length, self.expected
        )
    }
}

impl std::error::Error for BufferSizeError {}

fn fits<T>(buffer: &[T], columns: usize, rows: usize) -> Result<(), BufferSizeError> {
    let expected = columns.saturating_mul(rows);
    if buffer.len() == expected {
        return Ok(());
    }
    Err(BufferSizeError {
        expected,
        length: buffer.len(),
    })
}

/// Pixels worked on at once: enough to fill any vector register, small enough for the stack.
const LANES: usize = 16;
/// Columns of the ohm plane whose |Z| are kept at hand.
const STRIP: usize = 256;

impl Merits {
    /// Fills `best`, row by row from the top left, with the fixture of least e; `None` outside
    /// |Γ| < 1. Nothing is allocated.
    ///
    /// # Errors
    /// [`BufferSizeError`] unless the buffer has one element per pixel.
    ///
    /// ```
    /// use jigwise_physics::*;
    /// let budget = Budget::new(&Instrument::HANDHELD, ReferenceImpedance::FIFTY_OHM, 0).unwrap();
    /// let area = ChartArea::whole(64);
    /// let mut best = vec![None; 64 * 64];
    /// Merits::of(&budget).best_on_chart(&area, &mut best)?;
    /// assert_eq!(best[0], None);
    /// assert_eq!(best[32 * 64 + 1], Some(Fixture::ShuntThrough));
    /// assert_eq!(best[32 * 64 + 32], Some(Fixture::Reflect));
    /// assert_eq!(best[32 * 64 + 62], Some(Fixture::SeriesThrough));
    /// # Ok::<(), BufferSizeError>(())
    /// ```
    pub fn best_on_chart(
        &self,
        area: &ChartArea,
        best: &mut [Option<Fixture>],
    ) -> Result<(), BufferSizeError> {
        fits(best, area.pixels, area.pixels)?;
        for (row, line) in best.chunks_exact_mut(area.pixels.max(1)).enumerate() {
            let h = area.reflection(0, row).im;
            let (from, to) = inside(area, h);
            line[..from].fill(None);
            line[to..].fill(None);
            let rows = self.forms.map(|form| form.along_chart_row(h));
            fill_best(&rows, &mut line[from..to], |k| {
                area.reflection(from + k, row).re
            });
        }
        Ok(())
    }

    /// Fills `relative` with e of one fixture; NaN outside |Γ| < 1.
    ///
    /// # Errors
    /// [`BufferSizeError`] unless the buffer has one element per pixel.
    pub fn merit_on_chart(
        &self,
        fixture: Fixture,
        area: &ChartArea,
        relative: &mut [f32],
    ) -> Result<(), BufferSizeError> {
        fits(relative, area.pixels, area.pixels)?;
        for (row, line) in relative.chunks_exact_mut(area.pixels.max(1)).enumerate() {
            let h = area.reflection(0, row).im;
            let (from, to) = inside(area, h);
            line[..from].fill(f32::NAN);
            line[to..].fill(f32::NAN);
            let form = self.forms[fixture as usize].along_chart_row(h);
            for (k, pixel) in line[from..to].iter_mut().enumerate() {
                let g = area.reflection(from + k, row).re;
                // V·I = |1 + Γ|²·|1 − Γ|².
                let size = ((1.0 + g) * (1.0 + g) + h * h) * ((1.0 - g) * (1.0 - g) + h * h);
                *pixel = (value_at(&form, g).max(0.0) / size).sqrt() as f32;
            }
        }
        Ok(())
    }

    /// Fills `best`, row by row from the top left, with the fixture of least e.
    ///
    /// # Errors
    /// [`BufferSizeError`] unless the buffer has one element per pixel.
    pub fn best_on_ohm_plane(
        &self,
        area: &OhmArea,
        best: &mut [Option<Fixture>],
    ) -> Result<(), BufferSizeError> {
        fits(best, area.columns, area.rows)?;
        let z0 = self.z0.ohm();
        // By strips, so that the powers of ten of a column are computed once for all rows.
        for from in (0..area.columns).step_by(STRIP) {
            let to = (from + STRIP).min(area.columns);
            let size: [f64; STRIP] = std::array::from_fn(|k| area.ohm(from + k) / z0);
            for row in 0..area.rows {
                let angle_rad = area.angle_rad(row);
                let rays = self.forms.map(|form| form.along_ray(angle_rad));
                let line = &mut best[row * area.columns..][from..to];
                fill_best(&rays, line, |k| size[k.min(STRIP - 1)]);
            }
        }
        Ok(())
    }

    /// Fills `relative` with e of one fixture.
    ///
    /// # Errors
    /// [`BufferSizeError`] unless the buffer has one element per pixel.
    pub fn merit_on_ohm_plane(
        &self,
        fixture: Fixture,
        area: &OhmArea,
        relative: &mut [f32],
    ) -> Result<(), BufferSizeError> {
        fits(relative, area.columns, area.rows)?;
        let z0 = self.z0.ohm();
        for from in (0..area.columns).step_by(STRIP) {
            let to = (from + STRIP).min(area.columns);
            let size: [f64; STRIP] = std::array::from_fn(|k| area.ohm(from + k) / z0);
            for row in 0..area.rows {
                let ray = self.forms[fixture as usize].along_ray(area.angle_rad(row));
                let line = &mut relative[row * area.columns..][from..to];
                for (pixel, r) in line.iter_mut().zip(size) {
                    *pixel = (value_at(&ray, r).max(0.0).sqrt() / r) as f32;
                }
            }
        }
        Ok(())
    }
}

/// Columns whose pixel middles lie inside |Γ| < 1, as from..to.
fn inside(area: &ChartArea, h: f64) -> (usize, usize) {
    let half_chord = (1.0 - h * h).max(0.0).sqrt();
    let scale = 0.5 * area.pixels as f64 / area.half_side;
    let column = |g: f64| (g - area.center.re) * scale + 0.5 * area.pixels as f64 - 0.5;
    let is_inside = |k: usize| area.reflection(k, 0).re.powi(2) + h * h < 1.0;
    // Rounding may put the first guess one pixel off.
    let mut from = (column(-half_chord).ceil().max(0.0) as usize).min(area.pixels);
    let mut to = ((column(half_chord) + 1.0).ceil().max(0.0) as usize).min(area.pixels);
    while from < to && !is_inside(from) {
        from += 1;
    }
    while from < to && !is_inside(to - 1) {
        to -= 1;
    }
    (from, to)
}

/// Fills a line with the fixture whose polynomial is least at `variable(k)`.
///
/// Only the differences from reflect are worked out: the third difference is theirs.
#[inline(always)]
fn fill_best(rows: &[[f64; 5]; 3], line: &mut [Option<Fixture>], variable: impl Fn(usize) -> f64) {
    let [reflect, shunt, series] = rows;
    let shunt: [f64; 5] = std::array::from_fn(|k| shunt[k] - reflect[k]);
    let series: [f64; 5] = std::array::from_fn(|k| series[k] - reflect[k]);
    for (chunk, pixels) in line.chunks_mut(LANES).enumerate() {
        let at: [f64; LANES] = std::array::from_fn(|k| variable(chunk * LANES + k));
        let by_shunt = at.map(|t| horner(&shunt, t));
        let by_series = at.map(|t| horner(&series, t));
        let through: [f64; LANES] = std::array::from_fn(|k| smaller(by_shunt[k], by_series[k]));
        // Most runs of pixels have one answer; only those on a border are taken one by one.
        if least(through) >= 0.0 {
            pixels.fill(Some(Fixture::Reflect));
            continue;
        }
        let worst = std::array::from_fn(|k| -through[k]);
        if least(worst) > 0.0 {
            let margin: [f64; LANES] = std::array::from_fn(|k| by_series[k] - by_shunt[k]);
            if least(margin) >= 0.0 {
                pixels.fill(Some(Fixture::ShuntThrough));
                continue;
            }
            if least(margin.map(|m| -m)) > 0.0 {
                pixels.fill(Some(Fixture::SeriesThrough));
                continue;
            }
        }
        for (k, pixel) in pixels.iter_mut().enumerate() {
            *pixel = Some(if through[k] >= 0.0 {
                Fixture::Reflect
            } else if by_series[k] < by_shunt[k] {
                Fixture::SeriesThrough
            } else {
                Fixture::ShuntThrough
            });
        }
    }
}

#[inline(always)]
fn smaller(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

#[inline(always)]
fn least(mut values: [f64; LANES]) -> f64 {
    let mut width = LANES / 2;
    while width > 0 {
        for k in 0..width {
            values[k] = smaller(values[k], values[k + width]);
        }
        width /= 2;
    }
    values[0]
}

#[inline(always)]
fn horner(c: &[f64; 5], t: f64) -> f64 {
    (((c[4] * t + c[3]) * t + c[2]) * t + c[1]) * t + c[0]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Budget, Immittance, Instrument, ReferenceImpedance};

    fn merits() -> Merits {
        let budget = Budget::new(&Instrument::CLUB_BENCH, ReferenceImpedance::FIFTY_OHM, 0);
        Merits::of(&budget.unwrap())
    }

    #[test]
    fn chart_maps_are_the_pixels_one_by_one() {
        for area in [
            ChartArea::whole(61),
            ChartArea {
                center: Complex64::new(0.9, -0.3),
                half_side: 0.25,
                pixels: 40,
            },
        ] {
            let count = area.pixels * area.pixels;
            let mut best = vec![None; count];
            merits().best_on_chart(&area, &mut best).unwrap();
            let mut merit = vec![0.0; count];
            merits()
                .merit_on_chart(Fixture::ShuntThrough, &area, &mut merit)
                .unwrap();
            let mut outside = 0;
            for row in 0..area.pixels {
                for column in 0..area.pixels {
                    let gamma = area.reflection(column, row);
                    let k = row * area.pixels + column;
                    if gamma.norm_sqr() >= 1.0 {
                        assert_eq!(best[k], None);
                        assert!(merit[k].is_nan());
                        outside += 1;
                        continue;
                    }
                    let part = Immittance::from_pair((1.0 + gamma) * 50.0, Complex64::ONE - gamma)
                        .unwrap();
                    assert_eq!(best[k], merits().best(part), "{gamma}");
                    let e = merits()
                        .figure_of_merit(Fixture::ShuntThrough, part)
                        .unwrap();
                    assert!((f64::from(merit[k]) / e - 1.0).abs() < 1e-6, "{gamma}");
                }
            }
            assert!(outside > 0);
        }
    }

    #[test]
    fn ohm_plane_maps_are_the_pixels_one_by_one() {
        let area = OhmArea {
            from_ohm: 0.01,
            to_ohm: 1e5,
            from_rad: -1.5,
            to_rad: 1.5,
            columns: 53,
            rows: 21,
        };
        let mut best = vec![None; 53 * 21];
        merits().best_on_ohm_plane(&area, &mut best).unwrap();
        let mut merit = vec![0.0; 53 * 21];
        merits()
            .merit_on_ohm_plane(Fixture::Reflect, &area, &mut merit)
            .unwrap();
        for row in 0..21 {
            for column in 0..53 {
                let z = Complex64::from_polar(area.ohm(column), area.angle_rad(row));
                let part = Immittance::from_impedance(z).unwrap();
                assert_eq!(best[row * 53 + column], merits().best(part), "{z}");
                let e = merits().figure_of_merit(Fixture::Reflect, part).unwrap();
                assert!((f64::from(merit[row * 53 + column]) / e - 1.0).abs() < 1e-6);
            }
        }
        let wrong = merits()
            .best_on_ohm_plane(&area, &mut best[1..])
            .unwrap_err();
        assert_eq!((wrong.expected, wrong.length), (1113, 1112));
    }
}
