//! Sentences about a bench: the strays of its fixtures and its calibration.

use jigwise_physics::{
    Fixture, Line, MAX_ARM_DOUBT_RAD, Method, ReferenceImpedance, ReflectionStandard, Strays,
};

use crate::device::Device;
use crate::fixture_entries::PartStray;
use crate::front_end::FrontEnd;
use crate::scenario::{CalibrationPlan, FixtureStrays, Scenario};
use crate::words::{fixture_connection, fixture_key};
use jigwise_quantity::{engineering, fixed};

const DIGITS: usize = 3;

/// What the scenario says of strays and calibration, a sentence each; empty for ideal fixtures
/// and a calibration of which nothing is known.
pub fn bench_story(scenario: &Scenario) -> Vec<String> {
    let mut sentences = strays_and_calibration(scenario, scenario.calibration.as_ref());
    if scenario.instrument.is_some() {
        sentences.extend(of_uncertainty(scenario));
    }
    sentences
}

/// What the uncertainty is of where the fixtures have strays, and where it is too small.
fn of_uncertainty(scenario: &Scenario) -> Option<String> {
    let fixtures = &scenario.fixtures;
    if fixtures.strays.are_none() {
        return None;
    }
    if !fixtures.removed {
        return Some(
            "What stands back in ohms is part and fixture together; u, the regions and the \
             changes are those of the part behind the strays."
                .to_owned(),
        );
    }
    let freq_hz = scenario.readout_hz()?;
    let doubt_rad = [fixtures.strays.before, fixtures.strays.after]
        .into_iter()
        .filter_map(|arm| arm.one_way_degrees(freq_hz).ok())
        .map(|degrees| fixtures.left_share * degrees.to_radians())
        .fold(0.0, f64::max);
    (doubt_rad > MAX_ARM_DOUBT_RAD).then(|| {
        format!(
            "The doubt about an arm turns the reading by {}° rms; above {}° the intervals hold \
             less than 95\u{202f}%. Move the reference plane to the part.",
            fixed(doubt_rad.to_degrees(), 1),
            fixed(MAX_ARM_DOUBT_RAD.to_degrees(), 0)
        )
    })
}

fn strays_and_calibration(scenario: &Scenario, plan: Option<&CalibrationPlan>) -> Vec<String> {
    let mut sentences = Vec::new();
    sentences.extend(strays_sentence(&scenario.fixtures));
    if let Some(plan) = plan {
        let front_end = FrontEnd::words(scenario, plan);
        sentences.extend(calibration_sentences(plan, &front_end, scenario.reference));
    }
    sentences
}

/// What a simulated measurement says of itself: the device, the fixture, the instrument and the
/// calibration that was made, a line each.
pub(crate) fn measurement_story(
    scenario: &Scenario,
    fixture: Fixture,
    plan: &CalibrationPlan,
) -> Vec<String> {
    let mut story = Vec::new();
    story.extend(scenario.title.clone());
    story.push(format!(
        "device: {}; fixture: {}, {}",
        scenario.device,
        fixture_key(fixture),
        fixture_connection(fixture)
    ));
    match &scenario.instrument {
        Some(named) => story.push(format!(
            "instrument: {}{}; seed {}; connected {} times after the calibration",
            named.name,
            if named.is_invented() {
                " (invented figures)"
            } else {
                ""
            },
            scenario.seed,
            scenario.connections
        )),
        None => story.push("instrument: perfect, no noise".to_owned()),
    }
    story.extend(strays_and_calibration(scenario, Some(plan)));
    story
}

fn strays_sentence(fixtures: &FixtureStrays) -> Option<String> {
    if *fixtures == FixtureStrays::NONE {
        return None;
    }
    let end = if fixtures.removed {
        format!(
            "known, and taken out of the ohms got back; {}\u{202f}% of each stays in doubt",
            fixed(100.0 * fixtures.left_share, 1)
        )
    } else {
        "left in the ohms got back".to_owned()
    };
    Some(format!(
        "Strays: {}; {end}.",
        strays_words(&fixtures.strays)
    ))
}

/// The strays that have a size, each with it and its place.
pub fn strays_words(strays: &Strays) -> String {
    let mut parts: Vec<String> = PartStray::ALL
        .into_iter()
        .map(|stray| (stray.get(strays), stray))
        .filter(|(value, _)| *value > 0.0)
        .map(|(value, stray)| {
            let value = engineering(value, stray.unit.sign(), DIGITS);
            format!("{value} {}", stray.words)
        })
        .collect();
    for (line, port) in [(strays.before, "port 1"), (strays.after, "port 2")] {
        if line.length_m > 0.0 {
            parts.push(format!("{} at {port}", line_words(&line)));
        }
    }
    parts.join(", ")
}

fn line_words(line: &Line) -> String {
    format!(
        "an arm of {} of {} line",
        engineering(line.length_m, "m", DIGITS),
        engineering(line.zc_ohm, "Ω", DIGITS)
    )
}

fn calibration_sentences(
    plan: &CalibrationPlan,
    front_end: &str,
    reference: ReferenceImpedance,
) -> Vec<String> {
    let mut sentences = vec![format!(
        "Calibrated: {} ({}). {}",
        plan.method,
        front_end,
        left_by(plan.method)
    )];
    let skipped = plan.skipped.names();
    if !skipped.is_empty() {
        sentences.push(format!("Not measured: {}.", skipped.join(", ")));
    }
    let usual = CalibrationPlan::new(plan.method, reference);
    let (is, ideal) = (&plan.standards.reflections, &usual.standards.reflections);
    for standard in ReflectionStandard::ALL {
        let name = standard.name();
        let differs = standard.of(is) != standard.of(ideal);
        if differs && *standard.of(&plan.taken_for_ideal) {
            sentences.push(format!("The {name} is not ideal and is taken for ideal."));
        }
        if let Some(device) = standard.of(&plan.instead) {
            sentences.push(format!(
                "Connected where the {name} was asked for: {}.",
                instead_words(device)
            ));
        }
    }
    if plan.through_taken_for_flush && plan.standards.through != usual.standards.through {
        sentences.push("The through has a length and is taken for flush.".to_owned());
    }
    sentences
}

fn instead_words(device: &Device) -> String {
    match device {
        Device::Open => "nothing".to_owned(),
        Device::Short => "the short".to_owned(),
        other => other.to_string(),
    }
}

/// What a calibration method leaves uncorrected.
pub fn left_by(method: Method) -> &'static str {
    match method {
        Method::Raw => "S11 and S21 are raw.",
        Method::Scaled(by) => match (by.reflection(), by.uses_through()) {
            (Some(_), true) => "Directivity and both matches are left.",
            (Some(_), false) => "Directivity and the match are left in S11; S21 is raw.",
            (None, _) => "S11 is raw; in S21 both matches are left.",
        },
        Method::OnePort => "S11 of one port is corrected; S21 is raw.",
        Method::OnePortAndThrough => "In S21 the match of the receiving port is left.",
        Method::OneDirection => {
            "Exact for a part that looks the same from both sides, where the \
                            standards are what they are taken for."
        }
        Method::BothDirections => "Exact where the standards are what they are taken for.",
        Method::UnknownThrough => {
            "Exact where the reflection standards are what they are taken for and the through is \
             reciprocal."
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plain_scenario_has_no_story() {
        assert!(bench_story(&Scenario::default()).is_empty());
    }

    #[test]
    fn a_load_of_the_reference_is_ideal() {
        let text = |load: &str| {
            format!(
                "version = 1\n[device]\nkind = \"short\"\n[at]\nfrequency = \"7 MHz\"\n\
                 [instrument]\nreference = \"75 ohm\"\n[calibration]\nmethod = \"both directions\"\n\
                 [calibration.load]\nresistance = \"{load}\"\ntaken_as = \"ideal\"\n"
            )
        };
        for (load, told) in [("75", false), ("50", true)] {
            let scenario = Scenario::from_toml(&text(load), "cable.toml").unwrap();
            let story = bench_story(&scenario).join(" ");
            assert_eq!(
                story.contains("The load is not ideal"),
                told,
                "{load}: {story}"
            );
        }
    }

    #[test]
    fn strays_say_what_the_uncertainty_is_of() {
        let story = |strays: &str| {
            let text = format!(
                "version = 1\n[device]\nkind = \"resistor\"\nresistance = \"50\"\n[at]\n\
                 frequency = \"1 GHz\"\n[instrument]\npreset = \"laboratory\"\n[strays]\n{strays}"
            );
            bench_story(&Scenario::from_toml(&text, "t").unwrap()).join(" ")
        };
        assert!(story("gap = \"0.1 pF\"\n").contains("part and fixture together"));
        let arm = |length| format!("removed = true\n[strays.arm]\nlength = \"{length}\"\n");
        // 15 % of 72° and of 7.2°.
        assert!(story(&arm("60 mm")).contains("turns the reading by 10.8° rms"));
        assert!(!story(&arm("6 mm")).contains("turns the reading"));
    }

    #[test]
    fn slips_are_told() {
        let text = r#"
            version = 1
            [device]
            kind = "short"
            [at]
            frequency = "7 MHz"
            [strays]
            gap = "0.1 pF"
            [strays.arm]
            length = "12 mm"
            [calibration]
            method = "both directions"
            skipped = ["short"]
            [calibration.load]
            resistance = "51"
            taken_as = "ideal"
            [calibration.open]
            instead = "short"
        "#;
        let scenario = Scenario::from_toml(text, "slips.toml").unwrap();
        let story = bench_story(&scenario).join(" ").replace('\u{202f}', " ");
        for piece in [
            "100 fF across the gap",
            "an arm of 12",
            "left in the ohms",
            "Calibrated: both directions",
            "Not measured: short.",
            "The load is not ideal",
            "where the open was asked for: the short",
        ] {
            assert!(story.contains(piece), "{piece}: {story}");
        }
    }
}
