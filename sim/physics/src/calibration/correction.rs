//! A solved calibration, and what it makes of raw readings.

use num_complex::Complex64;

use crate::{
    Definitions, DirectionTerms, Fixture, MeasuredStandards, Method, OnePortTerms,
    RAW_STANDARD_READINGS, Scattering, TwelveTerms,
};

/// A solved calibration at one frequency.
///
/// It keeps what it was solved from, so that it can say what an error of a standard does to a
/// corrected reading: [`Correction::shift`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correction {
    pub(super) method: Method,
    pub(super) measured: MeasuredStandards,
    pub(super) definitions: Definitions,
    /// E|δ|² of each raw reading of the standards beside its noise, in their numbers.
    pub(super) doubts: [f64; RAW_STANDARD_READINGS],
    pub(super) solved: Solved,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Solved {
    Nothing,
    /// By port and by direction.
    Response {
        reflections: [Option<Complex64>; 2],
        transmissions: [Option<Response>; 2],
    },
    /// Transmission stays raw.
    OnePort([Option<OnePortTerms>; 2]),
    WithoutLoadMatch(DirectionTerms, Option<DirectionTerms>),
    Symmetric(DirectionTerms),
    Full(TwelveTerms),
}

/// (m − e30)·factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Response {
    pub crosstalk: Complex64,
    pub factor: Complex64,
}

impl Correction {
    /// The method of the calibration.
    pub fn method(&self) -> Method {
        self.method
    }

    /// The readings of the standards that it was solved from.
    pub fn standards(&self) -> &MeasuredStandards {
        &self.measured
    }

    /// The same with readings of standards that are in doubt by more than their noise, E|δ|² of
    /// each: readings found between the frequencies of a sweep. They count wherever the noise of the
    /// standards does.
    pub fn in_doubt(self, doubts: [f64; RAW_STANDARD_READINGS]) -> Self {
        Self { doubts, ..self }
    }

    /// The corrected readings of a part in `fixture`: S11 alone in reflect, all four in the
    /// through fixtures.
    pub fn apply_in(&self, fixture: Fixture, raw: &Scattering) -> Scattering {
        match fixture {
            Fixture::Reflect => Scattering {
                s11: self.apply_one_port(raw.s11),
                ..*raw
            },
            _ => self.apply(raw),
        }
    }

    /// The corrected readings of a two-port. Not finite where the raw reading is one that
    /// nothing passive can give; see [`Method`] for what is left raw.
    pub fn apply(&self, raw: &Scattering) -> Scattering {
        let forward = (raw.s11, raw.s21);
        let reverse = (raw.s22, raw.s12);
        match &self.solved {
            Solved::Nothing => *raw,
            Solved::Response {
                reflections,
                transmissions,
            } => {
                let [one, two] = *reflections;
                let [there, back] = *transmissions;
                let scaled = |m: Complex64, factor: Option<Complex64>| factor.map(|f| m * f);
                let passed = |m: Complex64, by: Option<Response>| by.map(|by| by.correct(m));
                let (s11, s21) = (scaled(raw.s11, one), passed(raw.s21, there));
                Scattering {
                    s11: s11.unwrap_or(raw.s11),
                    s21: s21.unwrap_or(raw.s21),
                    s22: scaled(raw.s22, two).or(s11).unwrap_or(raw.s22),
                    s12: passed(raw.s12, back).or(s21).unwrap_or(raw.s12),
                }
            }
            Solved::OnePort([one, two]) => {
                let s11 = one.map_or(raw.s11, |terms| terms.correct(raw.s11));
                Scattering {
                    s11,
                    s22: two.map_or(s11, |terms| terms.correct(raw.s22)),
                    ..*raw
                }
            }
            Solved::WithoutLoadMatch(there, back) => {
                let first = there.correct_without_load_match(forward);
                let second = back.map_or(first, |b| b.correct_without_load_match(reverse));
                both(first, second)
            }
            Solved::Symmetric(there) => {
                let first = there.correct_symmetric(forward);
                both(first, first)
            }
            Solved::Full(terms) => terms.correct(raw),
        }
    }

    /// The corrected reading of a one-port at port 1.
    pub fn apply_one_port(&self, raw: Complex64) -> Complex64 {
        match &self.solved {
            Solved::Nothing => raw,
            Solved::Response { reflections, .. } => reflections[0].map_or(raw, |f| raw * f),
            _ => self.one_port().map_or(raw, |terms| terms.correct(raw)),
        }
    }

    /// The three terms of port 1, where the method finds them.
    pub fn one_port(&self) -> Option<OnePortTerms> {
        match &self.solved {
            Solved::Nothing | Solved::Response { .. } => None,
            Solved::OnePort([one, _]) => *one,
            _ => self.forward().map(|terms| terms.one_port),
        }
    }

    /// The six terms of the forward direction, where the method finds them.
    pub fn forward(&self) -> Option<DirectionTerms> {
        match &self.solved {
            Solved::Nothing | Solved::Response { .. } | Solved::OnePort(_) => None,
            Solved::WithoutLoadMatch(forward, _) | Solved::Symmetric(forward) => Some(*forward),
            Solved::Full(terms) => Some(terms.forward),
        }
    }

    /// All twelve terms, where the method finds them.
    pub fn twelve_terms(&self) -> Option<TwelveTerms> {
        match &self.solved {
            Solved::Full(terms) => Some(*terms),
            _ => None,
        }
    }
}

impl Response {
    fn correct(&self, raw: Complex64) -> Complex64 {
        (raw - self.crosstalk) * self.factor
    }

    pub(super) fn raw(&self, corrected: Complex64) -> Complex64 {
        corrected / self.factor + self.crosstalk
    }
}

/// (S11, S21) with (S22, S12).
fn both(first: (Complex64, Complex64), second: (Complex64, Complex64)) -> Scattering {
    Scattering {
        s11: first.0,
        s12: second.1,
        s21: first.1,
        s22: second.0,
    }
}
