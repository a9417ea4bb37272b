//! What errors of the standards do to a corrected transmission, in closed form.
//!
//! S21 of the corrected part is a chain of maps: readings of three standards to the terms of each
//! port, these and the reading of the through to the terms of each direction, these and the
//! reading of the part to S21 ([`crate::TwelveTerms::correct`]). Its derivatives are taken from the
//! end of the chain to its beginning, all at once. The first link:
//!
//! with h_k = Γ_k/(1 − e11·Γ_k) a standard reads m_k = e00 + e10e01·h_k, and a derivative by the
//! terms (a_d, a_r, a_e) is one by the readings of
//! w_k = (a_e/e10e01 − (h_i + h_j)·a_r + h_i·h_j·a_d)/((h_k − h_i)(h_k − h_j)),
//! and one by what the standards are taken for of −w_k·e10e01/(1 − e11·Γ_k)².
//!
//! Own derivation; checked against the calibration solved again
//! (`tests/tests/calibration/closed_forms.rs`).

use num_complex::Complex64;

use super::correction::Solved;
use crate::{
    Budget, Cause, Correction, Covariance, DirectionTerms, Fixture, Method, OnePortTerms,
    RAW_STANDARD_READINGS, Scattering, Trio,
};

/// The derivatives of a corrected S21 by everything that it was made from.
#[derive(Debug, Clone, Copy)]
pub struct ThroughDerivatives {
    /// By each raw reading of the standards, in their numbers: three reflections at port 1, three
    /// at port 2, the through's four, isolation both ways. Zero for what was not measured.
    pub standards: [Complex64; RAW_STANDARD_READINGS],
    /// By the part's raw S11, S12, S21, S22.
    own: [Complex64; 4],
    /// By the unit of a residual of load, open, short, through, leak and match left over.
    shifts: [(Cause, Complex64); 6],
}

/// Derivatives by the terms of one direction.
#[derive(Debug, Clone, Copy, Default)]
struct ByTerms {
    directivity: Complex64,
    tracking: Complex64,
    source: Complex64,
    load: Complex64,
    through: Complex64,
    crosstalk: Complex64,
}

impl std::ops::Add for ByTerms {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            directivity: self.directivity + other.directivity,
            tracking: self.tracking + other.tracking,
            source: self.source + other.source,
            load: self.load + other.load,
            through: self.through + other.through,
            crosstalk: self.crosstalk + other.crosstalk,
        }
    }
}

/// Derivatives by what one direction was solved from, seen from its sending port.
struct BySolved {
    /// By the readings of open, short and load.
    read: [Complex64; 3],
    /// By what these are taken for.
    taken: [Complex64; 3],
    /// By the through's reflection and transmission.
    through: [Complex64; 2],
    /// By the reading of the isolation.
    isolation: Complex64,
    /// By S11, S12, S21 and S22 that the through is taken for.
    known: [Complex64; 4],
    /// By what leaks past the terminated ports.
    leak: Complex64,
}

/// Derivatives of S21 by the terms of both directions and by the part's readings.
fn of_terms(
    forward: &DirectionTerms,
    reverse: &DirectionTerms,
    raw: &Scattering,
) -> ([ByTerms; 2], [Complex64; 4]) {
    let (n11, n21) = forward.normal((raw.s11, raw.s21));
    let (n22, n12) = reverse.normal((raw.s22, raw.s12));
    let (s, l) = (forward.one_port.source_match, forward.load_match);
    let (s_rev, l_rev) = (reverse.one_port.source_match, reverse.load_match);
    let (up1, up2) = (1.0 + n11 * s, 1.0 + n22 * s_rev);
    let over = (up1 * up2 - n21 * n12 * l * l_rev).inv();
    let top = 1.0 + n22 * (s_rev - l);
    let f = n21 * top * over;
    let f_over = f * over;
    let by_n11 = -f_over * s * up2;
    let by_n22 = n21 * (s_rev - l) * over - f_over * s_rev * up1;
    let by_n21 = top * over + f_over * n12 * l * l_rev;
    let by_n12 = f_over * n21 * l * l_rev;
    let direction = |terms: &DirectionTerms, (n1, by_n1), (n2, by_n2), by_source, by_load| {
        let over_tracking = terms.one_port.reflect_tracking.inv();
        let over_through = terms.through_tracking.inv();
        let (by_m1, by_m2): (Complex64, Complex64) = (by_n1 * over_tracking, by_n2 * over_through);
        let by_terms = ByTerms {
            directivity: -by_m1,
            tracking: -by_m1 * n1,
            source: by_source,
            load: by_load,
            through: -by_m2 * n2,
            crosstalk: -by_m2,
        };
        (by_terms, by_m1, by_m2)
    };
    let both = n21 * n12;
    let (there, by_m11, by_m21) = direction(
        forward,
        (n11, by_n11),
        (n21, by_n21),
        -f_over * n11 * up2,
        f_over * both * l_rev - n21 * n22 * over,
    );
    let (back, by_m22, by_m12) = direction(
        reverse,
        (n22, by_n22),
        (n12, by_n12),
        n21 * n22 * over - f_over * n22 * up1,
        f_over * both * l,
    );
    ([there, back], [by_m11, by_m12, by_m21, by_m22])
}

/// From the terms of a direction to what they were solved from.
fn of_direction(
    by: &ByTerms,
    terms: &DirectionTerms,
    standards: &Trio<Complex64>,
    raw: (Complex64, Complex64),
    known: &Scattering,
    far_load: Complex64,
) -> BySolved {
    let port = terms.one_port;
    let (e, l, t) = (port.source_match, terms.load_match, terms.through_tracking);
    let det = known.determinant();
    let bottom = terms.bottom(known);
    let over_s21 = known.s21.inv();
    // T = (m21 − x)·D/S21.
    let by_bottom = by.through * t / bottom;
    let by_m21 = by.through * bottom * over_s21;
    let load = by.load + by_bottom * (e * det - known.s22);
    let mut by_known = [
        by_bottom * e * (l * known.s22 - 1.0),
        -by_bottom * e * l * known.s21,
        -by_bottom * e * l * known.s12 - by.through * t * over_s21,
        by_bottom * l * (e * known.s11 - 1.0),
    ];
    // l = (Γ − S11)/(S12·S21 + S22·(Γ − S11)), Γ = (m11 − d)/(r + e·(m11 − d)).
    let off = raw.0 - port.directivity;
    let over = (port.reflect_tracking + e * off).inv();
    let above = off * over - known.s11;
    let passed = known.s12 * known.s21;
    let per = load / ((passed + known.s22 * above) * (passed + known.s22 * above));
    let by_gamma = per * passed;
    by_known[0] -= by_gamma;
    by_known[1] -= per * above * known.s21;
    by_known[2] -= per * above * known.s12;
    by_known[3] -= per * above * above;
    let by_m11 = by_gamma * port.reflect_tracking * over * over;
    let (read, taken) = of_port(
        &port,
        standards,
        by.directivity - by_m11,
        by.tracking - by_gamma * off * over * over,
        by.source + by_bottom * (l * det - known.s11) - by_gamma * off * off * over * over,
    );
    let isolated = (1.0 - e * standards.load) * (1.0 - l * far_load);
    BySolved {
        read,
        taken,
        through: [by_m11, by_m21],
        isolation: by.crosstalk - by_m21,
        known: by_known,
        leak: t * (by.through * bottom * over_s21 - by.crosstalk) / isolated,
    }
}

/// From the terms of a port to the readings of its standards, and to what these are taken for.
fn of_port(
    port: &OnePortTerms,
    standards: &Trio<Complex64>,
    by_directivity: Complex64,
    by_tracking: Complex64,
    by_source: Complex64,
) -> ([Complex64; 3], [Complex64; 3]) {
    let known = [standards.open, standards.short, standards.load];
    let over = known.map(|gamma| (1.0 - port.source_match * gamma).inv());
    let h = [0, 1, 2].map(|k| known[k] * over[k]);
    let by_square = by_source / port.reflect_tracking;
    let read = [0, 1, 2].map(|k| {
        let (i, j) = (h[(k + 1) % 3], h[(k + 2) % 3]);
        (by_square - (i + j) * by_tracking + i * j * by_directivity) / ((h[k] - i) * (h[k] - j))
    });
    let taken = [0, 1, 2].map(|k| -read[k] * port.reflect_tracking * over[k] * over[k]);
    (read, taken)
}

impl Correction {
    /// The derivatives of the corrected S21 of a part; `None` where the method has no closed form
    /// here, and where one of them is not finite.
    pub fn through_derivatives(&self, raw: &Scattering) -> Option<ThroughDerivatives> {
        let through = self.measured.through?;
        if self.definitions.isolation != Complex64::ZERO {
            return None;
        }
        let (forward, reverse, seen) = match (&self.solved, self.method) {
            (Solved::Full(terms), Method::BothDirections) => {
                (terms.forward, Some(terms.reverse), *raw)
            }
            (Solved::Symmetric(terms), _) => {
                let seen = Scattering {
                    s11: raw.s11,
                    s12: raw.s21,
                    s21: raw.s21,
                    s22: raw.s11,
                };
                (*terms, None, seen)
            }
            _ => return None,
        };
        let ([there, back], own) = of_terms(&forward, &reverse.unwrap_or(forward), &seen);
        let [one, two] = &self.definitions.reflections;
        let known = self.definitions.through;
        let isolation = self.measured.isolation.is_some();
        let mut found = Summed::default();
        match reverse {
            Some(reverse) => {
                let raw = (through.s11, through.s21);
                found.add_forward(
                    &of_direction(&there, &forward, one, raw, &known, two.load),
                    isolation,
                );
                let raw = (through.s22, through.s12);
                let solved = of_direction(&back, &reverse, two, raw, &known.flipped(), one.load);
                found.add_reverse(&solved, isolation);
            }
            None => {
                let (by, raw) = (there + back, (through.s11, through.s21));
                found.add_forward(
                    &of_direction(&by, &forward, one, raw, &known, two.load),
                    isolation,
                );
            }
        }
        let own = match reverse {
            Some(_) => own,
            None => {
                let zero = Complex64::ZERO;
                [own[0] + own[3], zero, own[1] + own[2], zero]
            }
        };
        let all = found.standards.iter().chain(&own).chain(&found.taken);
        let is_finite = all.chain(&found.known).all(|d| d.is_finite()) && found.leak.is_finite();
        is_finite.then(|| ThroughDerivatives {
            standards: found.standards,
            own,
            shifts: found.shifts(&known),
        })
    }

    /// Covariance from the noise of the standards' readings of a number that has these
    /// derivatives by them, dimension and all.
    pub fn noise_by(
        &self,
        budget: &Budget,
        slopes: &[Complex64; RAW_STANDARD_READINGS],
    ) -> Covariance {
        let mut sum = Covariance::ZERO;
        self.each_noise(budget, slopes, |_, noise, slope| {
            sum = sum + noise.through(slope);
        });
        sum
    }

    /// As [`Correction::steps_of_standards`], of a number that has these derivatives.
    pub fn steps_by(
        &self,
        budget: &Budget,
        slopes: &[Complex64; RAW_STANDARD_READINGS],
    ) -> Vec<(usize, Complex64)> {
        super::sensitivity::steps(|take| self.each_noise(budget, slopes, take))
    }

    fn each_noise(
        &self,
        budget: &Budget,
        slopes: &[Complex64; RAW_STANDARD_READINGS],
        mut take: impl FnMut(usize, Covariance, Complex64),
    ) {
        for (at, slope) in slopes.iter().enumerate() {
            if *slope == Complex64::ZERO {
                continue;
            }
            if let Some(noise) = self.noise_of_reading(budget, at) {
                take(at, noise, *slope);
            }
        }
    }
}

/// Both directions together, in the order of the readings.
#[derive(Default)]
struct Summed {
    standards: [Complex64; RAW_STANDARD_READINGS],
    /// By what open, short and load are taken for, at both ports together.
    taken: [Complex64; 3],
    known: [Complex64; 4],
    leak: Complex64,
}

impl Summed {
    fn add_forward(&mut self, by: &BySolved, isolation: bool) {
        self.add(by, 0, [6, 8], isolation.then_some(10), [0, 1, 2, 3]);
    }

    fn add_reverse(&mut self, by: &BySolved, isolation: bool) {
        self.add(by, 3, [9, 7], isolation.then_some(11), [3, 2, 1, 0]);
    }

    fn add(
        &mut self,
        by: &BySolved,
        port: usize,
        through: [usize; 2],
        isolation: Option<usize>,
        known: [usize; 4],
    ) {
        for k in 0..3 {
            self.standards[port + k] += by.read[k];
            self.taken[k] += by.taken[k];
        }
        for (at, d) in through.into_iter().zip(by.through) {
            self.standards[at] += d;
        }
        if let Some(at) = isolation {
            self.standards[at] += by.isolation;
        }
        for (at, d) in known.into_iter().zip(by.known) {
            self.known[at] += d;
        }
        self.leak += by.leak;
    }

    /// With the signs of [`Correction::shift`] and the residuals of
    /// [`crate::Definitions::with_residuals`].
    fn shifts(&self, known: &Scattering) -> [(Cause, Complex64); 6] {
        let [open, short, load] = self.taken;
        let [by_s11, by_s12, by_s21, by_s22] = self.known;
        [
            (Cause::Open, -open),
            (Cause::Short, -short),
            (Cause::Load, -load),
            (
                Cause::ThroughTracking,
                by_s12 * known.s12 + by_s21 * known.s21,
            ),
            (Cause::Crosstalk, by_s12 + by_s21 + self.leak),
            (Cause::LoadMatch, by_s11 + by_s22),
        ]
    }
}

impl ThroughDerivatives {
    /// As [`Correction::shift`], of S21.
    pub fn shift(&self, cause: Cause) -> Option<Complex64> {
        let found = self.shifts.iter().find(|(known, _)| *known == cause);
        found.map(|(_, shift)| *shift)
    }

    /// As [`Correction::own_noise_of_through`].
    pub fn own_noise(&self, raw: &Scattering, budget: &Budget) -> Covariance {
        let through = Fixture::SeriesThrough;
        let readings = [
            (raw.s11, Fixture::Reflect),
            (raw.s12, through),
            (raw.s21, through),
            (raw.s22, Fixture::Reflect),
        ];
        let each = readings.into_iter().zip(self.own);
        each.filter(|(_, slope)| *slope != Complex64::ZERO)
            .map(|((value, kind), slope)| budget.noise_of(value, kind).through(slope))
            .fold(Covariance::ZERO, |sum, one| sum + one)
    }
}
