//! The reader against scikit-rf on texts where that follows the standard; see
//! `tests/oracle/make_touchstone.py` for which those are.

use jigwise_tests::touchstone::{c, read};
use serde_json::Value;

/// Largest difference of an S-parameter: conversions of up to four ports and cosines of angles
/// in degrees, some tens of roundings of numbers near one.
const TOLERANCE: f64 = 1e-14;

fn numbers(value: &Value) -> Vec<f64> {
    let array = value.as_array().unwrap();
    array.iter().map(|x| x.as_f64().unwrap()).collect()
}

#[test]
fn both_readers_see_the_same() {
    let vectors: Value =
        serde_json::from_str(include_str!("../../oracle/touchstone.json")).unwrap();
    let files = vectors["files"].as_array().unwrap();
    let mut compared = 0;
    for file in files {
        let name = file["name"].as_str().unwrap();
        let sweep = read(name, file["text"].as_str().unwrap());
        assert_eq!(
            sweep.references_ohm(),
            numbers(&file["references_ohm"]),
            "{name}"
        );
        let frequency_hz = numbers(&file["frequency_hz"]);
        assert_eq!(sweep.len(), frequency_hz.len(), "{name}");
        for (found, expected) in sweep.frequency_hz().iter().zip(&frequency_hz) {
            // scikit-rf multiplies by the unit, which rounds once.
            assert!(
                (found / expected - 1.0).abs() <= f64::EPSILON,
                "{name}: {found}"
            );
        }
        let mut expected = file["s"].as_array().unwrap().iter().map(numbers);
        for k in 0..sweep.len() {
            for to in 1..=sweep.ports() {
                for from in 1..=sweep.ports() {
                    let pair = expected.next().unwrap();
                    let (found, expected) = (sweep.s(k, to, from), c(pair[0], pair[1]));
                    assert!(
                        (found - expected).norm() <= TOLERANCE * expected.norm().max(1.0),
                        "{name}, point {k}, S{to}{from}: {found} for {expected}"
                    );
                    compared += 1;
                }
            }
        }
        assert_eq!(expected.next(), None, "{name}");
    }
    assert!(
        files.len() >= 20 && compared > 200,
        "{compared} of {} files",
        files.len()
    );
}
