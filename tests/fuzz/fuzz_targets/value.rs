//! Engineering values: what is taken is finite, and reads the same with a blank before it.

#![no_main]

use jigwise_bench::{Unit, parse_quantity, parse_value};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    match parse_quantity(text) {
        Ok(quantity) => {
            assert!(quantity.value.is_finite());
            let again = parse_quantity(&format!(" {text}")).expect("as before");
            assert_eq!(again.value.to_bits(), quantity.value.to_bits());
            // A frequency in millihertz is refused as a slip.
            if let Some(unit) = quantity.unit.filter(|unit| *unit != Unit::Hertz) {
                let value = parse_value(text, unit).expect("its own unit");
                assert_eq!(value.to_bits(), quantity.value.to_bits());
            }
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
});
