//! The raw reading that a solved calibration corrects to a given one.

use num_complex::Complex64;

use super::correction::{Response, Solved};
use crate::{Correction, DirectionTerms, Fixture, Scattering};

impl Correction {
    /// The raw readings of a part in `fixture` that [`Correction::apply_in`] makes `corrected` of.
    /// What the method does not look at is that of a symmetric, reciprocal part. Not finite where
    /// no raw reading gives them.
    ///
    /// ```
    /// use jigwise_physics::{
    ///     Complex64, Definitions, Fixture, Method, RawAnalyzer, Scattering, solve,
    /// };
    ///
    /// let analyzer = RawAnalyzer::new(1);
    /// let measured = analyzer.measure_standards(&Definitions::IDEAL, 1e8, &[], None);
    /// let correction = solve(Method::BothDirections, &measured, &Definitions::IDEAL)?;
    /// let [s11, s21] = [0.2, 0.8].map(Complex64::from);
    /// let part = Scattering { s11, s12: s21, s21, s22: s11 };
    /// let raw = correction.raw_of(Fixture::SeriesThrough, &part);
    /// assert!(raw.distance(&analyzer.terms(1e8).raw(&part)) < 1e-12);
    /// assert!(correction.apply(&raw).distance(&part) < 1e-12);
    /// # Ok::<(), jigwise_physics::CalibrationError>(())
    /// ```
    pub fn raw_of(&self, fixture: Fixture, corrected: &Scattering) -> Scattering {
        match fixture {
            Fixture::Reflect => Scattering {
                s11: self.raw_of_one_port(corrected.s11),
                ..*corrected
            },
            _ => self.raw_of_through(corrected),
        }
    }

    fn raw_of_one_port(&self, gamma: Complex64) -> Complex64 {
        match &self.solved {
            Solved::Nothing => gamma,
            Solved::Response { reflections, .. } => reflections[0].map_or(gamma, |f| gamma / f),
            _ => self.one_port().map_or(gamma, |terms| terms.raw(gamma)),
        }
    }

    fn raw_of_through(&self, s: &Scattering) -> Scattering {
        match &self.solved {
            Solved::Nothing => *s,
            Solved::Response {
                reflections,
                transmissions,
            } => {
                let scaled = |s: Complex64, by: Option<Complex64>| by.map_or(s, |f| s / f);
                let passed = |s: Complex64, by: Option<Response>| by.map_or(s, |by| by.raw(s));
                Scattering {
                    s11: scaled(s.s11, reflections[0]),
                    s12: passed(s.s12, transmissions[1]),
                    s21: passed(s.s21, transmissions[0]),
                    s22: scaled(s.s22, reflections[1]),
                }
            }
            Solved::OnePort([one, two]) => Scattering {
                s11: one.map_or(s.s11, |terms| terms.raw(s.s11)),
                s22: two.map_or(s.s22, |terms| terms.raw(s.s22)),
                ..*s
            },
            Solved::WithoutLoadMatch(there, back) => {
                let (s11, s21) = raw_without_load_match(there, (s.s11, s.s21));
                let (s22, s12) = raw_without_load_match(&back.unwrap_or(*there), (s.s22, s.s12));
                Scattering { s11, s12, s21, s22 }
            }
            Solved::Symmetric(there) => {
                let (s11, s21) = there.raw(s);
                Scattering {
                    s11,
                    s12: s21,
                    s21,
                    s22: s11,
                }
            }
            Solved::Full(terms) => terms.raw(s),
        }
    }
}

/// The inverse of [`DirectionTerms::correct_without_load_match`]: N11 = S11/(1 − e11·S11),
/// N21 = S21·(1 + e11·N11).
fn raw_without_load_match(
    terms: &DirectionTerms,
    s: (Complex64, Complex64),
) -> (Complex64, Complex64) {
    let source = terms.one_port.source_match;
    let n11 = s.0 / (1.0 - source * s.0);
    let n21 = s.1 * (1.0 + source * n11);
    (
        terms.one_port.directivity + terms.one_port.reflect_tracking * n11,
        terms.crosstalk + terms.through_tracking * n21,
    )
}
