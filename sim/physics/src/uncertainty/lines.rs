//! A fixture as it stands on the bench, with its strays and arms, as linear forms of the part.
//!
//! With M₁ and M₂ the chain matrices of the arms and M that of the part with the strays at it, the
//! whole is the two-port A, B, C, D = M₁·M·M₂, all four linear in (v, y). With a = A, b = B/Z0,
//! c = C·Z0, d = D and L = a + b + c + d,
//!
//! S11 = (a + b − c − d)/L, S22 = (b + d − a − c)/L, S21 = N/L, S11·S22 − S21² = (b + c − a − d)/L.
//!
//! The sensitivity of the reading to every error is a product of two such forms over L²
//! ([`Lines::factors`]), so the figure of merit stays a form of second degree in |v|², v·y* and
//! |y|².
//!
//! Residuals of standards at the reference planes, of the calibration of both ports by the same
//! kit, to first order and with the raw load match l to first order:
//!
//! δS21/S21 = δL·(S11 + S22) − (δO + δS)·S11/2 + λ·S22 + δT + δX/S21
//!   + l·[δO·(1 + Δ + 2·S22)/2 + δS·(1 + Δ − 2·S22)/2 + λ·(1 + Δ) + 2·δT·S22],
//!
//! Δ = S11·S22 − S21²; own derivation from the twelve-term equations. In the ideal fixtures it is
//! what [`crate::Budget`] and the head of `raw_match` say. Where the arms differ, S22² stands for
//! S11·S22 in the terms with l, which is of second order in both.

use num_complex::Complex64;

use crate::uncertainty::cause::Effect;
use crate::uncertainty::linear::Linear;
use crate::{EntryError, Fixture, Line, Mobius, ReferenceImpedance, Stray, Strays};

/// A fixture on the bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Lines {
    /// L.
    pub bottom: Linear,
    /// N, of the reading N/L.
    pub top: Linear,
    /// Of S11 and of S22 of a through fixture.
    ports: [Linear; 2],
    /// Of S11·S22 − S21² of a through fixture.
    det: Linear,
    /// α·δ − β·γ of the reading (α·v + β·y)/(γ·v + δ·y).
    pub determinant: Complex64,
    /// What is left of each stray: the product of two forms that a relative change of it adds to
    /// the reading, over L². Those without a size are zero.
    pub doubts: [[Linear; 2]; Stray::ALL.len()],
    /// True where lines lie between the part and the reference planes.
    pub has_arms: bool,
}

impl Lines {
    /// A fixture with the strays that sit in it at one frequency.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub(crate) fn of(
        fixture: Fixture,
        strays: &Strays,
        freq_hz: f64,
        z0: ReferenceImpedance,
    ) -> Result<Self, EntryError> {
        let places = Places::of(fixture, strays, freq_hz, z0)?;
        let mut found = if fixture == Fixture::Reflect {
            Self::reflect(strays, freq_hz, z0, &places)?
        } else {
            Self::through(fixture, strays, freq_hz, z0, &places)?
        };
        found.has_arms = strays.before.length_m != 0.0 || strays.after.length_m != 0.0;
        found.doubts = Stray::ALL.map(|_| [Linear::ZERO; 2]);
        for stray in Stray::ALL {
            if let Some(product) = found.doubt(stray, fixture, strays, freq_hz, z0, &places)? {
                found.doubts[stray as usize] = product;
            }
        }
        Ok(found)
    }

    fn reflect(
        strays: &Strays,
        freq_hz: f64,
        z0: ReferenceImpedance,
        places: &Places,
    ) -> Result<Self, EntryError> {
        // The arm by Z0, acting on (v, y).
        let [[a, b], [c, d]] = by_reference(&strays.before, freq_hz, z0)?;
        let [v, y] = places.branch;
        let (volts, amps) = (v * a + y * b, v * c + y * d);
        Ok(Self {
            bottom: volts + amps,
            top: volts - amps,
            ports: [Linear::ZERO; 2],
            det: Linear::ZERO,
            // Strays and arms have the determinant 1, and N, L = v ∓ y.
            determinant: Complex64::new(2.0, 0.0),
            doubts: [[Linear::ZERO; 2]; Stray::ALL.len()],
            has_arms: false,
        })
    }

    fn through(
        fixture: Fixture,
        strays: &Strays,
        freq_hz: f64,
        z0: ReferenceImpedance,
        places: &Places,
    ) -> Result<Self, EntryError> {
        let first = by_reference(&strays.before, freq_hz, z0)?;
        let second = by_reference(&strays.after, freq_hz, z0)?;
        let [v, y] = places.branch;
        // The part's own chain matrix, times v in shunt-through and times y in series-through.
        let part = if fixture == Fixture::ShuntThrough {
            [[v, Linear::ZERO], [y, v]]
        } else {
            [[y, v], [Linear::ZERO, y]]
        };
        let left = |row: usize, column: usize| {
            part[0][column] * first[row][0] + part[1][column] * first[row][1]
        };
        let entry = |row: usize, column: usize| {
            left(row, 0) * second[0][column] + left(row, 1) * second[1][column]
        };
        let (a, b, c, d) = (entry(0, 0), entry(0, 1), entry(1, 0), entry(1, 1));
        let (top, determinant) = if fixture == Fixture::ShuntThrough {
            (v * 2.0, 2.0)
        } else {
            (y * 2.0, -2.0)
        };
        let bottom = a + b + c + d;
        // L = l·M·r, as in the map of [`Strays`].
        let [l0, l1] = [0, 1].map(|column| first[0][column] + first[1][column]);
        let [r0, r1] = [0, 1].map(|row| second[row][0] + second[row][1]);
        let ends = if fixture == Fixture::ShuntThrough {
            l1 * r0
        } else {
            l0 * r1
        };
        Ok(Self {
            bottom,
            top,
            ports: [a + b - c - d, b + d - a - c],
            det: b + c - a - d,
            determinant: ends * determinant,
            doubts: [[Linear::ZERO; 2]; Stray::ALL.len()],
            has_arms: false,
        })
    }

    /// What a relative change of a stray does to the reading, times L². `None` for a stray that
    /// has no size in this fixture.
    fn doubt(
        &self,
        stray: Stray,
        fixture: Fixture,
        strays: &Strays,
        freq_hz: f64,
        z0: ReferenceImpedance,
        places: &Places,
    ) -> Result<Option<[Linear; 2]>, EntryError> {
        let arm = |line: &Line, port: usize| -> Result<Option<[Linear; 2]>, EntryError> {
            if line.length_m == 0.0 {
                return Ok(None);
            }
            let gamma = line.exponent(freq_hz)?;
            let q = line.zc_ohm / z0.ohm();
            if fixture == Fixture::Reflect {
                let open = (self.bottom - self.top) * q.sqrt();
                let short = (self.bottom + self.top) * (1.0 / q.sqrt());
                return Ok(Some([(open - short) * (0.5 * gamma), open + short]));
            }
            let port = self.ports[port];
            let both = (self.bottom - port) * q + (self.bottom + port) * (1.0 / q);
            Ok(Some([self.top, both * (-0.5 * gamma)]))
        };
        match stray {
            Stray::FirstArm => arm(&strays.before, 0),
            Stray::SecondArm if fixture == Fixture::Reflect => Ok(None),
            Stray::SecondArm => arm(&strays.after, 1),
            Stray::Gap | Stray::Ground | Stray::Pin | Stray::Contact | Stray::Braid => {
                Ok(places.at_part[stray as usize].map(|step| match step {
                    Step::InSeries { ohm, y } => [y * (self.determinant * ohm / z0.ohm()), y],
                    Step::InParallel { siemens, v } => {
                        [v * (-self.determinant * siemens * z0.ohm()), v]
                    }
                }))
            }
        }
    }

    /// The map from Z in ohms to the reading.
    pub(crate) fn map(&self, z0_ohm: f64) -> Mobius {
        Mobius::new([self.top, self.bottom].map(|Linear([v, y])| [v, y * z0_ohm]))
    }

    /// The two forms whose product, over L², is what a unit error does to the reading.
    #[inline]
    pub(crate) fn factors(&self, product: Product, fixture: Fixture, z0_ohm: f64) -> [Linear; 2] {
        let (top, bottom) = (self.top, self.bottom);
        let [one, two] = self.ports;
        match product {
            Product::Of(effect) => self.factors_of(effect, fixture, z0_ohm),
            Product::ScaleAtSource => [top, one * -1.0],
            Product::ScaleAtLoad => [top, two * -1.0],
            Product::LeakAtSource => [one * -1.0, bottom],
            Product::LeakAtLoad => [two, top * 2.0 - bottom],
            Product::OpenAtLoad => [top, (bottom + self.det + two * 2.0) * 0.5],
            Product::ShortAtLoad => [top, (bottom + self.det - two * 2.0) * 0.5],
            Product::MatchAtLoad => [top, bottom + self.det],
            Product::TrackingAtLoad => [top, two * 2.0],
            Product::BesideOpen => [bottom - top, bottom],
            Product::BesideShort => [bottom + top, bottom],
            Product::SquareBesideOpen => [top, top - bottom],
            Product::SquareBesideShort => [top, top + bottom],
            Product::Asymmetry => [top, two - one],
        }
    }

    fn factors_of(&self, effect: Effect, fixture: Fixture, z0_ohm: f64) -> [Linear; 2] {
        let (top, bottom) = (self.top, self.bottom);
        let [one, two] = self.ports;
        match effect {
            Effect::Absolute => [bottom, bottom],
            Effect::Relative | Effect::Radial => [top, bottom],
            Effect::Tangential => [top, bottom * Complex64::I],
            Effect::Scale if fixture == Fixture::Reflect => [(bottom + top) * 0.5, bottom - top],
            Effect::Scale => [top, (one + two) * -0.5],
            Effect::OpenEnd => [(bottom + top) * 0.5, top],
            Effect::ShortEnd => [(bottom - top) * 0.5, top],
            Effect::Square => [top, top],
            Effect::Resistance | Effect::Impedance => {
                [Linear::Y, Linear::Y * (self.determinant / z0_ohm)]
            }
            // On a bench it is in two products of its own.
            Effect::MatchedLeak => [Linear::ZERO; 2],
        }
    }
}

/// What a unit error does to a reading on the bench, as a product of two forms over L².
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Product {
    /// As in the ideal fixture.
    Of(Effect),
    /// −S21·S11: a wrong match of the sending port.
    ScaleAtSource,
    /// −S21·S22: a wrong match of the receiving port.
    ScaleAtLoad,
    /// −S11: a leak times the raw source match.
    LeakAtSource,
    /// S22·(2·S21 − 1): a leak times the raw load match.
    LeakAtLoad,
    /// S21·(1 + Δ + 2·S22)/2: δO times the raw load match.
    OpenAtLoad,
    /// S21·(1 + Δ − 2·S22)/2: δS times the raw load match.
    ShortAtLoad,
    /// S21·(1 + Δ): λ times the raw load match.
    MatchAtLoad,
    /// 2·S21·S22: δT times the raw load match.
    TrackingAtLoad,
    /// 1 − S.
    BesideOpen,
    /// 1 + S.
    BesideShort,
    /// S·(S − 1).
    SquareBesideOpen,
    /// S·(S + 1).
    SquareBesideShort,
    /// S21·(S22 − S11).
    Asymmetry,
}

/// The arm of a line, its chain matrix with voltages and Z0 times currents.
fn by_reference(
    line: &Line,
    freq_hz: f64,
    z0: ReferenceImpedance,
) -> Result<[[Complex64; 2]; 2], EntryError> {
    let [[a, b], [c, d]] = line.network(freq_hz)?.map().rows();
    Ok([[a, b / z0.ohm()], [c * z0.ohm(), d]])
}

/// Where a stray acts.
#[derive(Debug, Clone, Copy)]
enum Step {
    /// This many ohms in series, where y flows.
    InSeries { ohm: Complex64, y: Linear },
    /// This many siemens across, where v stands.
    InParallel { siemens: Complex64, v: Linear },
}

/// The pair (v, y) at every stray that sits at the part, from the part outwards.
struct Places {
    /// By [`Stray`]; `None` for one without a size in this fixture, and for arms.
    at_part: [Option<Step>; Stray::ALL.len()],
    /// What the arms are connected to.
    branch: [Linear; 2],
}

impl Places {
    fn of(
        fixture: Fixture,
        strays: &Strays,
        freq_hz: f64,
        z0: ReferenceImpedance,
    ) -> Result<Self, EntryError> {
        let mut at_part = [None; Stray::ALL.len()];
        let (mut v, mut y) = (Linear::V, Linear::Y);
        for (stray, step) in strays.steps_of(fixture, freq_hz)? {
            let [[_, ohm], [siemens, _]] = step.rows();
            if ohm != Complex64::ZERO {
                at_part[stray as usize] = Some(Step::InSeries { ohm, y });
                v = v + y * (ohm / z0.ohm());
            }
            if siemens != Complex64::ZERO {
                at_part[stray as usize] = Some(Step::InParallel { siemens, v });
                y = y + v * (siemens * z0.ohm());
            }
        }
        Ok(Self {
            at_part,
            branch: [v, y],
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Draws, Immittance};

    fn strays(draws: &mut Draws) -> Strays {
        let mut size = |most: f64| most * draws.uniform();
        let mut arm = || Line {
            length_m: size(0.3),
            velocity_factor: 0.66,
            zc_ohm: 40.0 + size(60.0),
            conductor_db_per_m_at_1ghz: size(2.0),
            ..Line::NONE
        };
        let (before, after) = (arm(), arm());
        let mut size = |most: f64| most * draws.uniform();
        Strays {
            gap_f: size(2e-12),
            ground_h: size(20e-9),
            pin_f: size(2e-12),
            contact_ohm: size(0.2),
            braid_ohm: size(0.05),
            braid_loop_h: size(1e-6),
            before,
            after,
        }
    }

    #[test]
    fn forms_are_the_two_port_and_its_derivatives() {
        let z0 = ReferenceImpedance::new(75.0).unwrap();
        let mut draws = Draws::new(44);
        for _ in 0..60 {
            let strays = strays(&mut draws);
            let freq_hz = 10f64.powf(5.0 + 4.0 * draws.uniform());
            let z = Complex64::from_polar(
                10f64.powf(4.0 * draws.uniform()),
                3.0 * (draws.uniform() - 0.5),
            );
            let part = Immittance::from_impedance(z).unwrap();
            for fixture in Fixture::ALL {
                let lines = Lines::of(fixture, &strays, freq_hz, z0).unwrap();
                let pair = [part.v(), part.i() * z0.ohm()];
                let l = lines.bottom.at(pair);
                let near = |got: Complex64, want: Complex64, what: &str| {
                    assert!(
                        (got - want).norm() < 1e-9 * (1.0 + want.norm()),
                        "{fixture:?} {what} {got} {want}"
                    );
                };
                let reading = |strays: &Strays, part| {
                    strays
                        .reading(fixture, part, freq_hz, z0)
                        .unwrap()
                        .value()
                        .unwrap()
                };
                near(lines.top.at(pair) / l, reading(&strays, part), "reading");
                if let Some(s) = strays.scattering(fixture, part, freq_hz, z0).unwrap() {
                    near(lines.ports[0].at(pair) / l, s.s11, "S11");
                    near(lines.ports[1].at(pair) / l, s.s22, "S22");
                    near(lines.det.at(pair) / l, s.determinant(), "determinant");
                }
                let map = strays.map(fixture, freq_hz, z0).unwrap();
                let slope = lines.determinant * (pair[1] / l).powi(2) / z0.ohm();
                let exact = map.derivative(part.ratio()).unwrap();
                assert!(
                    (slope / exact - 1.0).norm() < 1e-9,
                    "{fixture:?} {slope} {exact}"
                );
                // A relative change of each stray, by the difference of two readings.
                const H: f64 = 1e-5;
                for stray in Stray::ALL {
                    let [a, b] = lines.doubts[stray as usize];
                    let by_forms = a.at(pair) * b.at(pair) / (l * l);
                    let changed = |factor: f64| reading(&strays.scaled(stray, factor), part);
                    let by_difference = (changed(1.0 + H) - changed(1.0 - H)) / (2.0 * H);
                    assert!(
                        (by_forms - by_difference).norm() < 1e-7 * (1.0 + by_difference.norm()),
                        "{fixture:?} {stray:?} {by_forms} {by_difference}"
                    );
                }
            }
        }
    }
}
