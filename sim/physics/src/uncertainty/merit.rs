//! The figure of merit as a form of second degree, quick enough for a whole chart.
//!
//! With V = |v|², I = |Z0·i|² and X = Re(v·(Z0·i)*), every cause adds to e²·V·I a form of
//! second degree in (V, X, I), which has no pole and no division. With
//! P = |v + Z0·i|² = V + 2X + I, Q = |v − Z0·i|² = V − 2X + I, A = |2v + Z0·i|² = 4V + 4X + I,
//! B = |v + 2·Z0·i|² = V + 4X + 4I, the terms per unit of E|δ|² are
//!
//! | effect | reflect | shunt-through | series-through |
//! | --- | --- | --- | --- |
//! | absolute | P²/4 | A²/4 | B²/4 |
//! | relative | P·Q/4 | A·V | B·I |
//! | scale of Z | V·I | V·I | V·I |
//! | open end; short end; square | Q·V/4; Q·I/4; Q²/4 | | |
//! | ohms in the device | I²/Z0² | I²/Z0² | I²/Z0² |
//! | leak and raw match | | (A + A₋)·I/4 | (B + B₋)·V/4 |
//!
//! with A₋ = |2v − Z0·i|² = 4V − 4X + I and B₋ = |v − 2·Z0·i|² = V − 4X + 4I. The other products
//! with the raw match are a scale of Z.
//!
//! These are the squares of the sensitivity coefficients of [`crate::Budget`], multiplied out.

use crate::uncertainty::cause::Effect;
use crate::uncertainty::left_out::by_match;
use crate::uncertainty::linear::Linear;
use crate::uncertainty::on_bench::OnBench;
use crate::{Budget, Cause, Fixture, Immittance, ReferenceImpedance};

/// Coefficients of V², V·X, X², V·I, X·I, I², then of V·Y, X·Y, Y², Y·I with Y = Im(v·(Z0·i)*),
/// which are zero for the ideal fixtures.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Form([f64; 10]);

/// Coefficients of V, X, I.
type RealForm = [f64; 3];

const P: RealForm = [1.0, 2.0, 1.0];
const Q: RealForm = [1.0, -2.0, 1.0];
const A: RealForm = [4.0, 4.0, 1.0];
const B: RealForm = [1.0, 4.0, 4.0];
/// A + A₋.
const A_BOTH: RealForm = [8.0, 0.0, 2.0];
/// B + B₋.
const B_BOTH: RealForm = [2.0, 0.0, 8.0];
const V: RealForm = [1.0, 0.0, 0.0];
const I: RealForm = [0.0, 0.0, 1.0];

impl Form {
    fn product(a: RealForm, b: RealForm, factor: f64) -> Self {
        Self(
            [
                a[0] * b[0],
                a[0] * b[1] + a[1] * b[0],
                a[1] * b[1],
                a[0] * b[2] + a[2] * b[0],
                a[1] * b[2] + a[2] * b[1],
                a[2] * b[2],
                0.0,
                0.0,
                0.0,
                0.0,
            ]
            .map(|c| c * factor),
        )
    }

    /// |p·q|² for two forms of the part.
    fn of_factors([p, q]: [Linear; 2]) -> Self {
        let ([av, ax, ay, ai], [bv, bx, by, bi]) = (p.square(), q.square());
        Self([
            av * bv,
            av * bx + ax * bv,
            ax * bx,
            av * bi + ai * bv,
            ax * bi + ai * bx,
            ai * bi,
            av * by + ay * bv,
            ax * by + ay * bx,
            ay * by,
            ay * bi + ai * by,
        ])
    }

    fn plus(self, other: Self, factor: f64) -> Self {
        Self(std::array::from_fn(|k| self.0[k] + factor * other.0[k]))
    }

    /// Value at (V, X, Y, I), never below zero.
    pub(crate) fn at(&self, [v, x, y, i]: [f64; 4]) -> f64 {
        let [vv, vx, xx, vi, xi, ii, vy, xy, yy, yi] = self.0;
        let even = (vv * v + vx * x + vi * i) * v + (xx * x + xi * i) * x + ii * i * i;
        let sum = even + (vy * v + xy * x + yy * y + yi * i) * y;
        sum.max(0.0)
    }

    /// Σ c_k·r^k of the form along z = r·e^(jθ).
    pub(crate) fn along_ray(&self, angle_rad: f64) -> [f64; 5] {
        let [vv, vx, xx, vi, xi, ii, vy, xy, yy, yi] = self.0;
        let (sine, cosine) = angle_rad.sin_cos();
        [
            ii,
            xi * cosine + yi * sine,
            xx * cosine * cosine + vi + (xy * cosine + yy * sine) * sine,
            vx * cosine + vy * sine,
            vv,
        ]
    }

    /// Σ c_k·g^k of the form on the chart along Γ = g + j·h with h fixed:
    /// V = (1 + g)² + h², X = 1 − g² − h², Y = 2h, I = (1 − g)² + h².
    pub(crate) fn along_chart_row(&self, h: f64) -> [f64; 5] {
        let h2 = h * h;
        let v = [1.0 + h2, 2.0, 1.0];
        let x = [1.0 - h2, 0.0, -1.0];
        let i = [1.0 + h2, -2.0, 1.0];
        let y = [2.0 * h, 0.0, 0.0];
        let [vv, vx, xx, vi, xi, ii, vy, xy, yy, yi] = self.0;
        let mut sum = [0.0; 5];
        for (factor, a, b) in [
            (vv, v, v),
            (vx, v, x),
            (xx, x, x),
            (vi, v, i),
            (xi, x, i),
            (ii, i, i),
            (vy, v, y),
            (xy, x, y),
            (yy, y, y),
            (yi, y, i),
        ] {
            for (total, term) in sum
                .iter_mut()
                .zip(crate::uncertainty::polynomial::product(a, b))
            {
                *total += factor * term;
            }
        }
        sum
    }

    /// The form with V and I exchanged: what it is at 1/z.
    fn dual(self) -> Self {
        let [vv, vx, xx, vi, xi, ii, vy, xy, yy, yi] = self.0;
        Self([ii, xi, xx, vi, vx, vv, -yi, -xy, yy, -vy])
    }
}

/// The form of errors of one effect with mean square 1.
fn of_effect(effect: Effect, fixture: Fixture, z0_ohm: f64) -> Form {
    match effect {
        Effect::Absolute => match fixture {
            Fixture::Reflect => Form::product(P, P, 0.25),
            Fixture::ShuntThrough => Form::product(A, A, 0.25),
            Fixture::SeriesThrough => Form::product(B, B, 0.25),
        },
        Effect::Relative | Effect::Radial | Effect::Tangential => match fixture {
            Fixture::Reflect => Form::product(P, Q, 0.25),
            Fixture::ShuntThrough => Form::product(A, V, 1.0),
            Fixture::SeriesThrough => Form::product(B, I, 1.0),
        },
        Effect::Scale => Form::product(V, I, 1.0),
        Effect::OpenEnd => Form::product(Q, V, 0.25),
        Effect::ShortEnd => Form::product(Q, I, 0.25),
        Effect::Square => Form::product(Q, Q, 0.25),
        Effect::Resistance | Effect::Impedance => Form::product(I, I, 1.0 / (z0_ohm * z0_ohm)),
        Effect::MatchedLeak => match fixture {
            Fixture::Reflect => Form::default(),
            Fixture::ShuntThrough => Form::product(A_BOTH, I, 0.25),
            Fixture::SeriesThrough => Form::product(B_BOTH, V, 0.25),
        },
    }
}

/// The form of all causes in a fixture with its strays, after the calibration that was made. A
/// known raw match has no form: a map has no front end.
fn form_on_bench(budget: &Budget, bench: &OnBench, fixture: Fixture) -> Form {
    let lines = &bench.lines[fixture as usize];
    let z0_ohm = budget.reference().ohm();
    let unit = |product| Form::of_factors(lines.factors(product, fixture, z0_ohm));
    let mut sum = Form::default();
    let raw_match = budget.mean_square(Cause::RawMatch, fixture);
    let holds = fixture != Fixture::Reflect && bench.left_out.products_hold(fixture);
    for cause in Cause::ALL {
        let square = budget.mean_square(cause, fixture);
        if square == 0.0 {
            continue;
        }
        if let Some((product, factor)) = bench.left_out.product(cause, fixture) {
            sum = sum.plus(unit(product), factor * factor * square);
        }
        if holds && raw_match > 0.0 {
            for product in by_match(cause).into_iter().flatten() {
                sum = sum.plus(unit(product), square * raw_match);
            }
        }
    }
    for (_, product, square) in bench.left_out.terms(fixture) {
        sum = sum.plus(unit(product), square);
    }
    for doubt in lines.doubts {
        sum = sum.plus(Form::of_factors(doubt), bench.strays_left.powi(2));
    }
    let size = lines.determinant.norm_sqr();
    Form(sum.0.map(|c| c / size))
}

impl Cause {
    /// True where this cause alone can move the crossover of shunt-through and series-through
    /// off |Z| = Z0. False where it treats both alike: exchanging z and 1/z then exchanges the
    /// fixtures, and no amount of it moves the crossover. Raw match moves it where the open is
    /// better than the short or worse: it multiplies the one in series-through, the other in
    /// shunt-through.
    pub fn moves_shunt_series_crossover(self) -> bool {
        if self == Self::RawMatch {
            let moves = |cause: Self| is_not_dual(|fixture| cause.effect_with_raw_match(fixture));
            return Self::OF_CALIBRATION.into_iter().any(moves);
        }
        is_not_dual(|fixture| self.effect(fixture))
    }
}

/// True unless exchanging z and 1/z exchanges what an effect does in the two through fixtures.
fn is_not_dual(effect: impl Fn(Fixture) -> Option<(Effect, f64)>) -> bool {
    let form = |fixture| {
        effect(fixture).map_or(Form::default(), |(effect, factor)| {
            Form::default().plus(of_effect(effect, fixture, 1.0), factor * factor)
        })
    };
    form(Fixture::ShuntThrough).dual() != form(Fixture::SeriesThrough)
}

/// rms error of a reading, in the two simple models of textbooks.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ReadingError {
    /// rms |δS|.
    pub absolute: f64,
    /// rms |δS|/|S|.
    pub relative: f64,
}

/// Figures of merit of the three fixtures for any device.
///
/// ```
/// use jigwise_physics::{Fixture, Merits, ReferenceImpedance};
///
/// // Errors in proportion to the reading: reflect gives way at SWR 1 + √6.
/// let merits = Merits::equal_relative(0.01, ReferenceImpedance::FIFTY_OHM);
/// let high = merits
///     .crossovers(0.0)
///     .into_iter()
///     .find(|c| c.between == [Fixture::Reflect, Fixture::SeriesThrough])
///     .unwrap();
/// assert!((high.swr.unwrap() - (1.0 + 6f64.sqrt())).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Merits {
    pub(crate) z0: ReferenceImpedance,
    pub(crate) forms: [Form; 3],
}

impl Merits {
    /// The figures of merit of a budget, with all causes.
    pub fn of(budget: &Budget) -> Self {
        let z0 = budget.reference();
        if let Some(bench) = &budget.on_bench {
            let forms = Fixture::ALL.map(|fixture| form_on_bench(budget, bench, fixture));
            return Self { z0, forms };
        }
        let forms = Fixture::ALL.map(|fixture| {
            Effect::ALL
                .into_iter()
                .fold(Form::default(), |sum, effect| {
                    sum.plus(
                        of_effect(effect, fixture, z0.ohm()),
                        budget.sum(effect, fixture),
                    )
                })
        });
        Self { z0, forms }
    }

    /// The figures of merit for simple errors, in the order of [`Fixture::ALL`].
    pub fn of_errors(errors: [ReadingError; 3], z0: ReferenceImpedance) -> Self {
        let mut forms = [Form::default(); 3];
        for ((form, error), fixture) in forms.iter_mut().zip(errors).zip(Fixture::ALL) {
            let unit = |effect| of_effect(effect, fixture, z0.ohm());
            *form = form
                .plus(unit(Effect::Absolute), error.absolute.powi(2))
                .plus(unit(Effect::Relative), error.relative.powi(2));
        }
        Self { z0, forms }
    }

    /// The figures of merit for the same rms |δS|/|S| in all three fixtures.
    pub fn equal_relative(relative: f64, z0: ReferenceImpedance) -> Self {
        let error = ReadingError {
            relative,
            absolute: 0.0,
        };
        Self::of_errors([error; 3], z0)
    }

    /// The figures of merit for the same rms |δS| in all three fixtures.
    pub fn equal_absolute(absolute: f64, z0: ReferenceImpedance) -> Self {
        let error = ReadingError {
            absolute,
            relative: 0.0,
        };
        Self::of_errors([error; 3], z0)
    }

    /// Figure of merit e of one fixture; `None` for an open and a short. At the pole of an active
    /// part it is the limit of its surroundings.
    pub fn figure_of_merit(&self, fixture: Fixture, device: Immittance) -> Option<f64> {
        let at = self.invariants(device);
        let size = at[0] * at[3];
        (size > 0.0).then(|| (self.forms[fixture as usize].at(at) / size).sqrt())
    }

    /// The fixture of least e; the first of [`Fixture::ALL`] on a tie. `None` for an open and a
    /// short.
    pub fn best(&self, device: Immittance) -> Option<Fixture> {
        let at = self.invariants(device);
        if at[0] * at[3] == 0.0 {
            return None;
        }
        Fixture::ALL
            .into_iter()
            .map(|fixture| (fixture, self.forms[fixture as usize].at(at)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(fixture, _)| fixture)
    }

    /// Coefficients of V², V·X, X², V·I, X·I, I², V·Y, X·Y, Y², Y·I in e²·V·I, one row per
    /// fixture, with V = |v|², I = |Z0·i|², X + jY = v·(Z0·i)*. Those with Y are zero for ideal
    /// fixtures.
    pub fn coefficients(&self) -> [[f64; 10]; 3] {
        self.forms.map(|form| form.0)
    }

    /// V, X, Y, I of a device.
    fn invariants(&self, device: Immittance) -> [f64; 4] {
        let z0 = self.z0.ohm();
        [
            device.v().norm_sqr(),
            device.power_product() * z0,
            (device.v() * device.i().conj()).im * z0,
            device.i().norm_sqr() * z0 * z0,
        ]
    }
}
