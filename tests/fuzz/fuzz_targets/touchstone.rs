//! Any bytes under any name: an error with a place or a sweep whose numbers are finite, whose
//! frequencies rise, and which every version writes back to the last bit; the same through a
//! buffer of a few bytes. The first byte picks the name and the buffer.

#![no_main]

use std::io::BufReader;

use jigwise_touchstone::{Options, Unit, Version, read_from, read_text, write_text};
use libfuzzer_sys::fuzz_target;

const NAMES: [&str; 8] = [
    "a.s1p", "a.s2p", "a.s3p", "a.s4p", "a.s5p", "a.ts", "a", "a.s12p",
];

fuzz_target!(|data: &[u8]| {
    let Some((pick, text)) = data.split_first() else {
        return;
    };
    let name = NAMES[usize::from(*pick) % NAMES.len()];
    let capacity = 1 + usize::from(*pick) / NAMES.len();
    let found = read_text(text, name);
    let by_pieces = read_from(BufReader::with_capacity(capacity, text), name);
    assert_eq!(found, by_pieces);
    let sweep = match found {
        Ok(sweep) => sweep,
        Err(error) => {
            assert!(error.to_string().starts_with(name));
            return;
        }
    };
    assert!(!sweep.frequency_hz().is_empty());
    assert!(sweep.frequency_hz().is_sorted_by(|a, b| a < b));
    for k in 0..sweep.len() {
        for to in 1..=sweep.ports() {
            for from in 1..=sweep.ports() {
                let s = sweep.s(k, to, from);
                assert!(s.re.is_finite() && s.im.is_finite());
            }
        }
    }
    let renormalised = sweep.renormalised(&[75.0]);
    if let Ok(moved) = renormalised {
        assert_eq!(moved.reference_ohm(), 75.0);
    }
    // Noise is polar, so it does not come back to the last bit.
    let sweep = sweep.with_noise(Vec::new()).expect("no noise is fine");
    for version in [Version::One, Version::TwoOne] {
        for unit in [Unit::Hz, Unit::GHz] {
            let options = Options {
                version,
                unit,
                ..Options::default()
            };
            let Ok(text) = write_text(&sweep, &options) else {
                assert!(!sweep.modes().is_empty());
                continue;
            };
            let name = format!("a.s{}p", sweep.ports());
            let back = read_text(text.as_bytes(), &name).expect("our own text");
            assert_eq!(back, sweep, "{text}");
        }
    }
});
