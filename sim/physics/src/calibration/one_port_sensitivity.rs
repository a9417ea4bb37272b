//! What errors of the standards do to a corrected reflection, in closed form.
//!
//! A calibration of one port is the Möbius map from raw readings m to reflections Γ that takes the
//! readings m_k of three standards to what they are taken for, Γ_k. A Möbius map that moves a
//! little moves its images by a polynomial of second degree in Γ. Three points give it: at Γ_k the
//! image moves by δΓ_k for another definition, and by −Γ′(m_k)·δm_k for another reading, so
//!
//! δΓ = Σ L_k(Γ)·(δΓ_k − Γ′(m_k)·δm_k), L_k(Γ) = Π (Γ − Γ_j)/(Γ_k − Γ_j) over j ≠ k.
//!
//! Own derivation; checked against the calibration solved again.

use num_complex::Complex64;

use crate::{Budget, Cause, Correction, Covariance, Fixture, OnePortTerms};

/// Three standards at port 1 and the terms they gave.
struct SolvedPort {
    terms: OnePortTerms,
    /// Γ of open, short and load as they are taken for.
    known: [Complex64; 3],
    /// Their raw readings.
    raw: [Complex64; 3],
}

impl OnePortTerms {
    /// Γ′(m) = e10e01/(e10e01 + e11·(m − e00))².
    fn derivative(&self, raw: Complex64) -> Complex64 {
        let bottom = self.reflect_tracking + self.source_match * (raw - self.directivity);
        self.reflect_tracking / (bottom * bottom)
    }
}

impl SolvedPort {
    /// `None` where the method solves no terms of the port.
    fn of(correction: &Correction) -> Option<Self> {
        let terms = correction.one_port()?;
        let (known, raw) = (
            &correction.definitions.reflections[0],
            &correction.measured.reflections[0],
        );
        Some(Self {
            terms,
            known: [known.open, known.short, known.load],
            raw: [raw.open?, raw.short?, raw.load?],
        })
    }

    /// L_k(Γ).
    fn weight(&self, of: usize, gamma: Complex64) -> Complex64 {
        let [j, k] = [(of + 1) % 3, (of + 2) % 3].map(|other| self.known[other]);
        let own = self.known[of];
        (gamma - j) * (gamma - k) / ((own - j) * (own - k))
    }
}

impl Correction {
    /// As [`Correction::shift`], of a one-port at port 1.
    pub fn shift_one_port(&self, raw: Complex64, cause: Cause) -> Option<Complex64> {
        let Some(port) = SolvedPort::of(self) else {
            let [gamma] = self.derivative(cause, |moved| [moved.apply_one_port(raw)])?;
            return Some(gamma);
        };
        let of = match cause {
            Cause::Open => 0,
            Cause::Short => 1,
            Cause::Load => 2,
            _ if cause.is_of_a_standard() => return Some(Complex64::ZERO),
            _ => return None,
        };
        let shift = -port.weight(of, port.terms.correct(raw));
        shift.is_finite().then_some(shift)
    }

    /// As [`Correction::own_noise_of_through`], of the corrected S11 of a one-port at port 1.
    pub fn own_noise_of_one_port(&self, raw: Complex64, budget: &Budget) -> Covariance {
        let noise = budget.noise_of(raw, Fixture::Reflect);
        let slope = match self.one_port() {
            Some(terms) => Some(terms.derivative(raw)).filter(|slope| slope.is_finite()),
            None => super::sensitivity::slope(|step| Some(self.apply_one_port(raw + step))),
        };
        slope.map_or(Covariance::ZERO, |slope| noise.through(slope))
    }

    /// As [`Correction::noise_of_standards`], of a sum of corrected one-ports at port 1: raw
    /// readings with their weights.
    pub fn noise_of_standards_one_port(
        &self,
        budget: &Budget,
        readings: impl Iterator<Item = (Complex64, Complex64)> + Clone,
    ) -> Covariance {
        let mut sum = Covariance::ZERO;
        self.each_reading_of_one_port(budget, readings, |_, noise, slope| {
            sum = sum + noise.through(slope);
        });
        sum
    }

    /// As [`Correction::steps_of_standards`], of a sum of corrected one-ports at port 1: raw
    /// readings with their weights.
    pub fn steps_of_standards_one_port(
        &self,
        budget: &Budget,
        readings: impl Iterator<Item = (Complex64, Complex64)> + Clone,
    ) -> Vec<(usize, Complex64)> {
        super::sensitivity::steps(|take| self.each_reading_of_one_port(budget, readings, take))
    }

    fn each_reading_of_one_port(
        &self,
        budget: &Budget,
        readings: impl Iterator<Item = (Complex64, Complex64)> + Clone,
        mut take: impl FnMut(usize, Covariance, Complex64),
    ) {
        let Some(port) = SolvedPort::of(self) else {
            let sum = |moved: &Self| {
                let all = readings.clone();
                all.map(|(raw, weight)| moved.apply_one_port(raw) * weight)
                    .sum()
            };
            return self.each_reading_of_standards(budget, sum, take);
        };
        for (at, raw) in port.raw.into_iter().enumerate() {
            let moved: Complex64 = readings
                .clone()
                .map(|(raw, weight)| port.weight(at, port.terms.correct(raw)) * weight)
                .sum();
            let slope = -port.terms.derivative(raw) * moved;
            if let Some(noise) = self
                .noise_of_reading(budget, at)
                .filter(|_| slope.is_finite())
            {
                take(at, noise, slope);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Definitions, Instrument, Method, RawAnalyzer, ReferenceImpedance, Trio, solve};

    /// Standards that are neither ideal nor alike, a front end with match, three parts.
    #[test]
    fn it_is_the_derivative_of_the_calibration_solved_again() {
        let budget = Budget::new(&Instrument::HANDHELD, ReferenceImpedance::FIFTY_OHM, 0).unwrap();
        let mut taken = Definitions::IDEAL;
        taken.reflections[0] = Trio {
            open: Complex64::from_polar(0.98, -0.4),
            short: Complex64::from_polar(0.99, 2.9),
            load: Complex64::new(0.03, -0.02),
        };
        for seed in 1..4 {
            let analyzer = RawAnalyzer::new(seed);
            let measured = analyzer.measure_standards(&taken, 7e8, &[], None);
            let correction = solve(Method::OnePort, &measured, &taken).unwrap();
            for gamma in [(0.3, 0.4), (-0.9, 0.2), (0.99, -0.1)] {
                let gamma = Complex64::new(gamma.0, gamma.1);
                let raw = analyzer.terms(7e8).forward.one_port.raw(gamma);
                let one = |moved: &Correction| moved.apply_one_port(raw);
                for cause in Cause::ALL {
                    let ours = correction.shift_one_port(raw, cause);
                    let again = correction.derivative(cause, |moved| [one(moved)]);
                    let off = match (ours, again) {
                        (Some(ours), Some([again])) => (ours - again).norm(),
                        (ours, again) => {
                            assert_eq!((ours, again), (None, None), "{cause:?}");
                            0.0
                        }
                    };
                    assert!(off < 1e-10, "{cause:?} {gamma}: {off}");
                }
                let near = |ours: Covariance, again: Covariance| {
                    let off = (ours + again * -1.0).trace().abs();
                    assert!(off < 1e-9 * again.trace(), "{gamma}: {off}");
                };
                near(
                    correction.noise_of_standards_one_port(
                        &budget,
                        std::iter::once((raw, Complex64::ONE)),
                    ),
                    correction.noise_of_standards(&budget, one),
                );
                let slope = super::super::sensitivity::slope(|step| {
                    Some(correction.apply_one_port(raw + step))
                });
                near(
                    correction.own_noise_of_one_port(raw, &budget),
                    budget
                        .noise_of(raw, Fixture::Reflect)
                        .through(slope.unwrap()),
                );
            }
        }
    }
}
