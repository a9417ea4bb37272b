//! The club's junk box, by name.

use std::fmt;

use jigwise_bench::{Scenario, hint};

macro_rules! junk_box {
    ($($name:literal),* $(,)?) => {
        /// Name and text of every scenario.
        const JUNK_BOX: &[(&str, &str)] = &[
            $(($name, include_str!(concat!("../scenarios/", $name, ".toml")))),*
        ];
    };
}

junk_box![
    "accuracy-decoupler",
    "accuracy-gate",
    "accuracy-leak",
    "accuracy-loop",
    "accuracy-source",
    "accuracy-terminator",
    "anode-resistor",
    "antenna-trap",
    "arm-open",
    "arm-part",
    "balun-wrong-load",
    "bias-resistor",
    "bias-resistor-handheld",
    "bias-resistor-in-place",
    "bias-resistor-swapped",
    "blue-capacitor",
    "bypass-capacitor",
    "cable-end-open",
    "carbon-resistor",
    "change-bias",
    "change-divider",
    "change-swamp",
    "chart-beam",
    "chart-bypass",
    "chart-input",
    "chart-jumper",
    "chart-near-a",
    "chart-near-b",
    "chart-near-c",
    "chart-near-d",
    "chart-stage",
    "chart-whip",
    "check-good",
    "check-open-and-through",
    "check-open-for-short",
    "check-skipped-load",
    "check-skipped-short",
    "check-wrong-load",
    "choose-a",
    "choose-antenna",
    "choose-b",
    "choose-c",
    "choose-cathode",
    "choose-d",
    "choose-plate",
    "coupling-resistor",
    "damping-resistor",
    "detector-load",
    "dipole-feed",
    "disc-capacitor",
    "dummy-load-resistor",
    "emitter-resistor",
    "emitter-resistor-clip",
    "faded-resistor",
    "fault-good",
    "fault-open",
    "fault-plane",
    "fault-share",
    "fault-skipped-load",
    "fault-skipped-short",
    "fault-wrong-load",
    "feed-wrong-load",
    "ferrite-choke",
    "filament-resistor",
    "filter-coil",
    "filter-coil-low",
    "filter-input-both-directions",
    "filter-input-one-direction",
    "filter-input-one-port",
    "filter-input-one-port-and-through",
    "filter-input-open-and-through",
    "filter-input-raw",
    "formula-75",
    "gimmick-gap",
    "gimmick-over",
    "grid-leak-handheld",
    "hairpin-ground",
    "high-resistor",
    "junk-box-choke",
    "lab-adapter",
    "lab-capacitor",
    "lab-coil",
    "lab-forty-seven",
    "lab-half-megohm",
    "lab-hundred",
    "lab-one-ohm",
    "lab-seventy-five",
    "lab-ten-kilohm",
    "lab-two-kilohm",
    "ladder-crystal",
    "ladder-resistor",
    "large-fringing-open",
    "large-long-short",
    "lossy-choke",
    "low-resistor",
    "match",
    "matching-stub",
    "meter-shunt",
    "meter-shunt-clip",
    "meter-shunt-loop",
    "meter-shunt-loop-choked",
    "moulded-choke",
    "open",
    "parasitic-stopper",
    "raw-load",
    "raw-open",
    "raw-short",
    "receiver-choke",
    "resistance-wire",
    "rf-choke-wrong-load",
    "ring-core-winding",
    "screen-resistor",
    "screen-resistor-averaged",
    "series-trap",
    "short",
    "small-fringing-open",
    "small-long-short",
    "strays-empty",
    "sweep-capacitor",
    "sweep-coil",
    "sweep-kind",
    "tank-link-ground",
    "termination-wrong-load",
    "trimmer-gap",
    "trimmer-gap-removed",
    "trimmer-over",
    "trimmer-pin",
    "unmarked-coil",
    "unmarked-coil-screened",
];

/// No scenario of the junk box has this name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnknownScenario {
    name: String,
}

impl std::error::Error for UnknownScenario {}

impl fmt::Display for UnknownScenario {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let names: Vec<&str> = scenario_names().collect();
        let Self { name } = self;
        write!(
            f,
            "\"{name}\" is no scenario of the junk box{}",
            hint(name, &names)
        )
    }
}

/// The names of all scenarios, in order.
pub fn scenario_names() -> impl Iterator<Item = &'static str> {
    JUNK_BOX.iter().map(|(name, _)| *name)
}

/// The scenario of a name.
///
/// # Errors
/// [`UnknownScenario`], which names the nearest.
pub fn scenario(name: &str) -> Result<Scenario, UnknownScenario> {
    let (name, text) = JUNK_BOX
        .iter()
        .find(|(known, _)| *known == name)
        .ok_or_else(|| UnknownScenario {
            name: name.to_owned(),
        })?;
    #[expect(clippy::expect_used, reason = "a test reads every scenario built in")]
    let scenario = Scenario::from_toml(text, name).expect("a scenario built in is right");
    Ok(scenario)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jigwise_bench::Bench;

    #[test]
    fn every_scenario_is_read_and_has_a_readout() {
        for name in scenario_names() {
            let scenario = scenario(name).unwrap();
            assert!(scenario.title.is_some(), "{name}");
            let readout = Bench::new(&scenario).unwrap().readout();
            assert!(readout.fixtures.iter().all(|entry| entry.reading.is_some()));
        }
    }

    #[test]
    fn every_scenario_fits_a_link() {
        for name in scenario_names() {
            let scenario = scenario(name).unwrap();
            let fragment = scenario.to_fragment().unwrap();
            assert_eq!(Scenario::from_fragment(&fragment).unwrap(), scenario);
        }
    }

    #[test]
    fn every_file_is_in_the_list() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios");
        let mut files: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .filter_map(|entry| Some(entry.ok()?.path().file_stem()?.to_str()?.to_owned()))
            .collect();
        files.sort();
        assert_eq!(files, scenario_names().collect::<Vec<_>>());
    }

    #[test]
    fn an_unknown_name_is_told_the_nearest() {
        let error = scenario("blue-capaciter").unwrap_err().to_string();
        assert!(
            error.contains("did you mean \"blue-capacitor\"?"),
            "{error}"
        );
    }
}
