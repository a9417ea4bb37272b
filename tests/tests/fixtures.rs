//! Readings and sensitivities of the three fixtures, point by point.
//!
//! Source of the values: computed by ABCD matrices turned to S-parameters in scikit-rf 2.2.0
//! (BSD) and rounded; the equations are those of D. M. Pozar, Microwave Engineering, 4th ed.,
//! ch. 4, for a series and a shunt impedance [M]. Tolerance: one in the last digit given.

use jigwise_physics::{Fixture, Immittance, ReferenceImpedance};
use jigwise_tests::parts::part;
use num_complex::Complex64;

const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

fn c(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

#[track_caller]
fn near(what: &str, value: Complex64, given: Complex64, last_digit: f64) {
    let miss = value - given;
    assert!(
        miss.re.abs() <= last_digit && miss.im.abs() <= last_digit,
        "{what}: {value}, given {given}"
    );
}

fn reading(fixture: Fixture, device: Immittance) -> Complex64 {
    fixture.reading(device, Z0).value().expect("no pole here")
}

fn decibels(reading: Complex64) -> f64 {
    20.0 * reading.norm().log10()
}

#[test]
fn readings_of_plain_parts() {
    let rows = [
        (
            c(1.0, 0.0),
            [c(-0.960784, 0.0), c(0.038462, 0.0), c(0.990099, 0.0)],
        ),
        (
            c(10.0, 0.0),
            [c(-0.666667, 0.0), c(0.285714, 0.0), c(0.909091, 0.0)],
        ),
        (
            c(50.0, 0.0),
            [c(0.0, 0.0), c(0.666667, 0.0), c(0.666667, 0.0)],
        ),
        (c(100.0, 0.0), [c(0.333333, 0.0), c(0.8, 0.0), c(0.5, 0.0)]),
        (
            c(1e3, 0.0),
            [c(0.904762, 0.0), c(0.975610, 0.0), c(0.090909, 0.0)],
        ),
        (
            c(50.0, 50.0),
            [c(0.2, 0.4), c(0.769231, 0.153846), c(0.6, -0.2)],
        ),
        (
            c(0.0, -100.0),
            [c(0.6, -0.8), c(0.941176, -0.235294), c(0.5, 0.5)],
        ),
        (
            c(5.0, -30.0),
            [
                c(-0.401274, -0.764331),
                c(0.583333, -0.416667),
                c(0.880503, 0.251572),
            ],
        ),
    ];
    for (ohm, given) in rows {
        for (fixture, given) in Fixture::ALL.into_iter().zip(given) {
            let what = format!("{fixture:?} of {ohm} Ω");
            let read = reading(fixture, part(ohm));
            near(&what, read, given, 1e-6);
            let back = fixture.immittance(read, Z0).unwrap();
            near(&what, back.impedance().unwrap(), ohm, 1e-9 * ohm.norm());
        }
    }
}

#[test]
fn readings_in_decibels() {
    let rows = [
        (Fixture::ShuntThrough, 1.0, -28.299),
        (Fixture::ShuntThrough, 50.0, -3.522),
        (Fixture::SeriesThrough, 50.0, -3.522),
        (Fixture::SeriesThrough, 1e3, -20.828),
        (Fixture::ShuntThrough, 10.0, -10.881),
        (Fixture::ShuntThrough, 10e-3, -67.962),
        (Fixture::SeriesThrough, 100e3, -60.009),
    ];
    for (fixture, ohm, given_db) in rows {
        let read = reading(fixture, part(ohm.into()));
        assert!(
            (decibels(read) - given_db).abs() <= 1e-3,
            "{fixture:?} of {ohm} Ω: {} dB, given {given_db}",
            decibels(read)
        );
    }
    near(
        "10 mΩ",
        reading(Fixture::ShuntThrough, part(0.01.into())),
        c(4.0e-4, 0.0),
        1e-6,
    );
    near(
        "100 kΩ",
        reading(Fixture::SeriesThrough, part(1e5.into())),
        c(9.99e-4, 0.0),
        1e-6,
    );
}

#[test]
fn ohm_per_reading_at_two_points() {
    let rows = [
        (
            c(3.0, 4.0),
            [c(27.93, 4.24), c(30.72, 8.96), c(-105.93, -8.24)],
        ),
        (
            c(120.0, -33.0),
            [c(278.11, -112.20), c(797.44, -382.80), c(-473.11, 145.20)],
        ),
    ];
    for (ohm, given) in rows {
        for (fixture, given) in Fixture::ALL.into_iter().zip(given) {
            let what = format!("{fixture:?} at {ohm} Ω");
            let device = part(ohm);
            near(
                &what,
                fixture.ohm_per_reading(device, Z0).unwrap(),
                given,
                0.01,
            );
            let k = fixture.relative_sensitivity(device, Z0);
            assert!(
                (k - given.norm() / ohm.norm()).abs() <= 0.015 / ohm.norm(),
                "{what}: K {k}"
            );
        }
    }
}

/// Least relative sensitivity: 2 at 50 Ω resistive and 1 reactive for reflect, 4 and 2 for
/// shunt-through at 25 Ω and series-through at 100 Ω.
#[test]
fn least_sensitivity() {
    for (fixture, ohm, resistive) in [
        (Fixture::Reflect, 50.0, 2.0),
        (Fixture::ShuntThrough, 25.0, 4.0),
        (Fixture::SeriesThrough, 100.0, 4.0),
    ] {
        for (z, given) in [
            (c(ohm, 0.0), resistive),
            (c(0.0, ohm), resistive / 2.0),
            (c(0.0, -ohm), resistive / 2.0),
        ] {
            let k = fixture.relative_sensitivity(part(z), Z0);
            assert!(
                (k - given).abs() < 1e-14,
                "{fixture:?} at {z} Ω: K {k}, given {given}"
            );
        }
    }
}

/// Empty series fixture with 0.1 pF across its gap, shorted shunt fixture with 1 nH: the
/// least a through fixture can show. Recomputed from the divider.
#[test]
fn what_an_empty_fixture_shows() {
    let gap = |freq_hz| Immittance::ideal_capacitor(0.1e-12, freq_hz).unwrap();
    let link = |freq_hz| Immittance::ideal_inductor(1e-9, freq_hz).unwrap();
    for (freq_hz, gap_db, link_db) in [
        (1e6, -84.04, -72.00),
        (100e6, -44.04, -32.00),
        (1e9, -24.05, -12.26),
    ] {
        let open_fixture = decibels(reading(Fixture::SeriesThrough, gap(freq_hz)));
        let shorted_fixture = decibels(reading(Fixture::ShuntThrough, link(freq_hz)));
        assert!(
            (open_fixture - gap_db).abs() <= 0.01,
            "{freq_hz} Hz: {open_fixture} dB"
        );
        assert!(
            (shorted_fixture - link_db).abs() <= 0.01,
            "{freq_hz} Hz: {shorted_fixture} dB"
        );
    }
    for (freq_hz, angle_deg) in [(100e6, -0.18), (1e9, -1.80)] {
        let fringe = Immittance::ideal_capacitor(50e-15, freq_hz).unwrap();
        let found = reading(Fixture::Reflect, fringe).arg().to_degrees();
        assert!((found - angle_deg).abs() <= 0.01, "{freq_hz} Hz: {found}°");
    }
}

/// The crystal network of IEC 60444 [M]: 12.5 Ω at the crystal's terminals on both sides, so
/// T = 25/(25 + Z) relative to a link, and R = 25(1/T − 1).
#[test]
fn crystal_network_is_series_through_on_12_5_ohm() {
    let z0 = ReferenceImpedance::new(12.5).unwrap();
    for (ohm, given, given_db) in [
        (10.0, 0.714286, -2.9226),
        (25.0, 0.5, -6.0206),
        (100.0, 0.2, -13.9794),
    ] {
        let read = Fixture::SeriesThrough
            .reading(part(ohm.into()), z0)
            .value()
            .unwrap();
        near("T", read, given.into(), 1e-6);
        assert!((decibels(read) - given_db).abs() <= 1e-4, "{ohm} Ω");
        let back = Fixture::SeriesThrough.immittance(read, z0).unwrap();
        near("R", back.impedance().unwrap(), ohm.into(), 1e-12 * ohm);
    }
}
