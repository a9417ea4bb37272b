//! An analyzer of known error terms, and parts and standards to measure with it.
//!
//! Sources of the models: Rumiantsev and Ridler, IEEE Microwave Magazine 9(3), 86–99, 2008.

use jigwise_physics::{
    Cause, Complex64, Definitions, DirectionTerms, Fixture, Immittance, Isolation,
    MeasuredStandards, Network, OnePortTerms, Scattering, Trio, TwelveTerms,
};

pub use crate::fifty_ohm::{Z0, c, ohm};

/// The reflection of a part.
///
/// # Panics
/// At −50 Ω.
pub fn gamma_of(part: Immittance) -> Complex64 {
    Fixture::Reflect.reading(part, Z0).value().unwrap()
}

/// The ohms that a reading stands for.
///
/// # Panics
/// For the reading of an open.
pub fn impedance_of(fixture: Fixture, reading: Complex64) -> Complex64 {
    let back = fixture.immittance(reading, Z0).unwrap();
    back.impedance().unwrap()
}

/// Magnitude and angle in degrees.
pub fn polar(size: f64, degrees: f64) -> Complex64 {
    Complex64::from_polar(size, degrees.to_radians())
}

/// Passes where `value` is within `tolerance` of `printed`.
///
/// # Panics
/// Where it is not.
#[track_caller]
pub fn near_printed(value: Complex64, printed: Complex64, tolerance: f64) {
    let miss = (value - printed).norm();
    assert!(miss <= tolerance, "{value} for {printed}, off by {miss:e}");
}

/// Three terms of a port.
pub fn oracle_a() -> OnePortTerms {
    OnePortTerms {
        directivity: c(0.05, -0.03),
        source_match: c(0.10, 0.08),
        reflect_tracking: polar(0.92, -40.0),
    }
}

/// Twelve terms, those of [`oracle_a`] at port 1.
pub fn oracle_c() -> TwelveTerms {
    TwelveTerms {
        forward: DirectionTerms {
            one_port: oracle_a(),
            load_match: c(0.06, -0.05),
            through_tracking: polar(0.90, -55.0),
            crosstalk: c(1e-4, 2e-4),
        },
        reverse: DirectionTerms {
            one_port: OnePortTerms {
                directivity: c(0.04, 0.02),
                source_match: c(0.09, -0.06),
                reflect_tracking: polar(0.95, -35.0),
            },
            load_match: c(0.07, 0.03),
            through_tracking: polar(0.88, -60.0),
            crosstalk: c(-2e-4, 1e-4),
        },
    }
}

/// The fixtures with two ports.
pub const THROUGH_FIXTURES: [Fixture; 2] = [Fixture::ShuntThrough, Fixture::SeriesThrough];

/// 20 − j15 Ω in a through fixture.
///
/// # Panics
/// Never: the part is passive.
pub fn of_part(fixture: Fixture) -> Scattering {
    let part = ohm(20.0, -15.0);
    let network = match fixture {
        Fixture::ShuntThrough => Network::shunt(part),
        _ => Network::series(part),
    };
    network.scattering(Z0).unwrap()
}

/// What a calibration leaves wrong, one entry a standard.
pub const STANDARDS: [Cause; 6] = [
    Cause::Load,
    Cause::Open,
    Cause::Short,
    Cause::ThroughTracking,
    Cause::Crosstalk,
    Cause::LoadMatch,
];

/// What an analyzer with `terms` reads of standards that truly are `truth`.
pub fn measured_by(terms: &TwelveTerms, truth: &Definitions) -> MeasuredStandards {
    let side = |terms: &OnePortTerms, known: Trio<Complex64>| Trio {
        open: Some(terms.raw(known.open)),
        short: Some(terms.raw(known.short)),
        load: Some(terms.raw(known.load)),
    };
    let isolated = terms.raw(&Scattering {
        s11: truth.reflections[0].load,
        s22: truth.reflections[1].load,
        s12: truth.isolation,
        s21: truth.isolation,
    });
    MeasuredStandards {
        reflections: [
            side(&terms.forward.one_port, truth.reflections[0]),
            side(&terms.reverse.one_port, truth.reflections[1]),
        ],
        through: Some(terms.raw(&truth.through)),
        isolation: Some(Isolation {
            forward: isolated.s21,
            reverse: isolated.s12,
        }),
        switch_terms: None,
    }
}
