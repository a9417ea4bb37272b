//! A device in a few words.

use std::fmt;

use jigwise_physics::{LineEnd, Part};
use jigwise_quantity::{complex_ohm, engineering};

use super::Device;

impl fmt::Display for Device {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const DIGITS: usize = 4;
        f.write_str(&match self {
            Self::Fixed(ohm) if ohm.im == 0.0 => engineering(ohm.re, "Ω", DIGITS),
            Self::Fixed(ohm) => complex_ohm(*ohm, DIGITS),
            Self::Open => "open".to_owned(),
            Self::Short => "short".to_owned(),
            Self::Part(part) => part_words(part, DIGITS),
            Self::Table(table) => format!(
                "table of {} impedances from {} to {}",
                table.freq_hz().len(),
                engineering(table.first_hz(), "Hz", DIGITS),
                engineering(table.last_hz(), "Hz", DIGITS)
            ),
        })
    }
}

/// A part in a few words: its value, then what comes with it.
fn part_words(part: &Part, digits: usize) -> String {
    let show = |value: f64, unit: &str| engineering(value, unit, digits);
    let with = |rest: [(f64, &str, &str); 3]| {
        let named: Vec<String> = rest
            .into_iter()
            .filter(|(value, ..)| *value > 0.0)
            .map(|(value, unit, what)| format!("{} {what}", show(value, unit)))
            .collect();
        if named.is_empty() {
            String::new()
        } else {
            format!(" with {}", named.join(", "))
        }
    };
    const NONE: (f64, &str, &str) = (0.0, "", "");
    match part {
        Part::Resistor(p) if p.is_ideal() => show(p.resistance_ohm, "Ω"),
        Part::Resistor(p) => format!(
            "resistor of {}{}",
            show(p.resistance_ohm, "Ω"),
            with([
                (p.parallel_capacitance_f, "F", "across it"),
                (p.series_inductance_h, "H", "in series"),
                NONE,
            ])
        ),
        Part::Capacitor(p) => format!(
            "capacitor of {}{}",
            show(p.capacitance_f, "F"),
            with([
                (p.esr_ohm, "Ω", "ESR"),
                (p.esl_h, "H", "ESL"),
                (p.leakage_ohm.unwrap_or(0.0), "Ω", "leakage"),
            ])
        ),
        Part::Inductor(p) => format!(
            "coil of {}{}",
            show(p.inductance_h, "H"),
            with([
                (p.series_resistance_ohm, "Ω", "in series"),
                (p.parallel_capacitance_f, "F", "across it"),
                (
                    p.skin.map_or(0.0, |skin| skin.resistance_ohm),
                    "Ω",
                    "skin loss",
                ),
            ])
        ),
        Part::SeriesRlc(p) => format!(
            "{}, {} and {} in series",
            show(p.resistance_ohm, "Ω"),
            show(p.inductance_h, "H"),
            show(p.capacitance_f, "F")
        ),
        Part::ParallelRlc(p) => format!(
            "{}, {} and {} side by side",
            show(p.resistance_ohm, "Ω"),
            show(p.inductance_h, "H"),
            show(p.capacitance_f, "F")
        ),
        Part::Crystal(p) => format!(
            "crystal with its series resonance at {}",
            engineering(p.series_resonance_hz, "Hz", 7)
        ),
        Part::Choke(p) => format!(
            "choke of {} on a core that relaxes at {}",
            show(p.inductance_h, "H"),
            show(p.relaxation_hz, "Hz")
        ),
        Part::Stub(p) => format!(
            "{} of {} line, {} long",
            match p.end {
                LineEnd::Open => "open stub",
                LineEnd::Short => "shorted stub",
            },
            show(p.zc_ohm, "Ω"),
            show(p.delay_s, "s")
        ),
    }
}
