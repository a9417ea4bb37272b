//! The three fixtures against scikit-rf (BSD-3-Clause), which builds each circuit as a
//! network and not from our formulas. `oracle/make_vectors.py` makes the vectors.
//!
//! The vectors' own error was measured once against 50-digit arithmetic: at most 9e-16 of
//! max(1, |S|), and for S21 at most 9e-16 of |S21| itself, however small.

use jigwise_physics::{Fixture, ReferenceImpedance};
use jigwise_tests::parts::part;
use num_complex::Complex64;
use serde_json::Value;

const VECTORS: &str = include_str!("../oracle/vectors.json");

/// Ours: two roundings in the terms of the denominator, multiplied by 12.7 at the part nearest
/// to a pole, and the division, under 4e-15 of |S|. The vectors': 1e-15.
const FORWARD: f64 = 1e-14;

/// The vectors' own error.
const ORACLE: f64 = 1e-15;

struct Vector {
    z0: ReferenceImpedance,
    ohm: Complex64,
    fields: Value,
}

impl Vector {
    fn value(&self, name: &str) -> Complex64 {
        complex(&self.fields[name])
    }

    /// The reading and the S11 of the port, as scikit-rf has them.
    fn of(&self, fixture: Fixture) -> (Complex64, Complex64) {
        match fixture {
            Fixture::Reflect => (self.value("reflect_s11"), self.value("reflect_s11")),
            Fixture::ShuntThrough => (self.value("shunt_s21"), self.value("shunt_s11")),
            Fixture::SeriesThrough => (self.value("series_s21"), self.value("series_s11")),
        }
    }
}

fn complex(value: &Value) -> Complex64 {
    let part = |name: &str| value[name].as_f64().expect("a number");
    Complex64::new(part("re"), part("im"))
}

fn vectors() -> Vec<Vector> {
    let file: Value = serde_json::from_str(VECTORS).expect("JSON");
    let list = file["vectors"].as_array().expect("a list of vectors");
    list.iter()
        .map(|fields| Vector {
            z0: ReferenceImpedance::new(fields["reference_ohm"].as_f64().unwrap()).unwrap(),
            ohm: complex(&fields["device_ohm"]),
            fields: fields.clone(),
        })
        .collect()
}

#[test]
fn the_vectors_cover_both_references_all_phases_and_nine_decades() {
    let vectors = vectors();
    for z0 in [50.0, 75.0] {
        let here: Vec<_> = vectors.iter().filter(|v| v.z0.ohm() == z0).collect();
        assert!(here.len() >= 200, "{} vectors at {z0} Ω", here.len());
        for quadrant in 0..4 {
            let turned = Complex64::I.powi(-quadrant);
            let in_it = here.iter().filter(|v| {
                let z = v.ohm * turned;
                z.re > 0.0 && z.im > 0.0
            });
            assert!(in_it.count() >= 30, "quadrant {quadrant} at {z0} Ω");
        }
        let size = |v: &&Vector| v.ohm.norm();
        assert!(here.iter().map(size).fold(f64::INFINITY, f64::min) <= 1e-3);
        assert!(here.iter().map(size).fold(0.0, f64::max) >= 1e6);
    }
}

#[test]
fn readings_agree() {
    for vector in vectors() {
        let device = part(vector.ohm);
        for fixture in Fixture::ALL {
            let (given, given_s11) = vector.of(fixture);
            let read = fixture.reading(device, vector.z0).value().unwrap();
            let size = match fixture {
                Fixture::Reflect => given.norm().max(1.0),
                _ => given.norm(),
            };
            assert!(
                (read - given).norm() <= FORWARD * size,
                "{fixture:?} of {} on {:?}: {read}, scikit-rf {given}",
                vector.ohm,
                vector.z0
            );
            let s11 = fixture.port_reflection(device, vector.z0).value().unwrap();
            assert!(
                (s11 - given_s11).norm() <= FORWARD * given_s11.norm().max(1.0),
                "S11 in {fixture:?} of {} on {:?}: {s11}, scikit-rf {given_s11}",
                vector.ohm,
                vector.z0
            );
        }
    }
}

/// |δZ/Z| ≤ 8ε·max(1, K·|S|) for what we do with a stored reading, and K·|δS| for the error
/// that scikit-rf's reading had before.
#[test]
fn devices_come_back_from_scikit_rf_readings() {
    for vector in vectors() {
        for fixture in Fixture::ALL {
            let (given, _) = vector.of(fixture);
            let back = fixture.immittance(given, vector.z0).unwrap();
            let k = fixture.relative_sensitivity(part(vector.ohm), vector.z0);
            let size = match fixture {
                Fixture::Reflect => given.norm().max(1.0),
                _ => given.norm(),
            };
            let allowed = 8.0 * f64::EPSILON * f64::max(1.0, k * given.norm()) + k * ORACLE * size;
            let z = back.impedance().unwrap();
            let miss = (z - vector.ohm).norm() / vector.ohm.norm();
            assert!(
                miss <= allowed,
                "{fixture:?} on {:?}: {z} Ω back for {}, off by {miss:e}, allowed {allowed:e}",
                vector.z0,
                vector.ohm
            );
        }
    }
}
