//! The way of a changing device through one fixture, and where on it a change first shows.
//!
//! Let the device run along (v, i) + τ·(v₁, i₁), 0 ≤ τ < ∞, from what it is to an end (an open,
//! a short, a lossless part). With N and L numerator and denominator of the reading along the
//! way, s0 the first reading, p = s0·L, n = N and κ = N₁ − s0·L₁, one has ΔS = κ·τ/L without
//! any cancellation, and
//!
//! M = |L|²·C̄ = λ·1 + γ·(p·pᵀ + n·nᵀ), λ = σ_f²·|L|² + min(α, β)·(|p|² + |n|²)/2,
//! γ = |α − β|/2
//!
//! with α, β the radial and tangential variances relative to |S|² (for β > α turn p and n by
//! 90°). d² = τ²·κᵀ·adj(M)·κ/det M, so that d² ≥ 8 is an inequality of fourth degree in τ, and
//! its first root is exact even where d does not rise steadily.

use num_complex::Complex64;

use crate::budget::{Noise, View};
use crate::polynomial::{
    first_root_of_quadratic, first_root_of_quartic, product, quadratic_at, value_at,
};
use crate::resolve::step_of;
use crate::{Direction, Immittance, Nudge, Resolvable, ResolvableChange, SEEN_SIGMA};

/// What `t` is along a way, from τ.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Scale {
    /// t = w·τ.
    Linear(f64),
    /// t = −r·w·τ/(1 + w·τ).
    Towards { reach: f64, weight: f64 },
}

impl Scale {
    fn fraction(self, tau: f64) -> f64 {
        match self {
            Self::Linear(weight) => weight * tau,
            Self::Towards { reach, weight } => {
                let x = weight * tau;
                -reach
                    * if x > 1.0 {
                        1.0 / (1.0 + 1.0 / x)
                    } else {
                        x / (1.0 + x)
                    }
            }
        }
    }

    /// τ for a signed t on this way; `None` beyond its end.
    fn tau(self, t: f64) -> Option<f64> {
        match self {
            Self::Linear(weight) => {
                let tau = t / weight;
                (tau >= 0.0).then_some(tau)
            }
            Self::Towards { reach, weight } => {
                let part = -t / reach;
                (0.0..1.0)
                    .contains(&part)
                    .then(|| part / (1.0 - part) / weight)
            }
        }
    }
}

/// A way of the device through one fixture, as polynomials in τ.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Path {
    scale: Scale,
    kappa_sqr: f64,
    /// |L|², |p|², |n|².
    bottom: [f64; 3],
    before: [f64; 3],
    after: [f64; 3],
    /// p·κ and p×κ, first degree.
    dot: [f64; 2],
    cross: [f64; 2],
}

fn dot(a: Complex64, b: Complex64) -> f64 {
    a.re * b.re + a.im * b.im
}

fn cross(a: Complex64, b: Complex64) -> f64 {
    a.re * b.im - a.im * b.re
}

fn size_of_line(start: Complex64, step: Complex64) -> [f64; 3] {
    [start.norm_sqr(), 2.0 * dot(start, step), step.norm_sqr()]
}

fn square_of_line(line: [f64; 2]) -> [f64; 3] {
    [
        line[0] * line[0],
        2.0 * line[0] * line[1],
        line[1] * line[1],
    ]
}

impl Path {
    /// From the device of `view` along (v₁, i₁) = `towards`.
    pub(crate) fn new(
        view: &View,
        device: Immittance,
        z0: f64,
        towards: (Complex64, Complex64),
        scale: impl FnOnce(f64) -> Scale,
    ) -> Self {
        let (v1, i1) = towards;
        let fixture = view.fixture;
        let step = fixture.weighted_sum(v1, i1, z0);
        // Weighting the end so that both ends count alike keeps τ and the coefficients near 1.
        let weight = match (view.bottom.norm_sqr() / step.norm_sqr()).sqrt() {
            w if w.is_finite() && w > 0.0 => w,
            _ => 1.0,
        };
        let step = step * weight;
        let top_step = fixture.weighted_top(v1, i1, z0) * weight;
        let turn = (v1 * device.i() - i1 * device.v()) * (weight * fixture.determinant(z0));
        let kappa = turn * view.bottom.conj() * (1.0 / view.bottom.norm_sqr());
        let before_step = view.s * step;
        Self {
            scale: scale(weight),
            kappa_sqr: kappa.norm_sqr(),
            bottom: size_of_line(view.bottom, step),
            before: size_of_line(view.top, before_step),
            after: size_of_line(view.top, top_step),
            dot: [dot(view.top, kappa), dot(before_step, kappa)],
            cross: [cross(view.top, kappa), cross(before_step, kappa)],
        }
    }

    /// λ, and κᵀ·adj(M)·κ without λ·|κ|², as quadratics; |p|² + |n|²; γ.
    fn parts(&self, noise: Noise) -> ([f64; 3], [f64; 3], [f64; 3], f64) {
        let sum: [f64; 3] = std::array::from_fn(|k| self.before[k] + self.after[k]);
        let gamma = 0.5 * (noise.radial - noise.tangential).abs();
        let common = 0.5 * noise.radial.min(noise.tangential);
        let lambda = std::array::from_fn(|k| noise.floor * self.bottom[k] + common * sum[k]);
        let extra = if noise.radial >= noise.tangential {
            square_of_line(self.cross).map(|c| 2.0 * gamma * c)
        } else {
            let first = square_of_line(self.dot);
            let second = square_of_line([self.dot[0], self.dot[1] + self.kappa_sqr]);
            std::array::from_fn(|k| gamma * (first[k] + second[k]))
        };
        (lambda, extra, sum, gamma)
    }

    /// Coefficients of κᵀ·adj(M)·κ and of det M.
    fn numerator_and_determinant(&self, noise: Noise) -> ([f64; 3], [f64; 5]) {
        let (lambda, extra, sum, gamma) = self.parts(noise);
        let numerator = std::array::from_fn(|k| lambda[k] * self.kappa_sqr + extra[k]);
        let mut determinant = product(lambda, std::array::from_fn(|k| lambda[k] + gamma * sum[k]));
        let square = square_of_line(self.cross);
        for k in 0..3 {
            determinant[k + 2] += gamma * gamma * square[k];
        }
        (numerator, determinant)
    }

    fn noise_limit(&self, noise: Noise) -> Option<f64> {
        let (numerator, determinant) = self.numerator_and_determinant(noise);
        let mut excess = determinant.map(|c| -SEEN_SIGMA * SEEN_SIGMA * c);
        for k in 0..3 {
            excess[k + 2] += numerator[k];
        }
        first_root_of_quartic(excess).map(|tau| self.scale.fraction(tau))
    }

    /// The part x of the noise variance at which the separation at `tau` is 2√2, beside a
    /// scatter `fixed` per component that stays. `None` where `fixed` alone hides the change.
    pub(crate) fn noise_left(&self, noise: Noise, fixed: f64, tau: f64) -> Option<f64> {
        let (lambda, extra, sum, gamma) = self.parts(noise);
        let [lambda, extra, sum] = [lambda, extra, sum].map(|c| quadratic_at(c, tau));
        let fixed = fixed * quadratic_at(self.bottom, tau);
        let cross = (self.cross[0] + self.cross[1] * tau) * tau;
        // M = x·M_noise + fixed·1, and 8·det M − τ²·κᵀ·adj(M)·κ is a quadratic in x that must be
        // at or below zero.
        let t2 = tau * tau;
        let curve = 8.0 * (lambda * (lambda + gamma * sum) + gamma * gamma * cross * cross);
        let slope =
            8.0 * fixed * (2.0 * lambda + gamma * sum) - t2 * (lambda * self.kappa_sqr + extra);
        let at_zero = fixed * (8.0 * fixed - t2 * self.kappa_sqr);
        if fixed > 0.0 && at_zero >= 0.0 {
            return None;
        }
        let root = (slope * slope - 4.0 * curve * at_zero).sqrt();
        Some(if slope > 0.0 {
            -2.0 * at_zero / (slope + root)
        } else {
            (root - slope) / (2.0 * curve)
        })
    }

    fn display_limit(&self, display: &DisplaySteps) -> Option<f64> {
        self.display_crossings(display)
            .into_iter()
            .filter_map(first_root_of_quadratic)
            .reduce(f64::min)
            .map(|tau| self.scale.fraction(tau))
    }

    /// Four quadratics, each at or above zero where the display has moved: brighter, dimmer,
    /// turned forward, turned back.
    fn display_crossings(&self, display: &DisplaySteps) -> [[f64; 3]; 4] {
        let (less, more) = (display.one_less_gain, display.one_less_gain - 1.0);
        // |n|² = |p|² + 2τ·p·κ + τ²·|κ|².
        let grown = [0.0, 2.0 * self.dot[0], 2.0 * self.dot[1] + self.kappa_sqr];
        let brighter = std::array::from_fn(|k| less * self.before[k] + grown[k]);
        let dimmer = std::array::from_fn(|k| less * self.before[k] + more * grown[k]);
        // p*·n = |p|² + τ·(p·κ) + jτ·(p×κ).
        let along = [
            self.before[0],
            self.before[1] + self.dot[0],
            self.before[2] + self.dot[1],
        ];
        let across = [0.0, self.cross[0], self.cross[1]];
        let tangent = display.tangent;
        [
            brighter,
            dimmer,
            std::array::from_fn(|k| across[k] - tangent * along[k]),
            std::array::from_fn(|k| -across[k] - tangent * along[k]),
        ]
    }

    fn separation(&self, noise: Noise, tau: f64) -> f64 {
        let (numerator, determinant) = self.numerator_and_determinant(noise);
        // Beyond τ = 1 both are divided by τ⁴, so that neither overflows.
        let square = if tau <= 1.0 {
            tau * tau * quadratic_at(numerator, tau) / value_at(&determinant, tau)
        } else {
            let x = 1.0 / tau;
            let [a, b, c] = numerator;
            let mut backwards = determinant;
            backwards.reverse();
            quadratic_at([c, b, a], x) / value_at(&backwards, x)
        };
        square.sqrt()
    }

    pub(crate) fn resolvable(&self, noise: Noise, display: &DisplaySteps) -> ResolvableChange {
        ResolvableChange {
            noise: self.noise_limit(noise),
            display: self.display_limit(display),
        }
    }
}

/// The display steps in the form the crossings need.
#[derive(Debug, Clone, Copy)]
pub(crate) struct DisplaySteps {
    /// 1 − g, g the ratio of |S|² of one step.
    one_less_gain: f64,
    /// Tangent of the step of phase.
    tangent: f64,
}

impl DisplaySteps {
    /// Of a step δ|S|/|S| and an angle below 90°.
    pub(crate) fn new(magnitude: f64, phase_rad: f64) -> Self {
        Self {
            one_less_gain: -(2.0 * magnitude).exp_m1(),
            tangent: phase_rad.tan(),
        }
    }
}

/// Both ways of a device through one fixture.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ways {
    increase: Path,
    decrease: Option<Path>,
}

impl Ways {
    /// `None` at an open and a short.
    pub(crate) fn of(
        view: &View,
        device: Immittance,
        z0: f64,
        direction: Direction,
    ) -> Option<Self> {
        if device.is_open() || device.is_short() {
            return None;
        }
        let (v, i) = (device.v(), device.i());
        let zero = Complex64::ZERO;
        let path =
            |towards, scale: &dyn Fn(f64) -> Scale| Path::new(view, device, z0, towards, scale);
        Some(match direction {
            Direction::Magnitude => Self {
                increase: path((v, zero), &Scale::Linear),
                decrease: Some(path((zero, i), &|weight| Scale::Towards {
                    reach: 1.0,
                    weight,
                })),
            },
            Direction::Resistance => {
                let step = step_of(device);
                let increase = path((step, zero), &Scale::Linear);
                let power = device.power_product();
                let decrease = if power > 0.0 {
                    // A passive part loses resistance only down to none.
                    let lossless = v - i * (power / i.norm_sqr());
                    let reach = power / (v.norm() * i.norm());
                    Some(path((lossless, i), &|weight| Scale::Towards {
                        reach,
                        weight,
                    }))
                } else if power < 0.0 {
                    Some(path((-step, zero), &|weight| Scale::Linear(-weight)))
                } else {
                    None
                };
                Self { increase, decrease }
            }
            Direction::Reactance => {
                let step = step_of(device) * Complex64::I;
                Self {
                    increase: path((step, zero), &Scale::Linear),
                    decrease: Some(path((-step, zero), &|weight| Scale::Linear(-weight))),
                }
            }
        })
    }

    pub(crate) fn resolvable(&self, noise: Noise, display: &DisplaySteps) -> Resolvable {
        const NEVER: ResolvableChange = ResolvableChange {
            noise: None,
            display: None,
        };
        Resolvable {
            increase: self.increase.resolvable(noise, display),
            decrease: self
                .decrease
                .map_or(NEVER, |path| path.resolvable(noise, display)),
        }
    }

    /// The way a nudge goes and how far along it is. `None` past its end.
    pub(crate) fn on_the_way(&self, nudge: Nudge) -> Option<(Path, f64)> {
        let path = if nudge.amount() > 0.0 {
            self.increase
        } else {
            self.decrease?
        };
        Some((path, path.scale.tau(nudge.amount())?))
    }

    pub(crate) fn separation(&self, noise: Noise, nudge: Nudge) -> Option<f64> {
        let (path, tau) = self.on_the_way(nudge)?;
        Some(path.separation(noise, tau))
    }

    pub(crate) fn display_moves(&self, display: &DisplaySteps, nudge: Nudge) -> Option<bool> {
        let (path, tau) = self.on_the_way(nudge)?;
        let moved = path
            .display_crossings(display)
            .into_iter()
            .any(|c| quadratic_at(c, tau) >= 0.0);
        Some(moved)
    }
}
