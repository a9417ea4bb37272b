//! Devices and references to draw from: more than any bench holds, so that the laws are
//! tried where rounding and overflow would show.

use std::f64::consts::{PI, TAU};

use jigwise_physics::{Crystal, Fixture, Immittance, ReferenceImpedance};
use num_complex::Complex64;
use proptest::prelude::*;

/// The smallest and largest |Z| drawn, 1 µΩ and 1 GΩ.
pub const MAGNITUDE_OHM: (f64, f64) = (1e-6, 1e9);

/// The smallest and largest reference drawn, 1 mΩ and 1 MΩ.
pub const REFERENCE_OHM: (f64, f64) = (1e-3, 1e6);

/// A positive number, evenly spread in its logarithm.
pub fn log_uniform((low, high): (f64, f64)) -> impl Strategy<Value = f64> {
    (low.log10()..=high.log10()).prop_map(|exponent| 10f64.powf(exponent))
}

/// R + jX in ohms at any phase, active parts (R < 0) too; the axes exactly, now and then.
pub fn impedance_ohm() -> impl Strategy<Value = Complex64> {
    let direction = prop_oneof![
        6 => (-PI..=PI).prop_map(|angle_rad| Complex64::from_polar(1.0, angle_rad)),
        1 => prop::sample::select(vec![
            Complex64::ONE,
            -Complex64::ONE,
            Complex64::I,
            -Complex64::I,
        ]),
    ];
    (log_uniform(MAGNITUDE_OHM), direction).prop_map(|(ohm, direction)| direction * ohm)
}

/// R + jX in ohms with R ≥ 0.
pub fn passive_impedance_ohm() -> impl Strategy<Value = Complex64> {
    impedance_ohm().prop_map(|z| Complex64::new(z.re.abs(), z.im))
}

/// Any device: mostly an impedance, now and then an open or a short.
pub fn device() -> impl Strategy<Value = Immittance> {
    prop_oneof![
        8 => impedance_ohm().prop_map(part),
        1 => Just(Immittance::OPEN),
        1 => Just(Immittance::SHORT),
    ]
}

/// 50 Ω, 75 Ω, or anything from 1 mΩ to 1 MΩ.
pub fn reference() -> impl Strategy<Value = ReferenceImpedance> {
    prop_oneof![
        2 => Just(50.0),
        1 => Just(75.0),
        3 => log_uniform(REFERENCE_OHM),
    ]
    .prop_map(|ohm| ReferenceImpedance::new(ohm).expect("drawn above zero"))
}

/// One of the three fixtures.
pub fn fixture() -> impl Strategy<Value = Fixture> {
    prop::sample::select(Fixture::ALL.to_vec())
}

/// A reference with an impedance: anywhere, near the reference where the readings vary
/// most, or near the poles of active parts at −Z0, −Z0/2 and −2·Z0.
pub fn reference_and_impedance_ohm() -> impl Strategy<Value = (ReferenceImpedance, Complex64)> {
    let near = (
        reference(),
        prop::sample::select(vec![1.0, 0.5, 2.0, -1.0, -0.5, -2.0]),
        log_uniform((1e-12, 1.0)),
        -PI..=PI,
    )
        .prop_map(|(z0, centre, offset, angle_rad)| {
            let z = Complex64::from_polar(offset, angle_rad) + centre;
            (z0, z * z0.ohm())
        });
    prop_oneof![
        3 => (reference(), impedance_ohm()),
        1 => near,
    ]
}

/// A quartz crystal of 10 MHz whose figures are round.
pub fn crystal() -> Crystal {
    Crystal {
        series_resonance_hz: 10e6,
        motional_capacitance_f: 20e-15,
        motional_resistance_ohm: 10.0,
        parallel_capacitance_f: 5e-12,
    }
}

/// A device of R + jX ohms.
///
/// # Panics
/// For NaN or infinity, which no strategy here draws.
pub fn part(ohm: Complex64) -> Immittance {
    Immittance::from_impedance(ohm).expect("drawn finite")
}

/// An ideal coil, Z = jωL.
///
/// # Panics
/// For numbers that are none.
pub fn coil(henry: f64, freq_hz: f64) -> Immittance {
    part(Complex64::new(0.0, TAU * freq_hz * henry))
}
