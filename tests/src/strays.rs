//! Fixtures with strays to draw from, and what they read.

use jigwise_physics::{Fixture, Immittance, Line, Strays};
use num_complex::Complex64;
use proptest::prelude::*;

use crate::fifty_ohm::Z0;
use crate::parts::log_uniform;

/// A lossy line of 0.1 mm to 0.5 m, 25 to 150 Ω.
pub fn line() -> impl Strategy<Value = Line> {
    line_of((
        log_uniform((1e-4, 0.5)),
        0.4..=1.0,
        25.0..=150.0,
        0.0..=3.0,
        0.0..=1.0,
    ))
}

/// A line of a length in metres, a velocity factor, an impedance in ohms, and a conductor and a
/// dielectric loss in dB/m at 1 GHz, drawn in this order.
pub fn line_of(
    sizes: impl Strategy<Value = (f64, f64, f64, f64, f64)>,
) -> impl Strategy<Value = Line> {
    sizes.prop_map(
        |(length_m, velocity_factor, zc_ohm, conductor, dielectric)| Line {
            length_m,
            velocity_factor,
            zc_ohm,
            conductor_db_per_m_at_1ghz: conductor,
            dielectric_db_per_m_at_1ghz: dielectric,
        },
    )
}

/// Strays of a hand-built fixture: up to 1 pF, 5 nH, 1 Ω of contact, and both arms.
pub fn strays() -> impl Strategy<Value = Strays> {
    (
        log_uniform((1e-15, 1e-12)),
        log_uniform((1e-12, 5e-9)),
        log_uniform((1e-15, 1e-12)),
        0.0..=1.0,
        (0.0..=0.1, 0.0..=1e-3),
        line(),
        line(),
    )
        .prop_map(
            |(gap_f, ground_h, pin_f, contact_ohm, braid, before, after)| Strays {
                gap_f,
                ground_h,
                pin_f,
                contact_ohm,
                braid_ohm: braid.0,
                braid_loop_h: braid.1,
                before,
                after,
            },
        )
}

/// What the fixture reads of a device on 50 Ω.
///
/// # Panics
/// Where there is no reading.
#[track_caller]
pub fn reading(strays: &Strays, fixture: Fixture, device: Immittance, freq_hz: f64) -> Complex64 {
    strays
        .reading(fixture, device, freq_hz, Z0)
        .unwrap()
        .value()
        .unwrap()
}

/// 1 kHz to 3 GHz.
pub fn freq_hz() -> impl Strategy<Value = f64> {
    log_uniform((1e3, 3e9))
}
