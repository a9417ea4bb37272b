//! Formulas: what is taken evaluates to something finite or nothing, never a panic, and an
//! error points into the text.

#![no_main]

use jigwise_bench::{Complex64, Formula, ReferenceImpedance};
use libfuzzer_sys::fuzz_target;

const READINGS: [Complex64; 4] = [
    Complex64::ZERO,
    Complex64::ONE,
    Complex64::new(-1.0, 0.0),
    Complex64::new(0.3, -0.4),
];

fuzz_target!(|text: &str| {
    match text.parse::<Formula>() {
        Ok(formula) => {
            for reading in READINGS {
                let value = formula.evaluate(reading, ReferenceImpedance::FIFTY_OHM);
                assert!(value.is_none_or(|z| z.re.is_finite() && z.im.is_finite()));
            }
        }
        Err(error) => assert!((1..=text.chars().count() + 1).contains(&error.column())),
    }
});
