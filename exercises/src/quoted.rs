//! What is quoted of the junk box, against values worked out by hand.

use jigwise_bench::quotes::{Quote, QuoteError, fill, keys};

use crate::{scenario, scenario_names};

fn quote(name: &str, text: &str) -> Result<String, QuoteError> {
    text.parse::<Quote>()?.of(&scenario(name).unwrap())
}

#[test]
fn numbers_come_with_unit_and_digits() {
    for (name, text, expected) in [
        ("bias-resistor", "device 2", "4.7\u{202f}kΩ"),
        (
            "bias-resistor",
            "series-through.level 2",
            "−33.62\u{202f}dB",
        ),
        (
            "bias-resistor",
            "series-through.shown",
            "−33.625\u{202f}dB at 0.00°",
        ),
        ("bias-resistor", "frequency 2", "7.1\u{202f}MHz"),
        ("dipole-feed", "z 2", "38 − j27\u{202f}Ω"),
        ("dipole-feed", "phase 1", "−35.4°"),
        ("blue-capacitor", "capacitance 2", "47\u{202f}nF"),
        (
            "blue-capacitor",
            "shunt-through.capacitance 3",
            "47.0\u{202f}nF",
        ),
        ("match", "half-reference 2", "25\u{202f}Ω"),
        ("anode-resistor", "nudge", "+10.0\u{202f}%"),
        ("anode-resistor", "seen-from", "2.83\u{202f}σ"),
        ("anode-resistor", "display-step", "0.0500\u{202f}dB"),
        ("anode-resistor", "best-for-change", "series-through"),
        (
            "screen-resistor-averaged",
            "instrument",
            "handheld, changed",
        ),
    ] {
        assert_eq!(quote(name, text).as_deref(), Ok(expected), "{name} {text}");
    }
}

#[test]
fn what_cannot_be_quoted_says_why() {
    for (name, text, reason) in [
        ("match", "levle", "nothing that can be quoted"),
        (
            "match",
            "reflect.levle 2",
            "did you mean \"reflect.level\"?",
        ),
        ("match", "reference two", "count of digits"),
        ("match", "reference 2 3", "expected a key"),
        ("match", "", "expected a key"),
        ("match", "reflect.level", "has no reflect.level"),
        ("open", "r", "has no r"),
        ("match", "capacitance", "has no capacitance"),
        ("match", "reflect.within", "[instrument]"),
        (
            "anode-resistor",
            "nothing-resolves",
            "has no nothing-resolves",
        ),
    ] {
        let error = quote(name, text).unwrap_err().to_string();
        assert!(error.contains(reason), "{text}: {error}");
    }
    assert_eq!(
        fill("a {{ b", |_| Ok(String::new())),
        Err(QuoteError::NotClosed)
    );
}

#[test]
fn every_key_is_answered_or_refused_without_panic() {
    for key in keys() {
        let quote: Quote = key.parse().unwrap();
        for name in scenario_names() {
            let _ = quote.of(&scenario(name).unwrap());
        }
    }
}

/// Handbook formulas; the crystal's by 1/(2π√(LC)) and fs·√(1 + C1/C0).
#[test]
fn what_comes_with_a_part_is_quoted_with_its_unit() {
    for (name, text, expected) in [
        ("bypass-capacitor", "esr 2", "35\u{202f}mΩ"),
        ("bypass-capacitor", "self-resonance 3", "14.5\u{202f}MHz"),
        ("bypass-capacitor", "high-by-1-percent 3", "1.45\u{202f}MHz"),
        (
            "bypass-capacitor",
            "high-by-10-percent 3",
            "4.38\u{202f}MHz",
        ),
        ("ladder-crystal", "parallel-offset 4", "19.26\u{202f}kHz"),
        ("ladder-crystal", "q 3", "70\u{202f}200"),
        ("ferrite-choke", "core-resistance 3", "738\u{202f}Ω"),
        ("trimmer-gap", "gap 2", "350\u{202f}fF"),
        ("arm-part", "arm 2", "23\u{202f}mm"),
        ("termination-wrong-load", "load 2", "51\u{202f}Ω"),
        ("termination-wrong-load", "load-share", "−1.96\u{202f}%"),
        (
            "termination-wrong-load",
            "reflect.back-off",
            "−1.96\u{202f}%",
        ),
        (
            "trimmer-gap-removed",
            "series-through.back-error",
            "0.000\u{202f}%",
        ),
    ] {
        assert_eq!(quote(name, text).as_deref(), Ok(expected), "{name} {text}");
    }
}
