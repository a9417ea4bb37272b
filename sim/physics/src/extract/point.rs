//! Values of one point.

use nalgebra::DMatrix;

use super::crossing::SEEN;
use super::extracted::{Extracted, Quantity, Refused, Value};
use super::judge::CLEARLY_BELOW_ZERO;
use super::{ExtractError, ImpedanceSweep, Reactive};
use crate::{Complex64, Covariance, Equivalents, Immittance};

/// A value with its derivatives by R and X.
type Named = (Quantity, f64, [f64; 2]);

impl ImpedanceSweep<'_> {
    /// Series and parallel R, L or C, Q, D and ESR at the point nearest to `freq_hz`, by
    /// propagating the covariance of R and X; all values hang on these two, so the joint
    /// covariance has rank 2. An isotropic scatter of u in R and X gives
    /// u(R)/R = √(1 + Q²)·u/|Z|: the loss of a part with high Q is worse known by Q.
    ///
    /// R, D and ESR are given however small they are, below zero too, and so is Ls = X/ω where X
    /// is within 3 u of zero. What has one of these below a fraction line is among the refused
    /// there: Q and Rp where Q is above 1/(2·phase uncertainty), Cs where X is within 3 u of zero.
    ///
    /// Without a given scatter u is that of the readings about a smooth curve, and what a
    /// calibration may leave, [`CALIBRATION_RESIDUAL`](super::CALIBRATION_RESIDUAL) of |Z|, is no
    /// kind: X within 3 times that is refused.
    ///
    /// # Errors
    /// [`ExtractError::ChangedKind`] above a self-resonance inside the sweep, and as
    /// [`Self::point_values_of_one_kind`].
    pub fn point_values(&self, freq_hz: f64) -> Result<Extracted, ExtractError> {
        crate::number::positive("frequency in hertz", freq_hz)?;
        self.check_kind_unchanged(self.nearest(freq_hz))?;
        self.point_values_of_one_kind(freq_hz)
    }

    /// As [`Self::point_values`], for a part that is known not to change its kind.
    ///
    /// # Errors
    /// [`ExtractError::NegativeResistance`], [`ExtractError::Number`].
    pub fn point_values_of_one_kind(&self, freq_hz: f64) -> Result<Extracted, ExtractError> {
        crate::number::positive("frequency in hertz", freq_hz)?;
        let point = self.nearest(freq_hz);
        let at_hz = self.freq_hz()[point];
        let z = self.z_ohm()[point];
        let total = self.doubts()[point];
        let (with_calibration, is_calibration_unknown) = self.doubts_with_calibration();
        let kind = self.kinds_above(SEEN, &with_calibration)[point];
        let u_r = total.re.sqrt();
        // Below that are the digits of the numbers, as in a fit.
        if z.re < -CLEARLY_BELOW_ZERO * u_r - 1e-9 * z.norm() {
            return Err(ExtractError::NegativeResistance {
                quantity: Quantity::SeriesResistance,
                value_ohm: z.re,
                u_ohm: u_r,
            });
        }
        let part = Equivalents::new(Immittance::from_impedance(z)?, at_hz)?;
        let mut named = losses(&part);
        let mut refused = Vec::new();
        refused.extend(refused_ratios(z, total, kind));
        match kind {
            Some(Reactive::Capacitive) => named.push((Quantity::Esr, z.re, [1.0, 0.0])),
            Some(Reactive::Inductive) => {}
            None => {
                named.retain(|(quantity, ..)| {
                    !matches!(quantity, Quantity::Q | Quantity::Dissipation)
                });
                let per_omega = 1.0 / (std::f64::consts::TAU * at_hz);
                let inductance = Value {
                    quantity: Quantity::SeriesInductance,
                    value: z.im * per_omega,
                    u: with_calibration[point].im.sqrt() * per_omega,
                };
                if is_calibration_unknown {
                    // Its u would be that of the scatter alone.
                    refused.push(Refused {
                        quantity: inductance.quantity,
                        why: ExtractError::NotSeen {
                            quantity: inductance.quantity,
                            below: inductance.upper_bound(),
                        },
                    });
                } else {
                    named.push((inductance.quantity, inductance.value, [0.0, per_omega]));
                }
            }
        }
        if kind.is_some() {
            named.extend(reactances(&part));
        }
        let values: Vec<(Quantity, f64)> = named.iter().map(|&(q, v, _)| (q, v)).collect();
        let covariance = DMatrix::from_fn(named.len(), named.len(), |j, k| {
            let ([a, b], [c, d]) = (named[j].2, named[k].2);
            a * c * total.re + (a * d + b * c) * total.cross + b * d * total.im
        });
        Ok(Extracted::new(&values, &covariance, refused, None))
    }
}

impl ImpedanceSweep<'_> {
    fn check_kind_unchanged(&self, point: usize) -> Result<(), ExtractError> {
        let changes = self.clear_changes();
        let Some(change) = changes.iter().find(|change| change.after <= point) else {
            return Ok(());
        };
        let between = self.freq_hz()[change.before].midpoint(self.freq_hz()[change.after]);
        Err(ExtractError::ChangedKind {
            was: change.was,
            is: match change.was {
                Reactive::Capacitive => Reactive::Inductive,
                Reactive::Inductive => Reactive::Capacitive,
            },
            resonance_hz: self.crossing(change).map_or(between, |(hz, _)| hz),
            at_hz: self.freq_hz()[point],
        })
    }
}

/// The values that have the loss below a fraction line, where the phase can't tell it: Q above
/// 1/(2·phase uncertainty).
fn refused_ratios(z: Complex64, total: Covariance, kind: Option<Reactive>) -> Vec<Refused> {
    let q = z.im.abs() / z.re;
    let limit = 0.5 * z.norm() / tangential(total, z).sqrt();
    // Not the other way round: a limit that is no number refuses nothing.
    if !(z.re <= 0.0 || q > limit) {
        return Vec::new();
    }
    let mut quantities = vec![Quantity::ParallelResistance];
    if kind.is_some() {
        quantities.push(Quantity::Q);
    }
    quantities
        .into_iter()
        .map(|quantity| Refused {
            quantity,
            why: ExtractError::QBeyondPhase { q, limit },
        })
        .collect()
}

/// Variance across the direction of z.
fn tangential(c: Covariance, z: Complex64) -> f64 {
    let across = z.im * z.im * c.re - 2.0 * z.re * z.im * c.cross + z.re * z.re * c.im;
    across / z.norm_sqr()
}

fn losses(part: &Equivalents) -> Vec<Named> {
    let mut named = Vec::with_capacity(8);
    let Some(series) = part.series() else {
        return named;
    };
    let (r, x) = (series.r_ohm, series.x_ohm);
    named.push((Quantity::SeriesResistance, r, [1.0, 0.0]));
    if let Some(rp) = part.parallel().and_then(|parallel| parallel.r_ohm) {
        let slopes = [1.0 - (x / r).powi(2), 2.0 * x / r];
        named.push((Quantity::ParallelResistance, rp, slopes));
    }
    if let Some(q) = part.q() {
        named.push((Quantity::Q, q, [-q / r, x.signum() / r]));
    }
    if let Some(d) = part.dissipation() {
        named.push((Quantity::Dissipation, d, [1.0 / x.abs(), -d / x]));
    }
    named
}

fn reactances(part: &Equivalents) -> Vec<Named> {
    let mut named = Vec::with_capacity(2);
    let Some(series) = part.series() else {
        return named;
    };
    let (r, x) = (series.r_ohm, series.x_ohm);
    // Relative derivatives of Xp = |Z|²/X; a capacitance goes with the inverse.
    let square = r * r + x * x;
    let parallel = [2.0 * r / square, 2.0 * x / square - 1.0 / x];
    let mut push = |quantity, value: Option<f64>, slopes: [f64; 2]| {
        if let Some(value) = value {
            named.push((quantity, value, slopes.map(|slope| slope * value)));
        }
    };
    let series = [0.0, 1.0 / x];
    push(
        Quantity::SeriesInductance,
        part.series_inductance_h(),
        series,
    );
    push(
        Quantity::ParallelInductance,
        part.parallel_inductance_h(),
        parallel,
    );
    let (series, parallel) = (series.map(|s| -s), parallel.map(|s| -s));
    push(
        Quantity::SeriesCapacitance,
        part.series_capacitance_f(),
        series,
    );
    push(
        Quantity::ParallelCapacitance,
        part.parallel_capacitance_f(),
        parallel,
    );
    named
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Model;

    /// No number that is none, and none of three hundred digits, gets into a sentence.
    #[test]
    fn refusals_of_extreme_points_read_as_sentences() {
        let said = |z: Complex64, u: f64| {
            let random = [Covariance::circular(u * u)];
            let all = [z];
            let sweep = ImpedanceSweep::new(&[1e6], &all, &random, &[]).unwrap();
            let found = sweep.point_values(1e6).unwrap();
            let said: Vec<String> = found.refused.iter().map(|r| r.why.to_string()).collect();
            said.join("\n")
        };
        for z in [
            Complex64::ZERO,
            Complex64::new(0.0, 571.5),
            Complex64::new(1e-16, 571.5),
            Complex64::new(-1e-17, 571.5),
            Complex64::new(0.0, 2.5e-299),
        ] {
            for u in [0.0, 0.2] {
                let said = said(z, u);
                assert!(
                    !said.contains("NaN") && !said.contains("inf"),
                    "{z} {u}: {said}"
                );
                let longest = said
                    .split(|c: char| !c.is_ascii_digit())
                    .map(str::len)
                    .max();
                assert!(longest.unwrap_or(0) < 8, "{z} {u}: {said}");
            }
        }
        // A short reads 0 Ω ± u, and no more than 1.960 u, half of its Gaussian cut off.
        let random = [Covariance::circular(0.2 * 0.2)];
        let sweep = ImpedanceSweep::new(&[1e6], &[Complex64::ZERO], &random, &[]).unwrap();
        let r = sweep.point_values(1e6).unwrap();
        let r = r.value(Quantity::SeriesResistance).unwrap();
        assert_eq!((r.value, r.u), (0.0, 0.2));
        assert!((r.upper_bound() - 0.391_993).abs() < 1e-6, "{r:?}");
        let one = ImpedanceSweep::new(&[1e6], &[Complex64::ONE], &[Covariance::ZERO], &[]).unwrap();
        let why = one.fit(Model::Resistor).unwrap_err().to_string();
        assert!(why.starts_with("1 point in the sweep"), "{why}");
    }
}
