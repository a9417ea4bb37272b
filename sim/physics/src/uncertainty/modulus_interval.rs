//! The interval in which |Z| comes out, for one reading in one fixture.
//!
//! A reading scatters about its nominal value S0 by a Gaussian of covariance C, and every reading
//! gives a |Z|. The readings that give |Z| < r fill a disc of the reading plane, the outside of
//! one or a half plane, since a reading is a [`Mobius`] map of Z:
//!
//! |d·S − b|² < r²·|a − c·S|² for S = (a·Z + b)/(c·Z + d).
//!
//! In units of the scatter, S = S0 + L·w with L·Lᵀ = C, that region is bounded by an ellipse, and
//! its probability
//!
//! F(r) = ∫ φ(w₁)·[Φ(w₂ at the far side) − Φ(w₂ at the near side)] dw₁
//!
//! is one integral of smooth functions. Nothing is drawn, so the interval moves steadily with the
//! part.
//!
//! With F = P(|Z| that comes out < |Z| of the part) the lower tail is min(2.5 %, F/2) and the
//! upper one the rest of 5 %; mirrored with 1 − F where that is small. So the interval always
//! holds 95 % of what comes out, and always the part, even an open or a short.

use std::f64::consts::{FRAC_1_SQRT_2, FRAC_PI_2, PI};
use std::sync::LazyLock;

use num_complex::Complex64;

use crate::{Covariance, Coverage, Immittance, Mobius};

/// Where |Z| comes out with 95 % probability, Ω.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModulusInterval {
    /// Lower end; 0 where the part is a short.
    pub low_ohm: f64,
    /// Upper end; infinite where the part is an open.
    pub high_ohm: f64,
}

impl ModulusInterval {
    /// True where the interval holds `ohm`, the ends included.
    pub fn contains(&self, ohm: f64) -> bool {
        self.low_ohm <= ohm && ohm <= self.high_ohm
    }
}

/// The interval of |Z| for readings that scatter by `reading` about that of `comes_out`.
///
/// `back` is the map from Z to the reading by which a reading is turned into ohms; `comes_out`
/// the device that the nominal reading gives by it, and `part` the device as it is. The two
/// devices differ where the fixture has strays that are not taken out. `None` without any
/// scatter, and where the nominal reading is at the pole of an active part.
///
/// ```
/// use jigwise_physics::{
///     Budget, Complex64, Fixture, Immittance, Instrument, ReferenceImpedance, modulus_interval,
/// };
///
/// let z0 = ReferenceImpedance::FIFTY_OHM;
/// let budget = Budget::new(&Instrument::HANDHELD, z0, 0)?;
/// let part = Immittance::from_impedance(Complex64::new(4_700.0, 0.0)).unwrap();
/// let bar = |fixture: Fixture| {
///     let scatter = budget.reading_covariance(fixture, part).unwrap();
///     modulus_interval(&fixture.map(z0), part, part, scatter).unwrap()
/// };
/// let good = bar(Fixture::SeriesThrough);
/// assert!((4_300.0..4_500.0).contains(&good.low_ohm));
/// assert!((5_000.0..5_200.0).contains(&good.high_ohm));
/// let poor = bar(Fixture::Reflect);
/// assert!(poor.low_ohm < 2_600.0 && poor.high_ohm > 10_000.0);
/// # Ok::<(), jigwise_physics::EntryError>(())
/// ```
pub fn modulus_interval(
    back: &Mobius,
    comes_out: Immittance,
    part: Immittance,
    reading: Covariance,
) -> Option<ModulusInterval> {
    let plane = ReadingPlane::of(back, comes_out, reading)?;
    let at_part = plane.place(part);
    let shares = plane.shares_at(at_part);
    let [low_share, high_share] = tails(shares);
    let low = || plane.place_of_share((at_part, shares), low_share, Side::Below);
    let high = || plane.place_of_share((at_part, shares), high_share, Side::Above);
    let ohm = |place: f64| plane.unit_ohm * place.exp();
    Some(ModulusInterval {
        low_ohm: if low_share > 0.0 { ohm(low()) } else { 0.0 },
        high_ohm: if high_share > 0.0 {
            ohm(high())
        } else {
            f64::INFINITY
        },
    })
}

/// What lies below a place and above it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Shares {
    below: f64,
    above: f64,
}

/// The shares left out below and above the interval.
fn tails(at_part: Shares) -> [f64; 2] {
    let both = 1.0 - Coverage::P95.probability();
    let half = 0.5 * both;
    if at_part.below < both {
        let low = half.min(0.5 * at_part.below);
        [low, both - low]
    } else {
        let high = half.min(0.5 * at_part.above);
        [both - high, high]
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Below,
    Above,
}

/// ln(|Z|/unit) of an end of the scale, in place of ±∞: far beyond what anybody measures.
const END: f64 = 300.0;

/// The reading plane round the nominal reading, in units of the scatter.
///
/// A place on the scale is y = ln(|Z|/unit).
#[derive(Debug, Clone, Copy)]
struct ReadingPlane {
    unit_ohm: f64,
    /// d·S0 − b and (a − c·S0)·unit.
    top: Complex64,
    bottom: Complex64,
    /// What a step of one standard deviation along each principal axis adds to either.
    top_steps: [Complex64; 2],
    bottom_steps: [Complex64; 2],
}

impl ReadingPlane {
    fn of(back: &Mobius, comes_out: Immittance, reading: Covariance) -> Option<Self> {
        let [[a, b], [c, d]] = back.rows();
        let (v, i) = (comes_out.v(), comes_out.i());
        let lower = c * v + d * i;
        let (wide, narrow) = reading.principal_variances();
        if lower == Complex64::ZERO || !(wide > 0.0 && wide.is_finite()) {
            return None;
        }
        // Both numbers come from the device, so that none of them is a small difference.
        let determinant = a * d - b * c;
        let unit_ohm = match (b.norm() + d.norm()) / (a.norm() + c.norm()) {
            unit if unit.is_finite() && unit > 0.0 => unit,
            _ => 1.0,
        };
        let sigma = wide.sqrt();
        let narrow = narrow.sqrt().max(LEAST_NARROWNESS * sigma);
        let axis = Complex64::cis(0.5 * (2.0 * reading.cross).atan2(reading.re - reading.im));
        let steps = [axis * sigma, axis * Complex64::I * narrow];
        Some(Self {
            unit_ohm,
            top: determinant * v / lower,
            bottom: determinant * i / lower * unit_ohm,
            top_steps: steps.map(|step| d * step),
            bottom_steps: steps.map(|step| -c * step * unit_ohm),
        })
    }

    /// ln(|Z|/unit), within the ends of the scale.
    fn place(&self, device: Immittance) -> f64 {
        let (v, i) = (device.v().norm(), device.i().norm() * self.unit_ohm);
        (v.ln() - i.ln()).clamp(-END, END)
    }

    /// What lies below a place and above it.
    fn shares_at(&self, place: f64) -> Shares {
        if place <= -END {
            return Shares {
                below: 0.0,
                above: 1.0,
            };
        }
        if place >= END {
            return Shares {
                below: 1.0,
                above: 0.0,
            };
        }
        // |top|² < r²·|bottom|², both sides divided by 1 + r².
        let r = place.exp();
        let (p, q) = (1.0 / (1.0 + r * r), 1.0 / (1.0 + 1.0 / (r * r)));
        let dot = |x: Complex64, y: Complex64| x.re * y.re + x.im * y.im;
        let form = |x: [Complex64; 2], y: [Complex64; 2]| p * dot(x[0], y[0]) - q * dot(x[1], y[1]);
        let at = [self.top, self.bottom];
        let steps = [0, 1].map(|k| [self.top_steps[k], self.bottom_steps[k]]);
        // The cross term is zero: the steps are perpendicular, and both maps are turns.
        let below = Conic {
            square: steps.map(|step| form(step, step)),
            slope: steps.map(|step| form(at, step)),
            constant: form(at, at),
        };
        if below.square[0] >= 0.0 {
            let below = below.probability();
            Shares {
                below,
                above: 1.0 - below,
            }
        } else {
            let above = below.negative().probability();
            Shares {
                below: 1.0 - above,
                above,
            }
        }
    }

    /// The place below or above which a share lies.
    ///
    /// Along the scale the normal quantile of the share is nearly a straight line, so the secants
    /// of it find the place in a few steps; each stays within the bracket.
    ///
    /// `start` is a place whose shares are known.
    fn place_of_share(&self, start: (f64, Shares), share: f64, side: Side) -> f64 {
        let wanted = normal_quantile(share, 1.0 - share);
        let miss_of = |Shares { below, above }| match side {
            Side::Below => normal_quantile(below, above) - wanted,
            Side::Above => wanted - normal_quantile(above, below),
        };
        let miss = |place: f64| miss_of(self.shares_at(place));
        let (mut low, mut high) = (-END, END);
        let (start, shares) = start;
        let mut last = (start, miss_of(shares));
        let mut place = start - last.1 * self.step_at_nominal();
        let mut found = start;
        for _ in 0..MAX_STEPS {
            if last.1 < 0.0 {
                low = low.max(last.0);
            } else {
                high = high.min(last.0);
            }
            // Where nothing is known of one side, a step goes no further than a few decades.
            let (least, most) = (low.max(last.0 - MAX_STEP), high.min(last.0 + MAX_STEP));
            if !(place > least && place < most) {
                place = 0.5 * (least + most);
            }
            let here = (place, miss(place));
            found = place;
            if here.1.abs() < MISS_OF_QUANTILE || high - low < 1e-12 {
                break;
            }
            let slope = (here.1 - last.1) / (here.0 - last.0);
            last = here;
            place = here.0 - here.1 / slope;
            if here.1.abs() < MISS_BEFORE_LAST_STEP && slope > 0.0 {
                found = place;
                break;
            }
        }
        found
    }

    /// Standard deviation of ln|Z| to first order, where that is small; else 1.
    fn step_at_nominal(&self) -> f64 {
        let of = |k: usize| {
            let step = self.top_steps[k] / self.top - self.bottom_steps[k] / self.bottom;
            step.re * step.re
        };
        let sigma = (of(0) + of(1)).sqrt();
        if sigma < 1.0 { sigma } else { 1.0 }
    }
}

/// Least scatter across, as a part of that along the widest direction; so small that it counts as
/// none.
const LEAST_NARROWNESS: f64 = 1e-6;
/// Secants of one search.
const MAX_STEPS: usize = 60;
/// Longest step along ln|Z| of one secant.
const MAX_STEP: f64 = 12.0;
/// How well the quantile of a share is met, in standard deviations.
const MISS_OF_QUANTILE: f64 = 1e-6;
/// Where one secant more, without another integral, leaves less than a thousandth.
const MISS_BEFORE_LAST_STEP: f64 = 5e-3;

/// The points w of a plane with Σ square_k·w_k² + 2·slope_k·w_k + constant < 0, both squares zero
/// or above: an ellipse, or half a plane.
#[derive(Debug, Clone, Copy)]
struct Conic {
    square: [f64; 2],
    slope: [f64; 2],
    constant: f64,
}

/// Beyond this many standard deviations nothing is left that counts.
const FAR: f64 = 8.0;
/// Nodes on either side of the middle, and their distance: the trapezoid rule is exact to 1e-10
/// for a Gaussian times what hardly bends within one.
const HALF_NODES: i32 = 8;
const NODE_DISTANCE: f64 = 0.8;
/// Nodes across a small ellipse, and how far from the middle they go: 1e-10 is left outside.
const ARC_NODES: u32 = 36;
const WINDOW: f64 = 6.5;
/// Least part of its depth at the middle that an ellipse keeps at the outermost node, to count as
/// wide.
const WIDE_ENOUGH: f64 = 0.4;

impl Conic {
    fn negative(self) -> Self {
        Self {
            square: self.square.map(|x| -x),
            slope: self.slope.map(|x| -x),
            constant: -self.constant,
        }
    }

    /// Probability of the points for two independent standard normal numbers.
    fn probability(&self) -> f64 {
        self.seen_from_the_edge().unwrap_or_else(|| self.across())
    }

    /// The integral along the edge, where that is nearly straight within the scatter; `None`
    /// where it is not.
    fn seen_from_the_edge(&self) -> Option<f64> {
        let [k1, k2] = self.slope;
        let size = (k1 * k1 + k2 * k2).sqrt();
        if size == 0.0 {
            return None;
        }
        // w = x·along + y·toward, the gradient at the middle pointing along y.
        let (cosine, sine) = (k2 / size, k1 / size);
        let [s1, s2] = self.square;
        let along = s1 * cosine * cosine + s2 * sine * sine;
        let toward = s1 * sine * sine + s2 * cosine * cosine;
        let mixed = (s1 - s2) * sine * cosine;
        let line = |x: f64| {
            let half = size + mixed * x;
            let constant = along * x * x + self.constant;
            (half, constant, half * half - toward * constant)
        };
        let edge = f64::from(HALF_NODES) * NODE_DISTANCE;
        let least = WIDE_ENOUGH * size * size;
        let is_wide = [-edge, 0.0, edge].into_iter().all(|x| {
            let (half, _, depth) = line(x);
            half > 0.0 && depth > least
        });
        if !is_wide {
            return None;
        }
        let mut sum = 0.0;
        for node in -HALF_NODES..=HALF_NODES {
            let x = f64::from(node) * NODE_DISTANCE;
            let (half, constant, depth) = line(x);
            let q = half + depth.sqrt();
            let share = normal_between(-q / toward, -constant / q);
            sum += density(x) * share;
        }
        Some(sum * NODE_DISTANCE)
    }

    /// The integral across an ellipse, along its shorter axis.
    fn across(&self) -> f64 {
        let [s1, s2] = self.square;
        let [k1, k2] = self.slope;
        if s1 <= 0.0 || s2 <= 0.0 {
            // Half a plane without a direction: everything or nothing.
            return if self.constant < 0.0 { 1.0 } else { 0.0 };
        }
        let center = -k1 / s1;
        let depth_at = |x: f64| k2 * k2 - s2 * ((s1 * x + 2.0 * k1) * x + self.constant);
        let most = depth_at(center);
        if most <= 0.0 {
            return 0.0;
        }
        let half = (most / (s1 * s2)).sqrt();
        let (from, to) = ((center - half).max(-WINDOW), (center + half).min(WINDOW));
        if to <= from {
            return 0.0;
        }
        let (middle, reach) = (0.5 * (from + to), 0.5 * (to - from));
        let sum: f64 = ARC
            .iter()
            .map(|[sine, cosine]| {
                let x = middle + reach * sine;
                let root = depth_at(x).max(0.0).sqrt();
                density(x) * normal_between((-k2 - root) / s2, (-k2 + root) / s2) * cosine
            })
            .sum();
        sum * PI / f64::from(ARC_NODES) * reach
    }
}

/// Sine and cosine at the nodes across a small ellipse, from −90° to 90° without the ends.
static ARC: LazyLock<[[f64; 2]; ARC_NODES as usize - 1]> = LazyLock::new(|| {
    std::array::from_fn(|k| {
        let angle_rad = (k + 1) as f64 * PI / f64::from(ARC_NODES) - FRAC_PI_2;
        [angle_rad.sin(), angle_rad.cos()]
    })
});

/// φ(x).
fn density(x: f64) -> f64 {
    const ONE_OVER_SQRT_TAU: f64 = 0.398_942_280_401_432_7;
    ONE_OVER_SQRT_TAU * (-0.5 * x * x).exp()
}

/// Φ(to) − Φ(from) for from ≤ to, without cancellation in the tails.
fn normal_between(from: f64, to: f64) -> f64 {
    let tail = upper_tail;
    let far = |x: f64| x.abs() > FAR;
    if from > 0.0 {
        return tail(from) - if far(to) { 0.0 } else { tail(to) };
    }
    // Seen from the other side both are tails again.
    let below = if far(from) { 0.0 } else { tail(-from) };
    if to < 0.0 {
        return tail(-to) - below;
    }
    1.0 - below - tail(to)
}

/// 1 − Φ(x) and its change per step, −φ(x)/64, at every 1/64 from 0 to 5.
static TAILS: LazyLock<[[f64; 2]; TAIL_STEPS + 1]> = LazyLock::new(|| {
    std::array::from_fn(|k| {
        let x = k as f64 / TAILS_PER_SIGMA;
        let tail = 0.5 * libm::erfc(x * FRAC_1_SQRT_2);
        [tail, -density(x) / TAILS_PER_SIGMA]
    })
});
const TAILS_PER_SIGMA: f64 = 64.0;
const TAIL_STEPS: usize = 320;

/// 1 − Φ(x) for x from −8 on.
///
/// Near the middle it is interpolated between known values by the cubic that has the right slopes
/// −φ, to 3e-10: an interval asks some hundred times.
fn upper_tail(x: f64) -> f64 {
    let place = x.abs() * TAILS_PER_SIGMA;
    let at = place as usize;
    if at >= TAIL_STEPS {
        return 0.5 * libm::erfc(x * FRAC_1_SQRT_2);
    }
    let ([left, begin], [right, end]) = (TAILS[at], TAILS[at + 1]);
    let t = place - at as f64;
    let rise = right - left;
    let value =
        left + t * (begin + t * (3.0 * rise - 2.0 * begin - end + t * (begin + end - 2.0 * rise)));
    if x < 0.0 { 1.0 - value } else { value }
}

/// The normal quantile of a share, to about 0.002: a scale on which shares are nearly even.
///
/// Source: the closed form of S. Winitzki for the inverse error function (cited from memory). Only
/// its smoothness counts here.
fn normal_quantile(below: f64, above: f64) -> f64 {
    const A: f64 = 0.147;
    let (below, above) = (below.max(f64::MIN_POSITIVE), above.max(f64::MIN_POSITIVE));
    let log = (4.0 * below * above).ln();
    let half = 2.0 / (PI * A) + 0.5 * log;
    let square = (half * half - log / A).sqrt() - half;
    let size = (2.0 * square.max(0.0)).sqrt();
    if below < above { -size } else { size }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Budget, Draws, Fixture, Instrument, ReferenceImpedance};

    const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

    fn part(re: f64, im: f64) -> Immittance {
        Immittance::from_impedance(Complex64::new(re, im)).unwrap()
    }

    /// Midpoint rule on a fine grid over the plane of both normal numbers.
    fn on_a_grid(conic: &Conic) -> f64 {
        const SIDE: i32 = 1_600;
        let step = 16.0 / f64::from(SIDE);
        let at = |k: i32| (f64::from(k) + 0.5) * step - 8.0;
        let mut sum = 0.0;
        for x in (0..SIDE).map(at) {
            for y in (0..SIDE).map(at) {
                let value = conic.square[0] * x * x
                    + conic.square[1] * y * y
                    + 2.0 * (conic.slope[0] * x + conic.slope[1] * y)
                    + conic.constant;
                if value < 0.0 {
                    sum += density(x) * density(y);
                }
            }
        }
        sum * step * step
    }

    #[test]
    fn both_integrals_agree_with_a_sum_over_the_plane() {
        let mut draws = Draws::new(20_261_129);
        let mut wide = 0;
        for _ in 0..40 {
            let size = 10f64.powf(2.5 * draws.uniform() - 0.7);
            let narrowness = 0.2 + 0.8 * draws.uniform();
            let turn = Complex64::cis(std::f64::consts::TAU * draws.uniform());
            let distance = size - 3.0 + 6.0 * draws.uniform();
            // An ellipse with semi-axes `size` and `size`/narrowness, its centre at `distance`.
            let square = [1.0 / (size * size), (narrowness / size).powi(2)];
            let center = [turn.re * distance, turn.im * distance / narrowness];
            let conic = Conic {
                square,
                slope: [-center[0] * square[0], -center[1] * square[1]],
                constant: center[0].powi(2) * square[0] + center[1].powi(2) * square[1] - 1.0,
            };
            let slow = on_a_grid(&conic);
            wide += i32::from(conic.seen_from_the_edge().is_some());
            for quick in [conic.seen_from_the_edge(), Some(conic.across())]
                .into_iter()
                .flatten()
            {
                assert!((quick - slow).abs() < 2e-4, "{quick} {slow} {conic:?}");
            }
            if let Some(edge) = conic.seen_from_the_edge() {
                assert!(
                    (edge - conic.across()).abs() < 3e-7,
                    "{edge} {} {conic:?}",
                    conic.across()
                );
            }
        }
        assert!((5..35).contains(&wide), "{wide}");
    }

    #[test]
    fn the_table_of_tails_is_that_of_the_library() {
        for k in -16_000..=16_000 {
            let x = f64::from(k) * 5e-4;
            let exact = 0.5 * libm::erfc(x * FRAC_1_SQRT_2);
            assert!((upper_tail(x) - exact).abs() < 3e-10, "{x}");
        }
    }

    #[test]
    fn the_interval_holds_the_part_and_leaves_one_in_twenty_out() {
        let mut draws = Draws::new(7);
        for (_, instrument) in Instrument::PRESETS {
            let budget = Budget::new(&instrument, Z0, 0).unwrap();
            for fixture in Fixture::ALL {
                for device in [
                    Immittance::SHORT,
                    part(0.02, 0.0),
                    part(3.0, -9.0),
                    part(50.0, 0.0),
                    part(2_000.0, 900.0),
                    part(2e6, -5e6),
                    Immittance::OPEN,
                ] {
                    let map = fixture.map(Z0);
                    let scatter = budget.reading_covariance(fixture, device).unwrap();
                    let bar = modulus_interval(&map, device, device, scatter).unwrap();
                    let size = device.impedance().map_or(f64::INFINITY, Complex64::norm);
                    assert!(bar.contains(size), "{fixture:?} {device:?} {bar:?}");
                    let nominal = fixture.reading(device, Z0).value().unwrap();
                    let factor = scatter.cholesky();
                    const TRIALS: u32 = 20_000;
                    let inside = (0..TRIALS)
                        .filter(|_| {
                            let s = nominal + factor.colour(draws.normal(), draws.normal());
                            let out = fixture.immittance(s, Z0).unwrap().impedance();
                            bar.contains(out.map_or(f64::INFINITY, Complex64::norm))
                        })
                        .count();
                    // Four standard deviations of the count of a share of 0.95.
                    let wanted = 0.95 * f64::from(TRIALS);
                    let off = (inside as f64 - wanted) / (0.05 * wanted).sqrt();
                    assert!(off.abs() < 4.5, "{fixture:?} {device:?} {bar:?}: {inside}");
                }
            }
        }
    }

    #[test]
    fn the_ends_move_steadily_with_the_part() {
        let budget = Budget::new(&Instrument::HANDHELD, Z0, 0).unwrap();
        for fixture in Fixture::ALL {
            let mut last: Option<ModulusInterval> = None;
            for step in 0..=4_000 {
                let device = part(10f64.powf(-3.0 + 9.0 * f64::from(step) / 4_000.0), 0.0);
                let scatter = budget.reading_covariance(fixture, device).unwrap();
                let bar = modulus_interval(&fixture.map(Z0), device, device, scatter).unwrap();
                if let Some(last) = last {
                    // |Z| grows by 0.52 % a step.
                    for (now, before) in
                        [(bar.low_ohm, last.low_ohm), (bar.high_ohm, last.high_ohm)]
                    {
                        let ratio = now / before;
                        assert!((0.98..1.06).contains(&ratio), "{fixture:?} {step}: {ratio}");
                    }
                }
                last = Some(bar);
            }
        }
    }
}
