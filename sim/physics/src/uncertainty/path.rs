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

use crate::uncertainty::noise::{DisplaySteps, Noise};
use crate::uncertainty::nudge::step_of;
use crate::uncertainty::polynomial::{
    first_root_of_quadratic, first_root_of_quartic, product, quadratic_at, value_at,
};
use crate::uncertainty::view::View;
use crate::{Direction, Immittance, Nudge, Resolvable, ResolvableChange, SEEN_SIGMA};

/// What `t` is along a way, from x = w·τ.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Scale {
    /// t = x.
    Forward,
    /// t = −x.
    Backward,
    /// t = −r·x/(1 + x): at the end of the way a part r is gone.
    Towards(f64),
}

impl Scale {
    fn fraction(self, x: f64) -> f64 {
        match self {
            Self::Forward => x,
            Self::Backward => -x,
            Self::Towards(reach) if x > 1.0 => -reach / (1.0 + 1.0 / x),
            Self::Towards(reach) => -reach * x / (1.0 + x),
        }
    }

    /// x for a signed t on this way; `None` beyond its end.
    fn position(self, t: f64) -> Option<f64> {
        let x = match self {
            Self::Forward => t,
            Self::Backward => -t,
            Self::Towards(reach) => {
                let part = -t / reach;
                if part >= 1.0 {
                    return None;
                }
                part / (1.0 - part)
            }
        };
        (x >= 0.0).then_some(x)
    }
}

/// A way of the device through one fixture, as polynomials in τ.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Path {
    scale: Scale,
    weight: f64,
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
        view: &View<'_>,
        device: Immittance,
        z0: f64,
        towards: (Complex64, Complex64),
        scale: Scale,
    ) -> Self {
        let (v1, i1) = towards;
        let step = view.bottom_of(v1, i1, z0);
        // Weighting the end so that both ends count alike keeps τ and the coefficients near 1.
        let weight = match (view.bottom.norm_sqr() / step.norm_sqr()).sqrt() {
            w if w.is_finite() && w > 0.0 => w,
            _ => 1.0,
        };
        let step = step * weight;
        let top_step = view.top_of(v1, i1, z0) * weight;
        let turn = view.by_determinant(v1 * device.i() - i1 * device.v(), weight, z0);
        let kappa = turn * view.bottom.conj() * (1.0 / view.bottom.norm_sqr());
        let before_step = view.s * step;
        Self {
            scale,
            weight,
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

    /// What is asked of a way, for a given noise and display.
    pub(crate) fn curves(&self, noise: Noise, display: &DisplaySteps) -> Curves {
        let (lambda, extra, sum, gamma) = self.parts(noise);
        let numerator = std::array::from_fn(|k| lambda[k] * self.kappa_sqr + extra[k]);
        let mut determinant = product(lambda, std::array::from_fn(|k| lambda[k] + gamma * sum[k]));
        let square = square_of_line(self.cross);
        for k in 0..3 {
            determinant[k + 2] += gamma * gamma * square[k];
        }
        Curves {
            scale: self.scale,
            weight: self.weight,
            numerator,
            determinant,
            crossings: self.display_crossings(display),
        }
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

    /// τ for a signed t on this way; `None` beyond its end.
    pub(crate) fn tau(&self, t: f64) -> Option<f64> {
        Some(self.scale.position(t)? / self.weight)
    }
}

/// Noise and display along a [`Path`], as polynomials in τ.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Curves {
    scale: Scale,
    weight: f64,
    /// κᵀ·adj(M)·κ.
    numerator: [f64; 3],
    /// det M.
    determinant: [f64; 5],
    /// At or above zero where the display has moved.
    crossings: [[f64; 3]; 4],
}

impl Curves {
    /// Smallest change that shows.
    pub(crate) fn change(&self) -> ResolvableChange {
        let mut excess = self.determinant.map(|c| -SEEN_SIGMA * SEEN_SIGMA * c);
        for k in 0..3 {
            excess[k + 2] += self.numerator[k];
        }
        let noise = first_root_of_quartic(excess);
        let display = self
            .crossings
            .map(first_root_of_quadratic)
            .into_iter()
            .fold(f64::INFINITY, f64::min);
        let change = |tau: f64| {
            tau.is_finite()
                .then(|| self.scale.fraction(self.weight * tau))
        };
        ResolvableChange {
            noise: change(noise),
            display: change(display),
        }
    }

    /// d at τ; `None` where the way just there crosses the pole of an active part.
    pub(crate) fn separation(&self, tau: f64) -> Option<f64> {
        // Beyond τ = 1 both are divided by τ⁴, so that neither overflows.
        let square = if tau <= 1.0 {
            tau * tau * quadratic_at(self.numerator, tau) / value_at(&self.determinant, tau)
        } else {
            let x = 1.0 / tau;
            let [a, b, c] = self.numerator;
            let mut backwards = self.determinant;
            backwards.reverse();
            quadratic_at([c, b, a], x) / value_at(&backwards, x)
        };
        // Below zero only by rounding, at the pole itself.
        (square >= 0.0 && square.is_finite()).then(|| square.sqrt())
    }

    /// True where the display shows another value at τ than at the start.
    pub(crate) fn display_moves(&self, tau: f64) -> bool {
        self.crossings
            .into_iter()
            .any(|c| quadratic_at(c, tau) >= 0.0)
    }
}

/// Both ways of a device through one fixture.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ways {
    pub increase: Path,
    pub decrease: Option<Path>,
}

impl Ways {
    /// `None` at an open and a short.
    #[inline]
    pub(crate) fn of(
        view: &View<'_>,
        device: Immittance,
        z0: f64,
        direction: Direction,
    ) -> Option<Self> {
        if device.is_open() || device.is_short() {
            return None;
        }
        let (v, i) = (device.v(), device.i());
        let zero = Complex64::ZERO;
        let path = |towards, scale| Path::new(view, device, z0, towards, scale);
        Some(match direction {
            Direction::Magnitude => Self {
                increase: path((v, zero), Scale::Forward),
                decrease: Some(path((zero, i), Scale::Towards(1.0))),
            },
            Direction::Resistance => {
                let step = step_of(device);
                let power = device.power_product();
                let decrease = if power > 0.0 {
                    // A passive part loses resistance only down to none.
                    let lossless = v - i * (power / i.norm_sqr());
                    let reach = power / (v.norm() * i.norm());
                    Some(path((lossless, i), Scale::Towards(reach)))
                } else if power < 0.0 {
                    Some(path((-step, zero), Scale::Backward))
                } else {
                    None
                };
                Self {
                    increase: path((step, zero), Scale::Forward),
                    decrease,
                }
            }
            Direction::Reactance => {
                let step = step_of(device) * Complex64::I;
                Self {
                    increase: path((step, zero), Scale::Forward),
                    decrease: Some(path((-step, zero), Scale::Backward)),
                }
            }
        })
    }

    pub(crate) fn resolvable(&self, noise: Noise, display: &DisplaySteps) -> Resolvable {
        Resolvable {
            increase: self.increase.curves(noise, display).change(),
            decrease: self.decrease.map_or(ResolvableChange::NEVER, |path| {
                path.curves(noise, display).change()
            }),
        }
    }

    /// The way a nudge goes and how far along it is. `None` past its end.
    pub(crate) fn on_the_way(&self, nudge: Nudge) -> Option<(&Path, f64)> {
        let path = if nudge.amount() > 0.0 {
            &self.increase
        } else {
            self.decrease.as_ref()?
        };
        Some((path, path.tau(nudge.amount())?))
    }
}
