//! The error budget written out a second time, with nothing shared with the library.
//!
//! An error δS of a reading comes back as δZ/Z = K·δS, K = |z + 1|²/(2|z|), |2z + 1|²/(2|z|),
//! |z + 2|²/(2|z|), z = Z/Z0; mean squares add (JCGM 100). The instruments are invented.

use std::f64::consts::{LN_10, SQRT_2};

use num_complex::Complex64;

/// Index of the reflect fixture.
pub const REFLECT: usize = 0;
/// Index of the shunt-through fixture.
pub const SHUNT: usize = 1;
/// Index of the series-through fixture.
pub const SERIES: usize = 2;
/// Two readings this many σ apart are told apart.
pub const SEEN: f64 = 2.0 * SQRT_2;

/// A budget in plain ratios and radians.
#[derive(Debug, Clone, Copy)]
pub struct Figures {
    /// Reflection of the load taken for zero.
    pub load: f64,
    /// What open and short differ from +1 and −1.
    pub open_and_short: f64,
    /// Through tracking.
    pub through: f64,
    /// Match of the receiving port left over.
    pub load_match: f64,
    /// Added to every S21.
    pub crosstalk: f64,
    /// Raw source and load match, of unknown phase.
    pub raw_match: f64,
    /// Reading with the ports terminated, rms.
    pub floor: f64,
    /// Trace noise of magnitude and phase.
    pub trace: [f64; 2],
    /// Display steps of magnitude and phase.
    pub step: [f64; 2],
    /// Scatter of connecting the part.
    pub reconnect: f64,
}

/// Handheld, club bench, laboratory, from their table in decibels and degrees.
pub fn presets() -> [(&'static str, Figures); 3] {
    let level = |db: f64| 10f64.powf(db / 20.0);
    let pair = |db: f64, deg: f64| [db * LN_10 / 20.0, deg.to_radians()];
    [
        (
            "handheld",
            Figures {
                load: level(-38.0),
                open_and_short: 0.015,
                through: 0.018,
                load_match: level(-34.0),
                crosstalk: level(-62.0),
                raw_match: 0.18,
                floor: level(-70.0),
                trace: pair(0.015, 0.10),
                step: pair(0.05, 0.5),
                reconnect: 0.003,
            },
        ),
        (
            "club-bench",
            Figures {
                load: level(-44.0),
                open_and_short: 0.008,
                through: 0.006,
                load_match: 0.0,
                crosstalk: level(-85.0),
                raw_match: 0.10,
                floor: level(-90.0),
                trace: pair(0.004, 0.025),
                step: pair(0.001, 0.01),
                reconnect: 0.001,
            },
        ),
        (
            "laboratory",
            Figures {
                load: level(-56.0),
                open_and_short: 0.0025,
                through: 0.0008,
                load_match: 0.0,
                crosstalk: level(-110.0),
                raw_match: 0.05,
                floor: level(-110.0),
                trace: pair(0.0006, 0.004),
                step: pair(0.0001, 0.001),
                reconnect: 0.0003,
            },
        ),
    ]
}

/// The first of them.
pub fn handheld() -> Figures {
    presets()[0].1
}

/// S of a part z = Z/Z0.
pub fn reading(fixture: usize, z: Complex64) -> Complex64 {
    match fixture {
        REFLECT => (z - 1.0) / (z + 1.0),
        SHUNT => 2.0 * z / (2.0 * z + 1.0),
        _ => 2.0 / (z + 2.0),
    }
}

/// K: relative error of Z for an error of S.
pub fn gain(fixture: usize, z: Complex64) -> f64 {
    let sum = match fixture {
        REFLECT => z + 1.0,
        SHUNT => 2.0 * z + 1.0,
        _ => z + 2.0,
    };
    sum.norm_sqr() / (2.0 * z.norm())
}

/// E|δZ/Z|² by the residuals of the standards.
pub fn residuals(fixture: usize, z: Complex64, f: &Figures) -> f64 {
    let s2 = reading(fixture, z).norm_sqr();
    let ends = f.open_and_short.powi(2);
    // Twice the load match, as a part of Z, times a residual; and a leak times what the part
    // reflects, to the source and back to the load.
    let products = |mirrored: Complex64| {
        // S11 = S21 − 1 across the line, 1 − S21 along it.
        let reflected = (1.0 - reading(fixture, z)).norm();
        let leak = gain(fixture, z) * f.crosstalk * reflected;
        f.raw_match.powi(2)
            * (4.0 * (ends + f.load_match.powi(2) + f.through.powi(2))
                + leak.powi(2) * (1.0 + mirrored.norm_sqr()))
    };
    let through = |factor: f64, mirrored: Complex64| {
        factor * (f.through.powi(2) + f.crosstalk.powi(2) / s2)
            + ends / 2.0
            + f.load_match.powi(2)
            + products(mirrored)
    };
    4.0 * f.load.powi(2)
        + match fixture {
            REFLECT => ends * (z - 1.0).norm_sqr() / 4.0 * (1.0 + 1.0 / z.norm_sqr()),
            SHUNT => through(
                (2.0 * z + 1.0).norm_sqr(),
                (2.0 * z - 1.0) / (2.0 * z + 1.0),
            ),
            _ => through((z + 2.0).norm_sqr() / z.norm_sqr(), (2.0 - z) / (z + 2.0)),
        }
}

/// E|δZ/Z|² by noise and display; a display step is uniform, σ = step/√12.
pub fn noise_and_display(fixture: usize, z: Complex64, f: &Figures) -> f64 {
    let sum = |[a, b]: [f64; 2]| a * a + b * b;
    let s2 = reading(fixture, z).norm_sqr();
    let seen = f.floor.powi(2) + s2 * (sum(f.trace) + sum(f.step) / 12.0);
    gain(fixture, z).powi(2) * seen
}

/// Distance of two readings in σ of one: d² = ΔSᵀ·C⁻¹·ΔS, C the mean of both covariances.
pub fn separation(fixture: usize, parts: [Complex64; 2], f: &Figures, swapped: bool) -> f64 {
    let s = parts.map(|z| reading(fixture, z));
    let delta = s[1] - s[0];
    let round = f.floor.powi(2) / 2.0
        + if swapped {
            f.reconnect.powi(2) / 2.0
        } else {
            0.0
        };
    let [a, b] = f.trace.map(|t| t * t);
    let mut c = [0.0; 3];
    for s in s {
        c[0] += (round + a * s.re * s.re + b * s.im * s.im) / 2.0;
        c[1] += (round + a * s.im * s.im + b * s.re * s.re) / 2.0;
        c[2] += (a - b) * s.re * s.im / 2.0;
    }
    let [xx, yy, xy] = c;
    let square =
        yy * delta.re * delta.re - 2.0 * xy * delta.re * delta.im + xx * delta.im * delta.im;
    (square / (xx * yy - xy * xy)).sqrt()
}

/// True where the shown decibels or degrees change by a step or more.
pub fn display_moves(fixture: usize, parts: [Complex64; 2], f: &Figures) -> bool {
    let [a, b] = parts.map(|z| reading(fixture, z));
    let turn = b / a;
    turn.norm().ln().abs() >= f.step[0] || turn.arg().abs() >= f.step[1]
}

/// The resistance in ohms at which noise and display begin to tell a part from an end, by halving.
pub fn told_from(fixture: usize, end: f64, f: &Figures) -> f64 {
    let tells = |z: f64| {
        let parts = [z, end].map(Complex64::from);
        display_moves(fixture, parts, f) && separation(fixture, parts, f, false) >= SEEN
    };
    let (mut near, mut far) = (end.ln(), 0f64);
    for _ in 0..200 {
        let middle = 0.5 * (near + far);
        if tells(middle.exp()) {
            far = middle
        } else {
            near = middle
        }
    }
    far.exp() * 50.0
}
