//! Scenario files: what is taken is written back and read again as the same scenario.

#![no_main]

use jigwise_bench::Scenario;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    match Scenario::from_toml(text, "fuzz.toml") {
        Ok(scenario) => {
            let written = scenario.to_toml();
            let back = Scenario::from_toml(&written, "written.toml").expect("our own text");
            assert_eq!(back, scenario, "{written}");
        }
        Err(error) => assert!(error.to_string().contains("fuzz.toml")),
    }
});
