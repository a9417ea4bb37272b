//! The reader of talk files.

use jigwise_bench::file::{Keyed, Place, RawTable};
use jigwise_bench::quotes::{Quote, fill};
use jigwise_bench::scene::MapAim;
use jigwise_bench::words::fixture_key;
use jigwise_bench::{Bench, Fixture, MAX_QUOTED, Scenario, ScenarioError, excerpt, hint};

use super::{Shown, Stop, StopStage, StopView, Talk};
use crate::{Cover, scenario};

const KEYS: [&str; 4] = ["version", "title", "about", "stop"];
const STOP_KEYS: [&str; 9] = [
    "title", "seconds", "sentence", "scenario", "bench", "view", "covered", "say", "ask",
];
const VIEW_KEYS: [&str; 4] = ["stage", "map", "regions", "calibrations"];
const STAGES: [(&str, StopStage); 3] = [
    ("reflection", StopStage::Reflection),
    ("ohm plane", StopStage::OhmPlane),
    ("reach", StopStage::Reach),
];

/// How long a stop lasts whose file does not say, s.
const USUAL_SECONDS: u32 = 60;
/// The most letters of a sentence that a hall reads at a glance.
const MAX_SENTENCE: usize = 120;
/// The most calibrations before a stop: as many ticks as stay in sight.
const MAX_CALIBRATIONS: u64 = 50;
/// The most stops: more are no talk.
const MAX_STOPS: usize = 200;

impl Talk {
    /// Reads a talk from text; `name` is what errors call it. A stop that is wrong does not spoil
    /// the others: what is wrong with it stands in its [`Stop::shown`].
    ///
    /// # Errors
    /// [`ScenarioError`] for text that is no talk at all.
    pub fn from_toml(text: &str, name: &str) -> Result<Self, ScenarioError> {
        let place = Place { file: name, text };
        let raw = RawTable::parse(&place)?;
        let file = Keyed::document(&place, &raw, "a talk", Some(&KEYS))?;
        let title = file.needed("title", "Three fixtures", file.text("title")?)?;
        let about = file.text("about")?.unwrap_or_default();
        let tables = file.any_tables("stop", "stop")?;
        if tables.is_empty() {
            return Err(file.missing(
                "a talk needs stops; add a table [[stop]] with title, sentence and scenario"
                    .to_owned(),
            ));
        }
        if let Some(extra) = tables.get(MAX_STOPS) {
            return Err(extra.missing(format!(
                "this is stop {}, and a talk has at most {MAX_STOPS}; make two talks of it",
                MAX_STOPS + 1
            )));
        }
        Ok(Self {
            title: title.into_owned(),
            about: about.into_owned(),
            stops: tables
                .iter()
                .enumerate()
                .map(|(at, table)| stop(table, at + 1))
                .collect(),
        })
    }
}

/// A stop; what is wrong with it is told in it.
fn stop(table: &Keyed<'_>, number: usize) -> Stop {
    let title = table.text("title").ok().flatten();
    let seconds = table.count("seconds", 1, 3_600).ok().flatten();
    Stop {
        title: title.map_or_else(|| format!("Stop {number}"), |title| title.into_owned()),
        // In the range of its type.
        seconds: seconds.map_or(USUAL_SECONDS, |seconds| seconds as u32),
        shown: shown(table),
    }
}

fn shown(table: &Keyed<'_>) -> Result<Shown, ScenarioError> {
    table.check_keys(&STOP_KEYS)?;
    table.needed("title", "A resistor", table.text("title")?)?;
    table.count("seconds", 1, 3_600)?;
    let scenario = bench(table)?;
    // What the stop shows can be computed, or the fault is told before the evening.
    let with_instrument = Scenario {
        instrument: Some(scenario.instrument.clone().unwrap_or_default()),
        ..scenario.clone()
    };
    Bench::new(&with_instrument)
        .map_err(|error| table.missing(format!("the bench of this stop: {error}")))?;
    let scenario = with_instrument;
    let filled = |key: &str| -> Result<Option<String>, ScenarioError> {
        table
            .text(key)?
            .map(|text| {
                fill(&text, |inside| inside.parse::<Quote>()?.of(&scenario))
                    .map_err(|error| table.error(key, format!("{key}: {error}")))
            })
            .transpose()
    };
    let sentence = table.needed("sentence", "One part, three readings.", filled("sentence")?)?;
    let letters = sentence.chars().count();
    if letters > MAX_SENTENCE {
        return Err(table.error(
            "sentence",
            format!(
                "sentence has {letters} letters, and a hall reads {MAX_SENTENCE} at a glance; put the \
                 rest into say"
            ),
        ));
    }
    let say = filled("say")?.unwrap_or_default();
    Ok(Shown {
        view: view(table)?,
        sentence,
        covered: covered(table)?,
        say: paragraphs(&say),
        ask: filled("ask")?,
        scenario,
    })
}

fn bench(table: &Keyed<'_>) -> Result<Scenario, ScenarioError> {
    let own = table.any_table("bench", "stop.bench")?;
    match (table.text("scenario")?, own) {
        (Some(_), Some(_)) => Err(table.error(
            "scenario",
            "a stop has either a scenario by name or a bench of its own; take one of them out",
        )),
        (Some(name), None) => {
            scenario(&name).map_err(|error| table.error("scenario", error.to_string()))
        }
        (None, Some(own)) => Scenario::from_table(&own),
        (None, None) => Err(table.missing(
            "this stop has no scenario; add scenario = \"anode-resistor\" or another name of the \
             junk box, or a bench of its own as [stop.bench.device]"
                .to_owned(),
        )),
    }
}

fn maps() -> Vec<(String, Option<MapAim>)> {
    let whole = [
        ("none".to_owned(), None),
        ("value".to_owned(), Some(MapAim::BestForValue)),
        ("change".to_owned(), Some(MapAim::BestForChange)),
    ];
    let of_fixtures = Fixture::ALL.map(|fixture| {
        let name = format!("uncertainty of {}", fixture_key(fixture));
        (name, Some(MapAim::UncertaintyOf(fixture)))
    });
    whole.into_iter().chain(of_fixtures).collect()
}

fn view(table: &Keyed<'_>) -> Result<StopView, ScenarioError> {
    let mut view = StopView {
        stage: StopStage::Reflection,
        map: Some(MapAim::BestForValue),
        regions: false,
        calibrations: 0,
    };
    let Some(keys) = table.table("view", "stop.view", &VIEW_KEYS)? else {
        return Ok(view);
    };
    if let Some(stage) = keys.choice("stage", &STAGES)? {
        view.stage = stage;
    }
    let maps = maps();
    let named: Vec<(&str, Option<MapAim>)> = maps
        .iter()
        .map(|(name, map)| (name.as_str(), *map))
        .collect();
    if let Some(map) = keys.choice("map", &named)? {
        view.map = map;
    }
    view.regions = keys.flag("regions")?.unwrap_or(false);
    let calibrations = keys.count("calibrations", 0, MAX_CALIBRATIONS)?;
    // In the range of its type.
    view.calibrations = calibrations.unwrap_or(0) as u32;
    Ok(view)
}

fn covered(table: &Keyed<'_>) -> Result<Vec<Cover>, ScenarioError> {
    let mut covered = Vec::new();
    for (at, word) in table.words("covered")?.unwrap_or_default() {
        let found = Cover::keyed(&word).ok_or_else(|| {
            let keys: Vec<String> = Cover::all().map(Cover::key).collect();
            let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
            table.error_at(
                at,
                format!(
                    "\"{}\" can't be covered{}",
                    excerpt(&word, MAX_QUOTED),
                    hint(&word, &keys)
                ),
            )
        })?;
        covered.push(found);
    }
    Ok(covered)
}

/// Text parted at its empty lines, each paragraph in one line.
fn paragraphs(text: &str) -> Vec<String> {
    text.split("\n\n")
        .map(|each| each.split_whitespace().collect::<Vec<_>>().join(" "))
        .filter(|each| !each.is_empty())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::talk::talks;

    const GOOD: &str = r#"version = 1
title = "T"
[[stop]]
title = "One"
sentence = "A part of {{device}}."
scenario = "anode-resistor"
covered = ["best fixture", "bar reflect"]
say = """
First {{reflect.level 2}}.

Second."""
[stop.view]
stage = "reach"
[[stop]]
title = "Two"
seconds = 90
sentence = "Its own bench."
[stop.bench.device]
kind = "resistor"
resistance = "4.7k"
[stop.bench.at]
frequency = "7.1 MHz"
"#;

    #[test]
    fn both_sorts_of_bench_are_read() {
        let talk = Talk::from_toml(GOOD, "t.toml").unwrap();
        assert_eq!(talk.faults().count(), 0);
        assert_eq!((talk.seconds(), talk.minutes()), (150, 3));
        let first = talk.stops[0].shown.as_ref().unwrap();
        assert_eq!(first.say.len(), 2);
        assert_eq!(first.view.stage, StopStage::Reach);
        assert_eq!(
            first.covered,
            [Cover::BestFixture, Cover::Bar(Fixture::Reflect)]
        );
        let second = talk.stops[1].shown.as_ref().unwrap();
        assert_eq!(second.scenario.readout_hz(), Some(7.1e6));
        assert!(second.scenario.instrument.is_some());
    }

    #[test]
    fn a_faulty_stop_is_told_by_its_line_and_the_rest_goes_on() {
        for (from, to, line, words) in [
            (
                "scenario = \"anode-resistor\"\n",
                "",
                3,
                "this stop has no scenario",
            ),
            (
                "anode-resistor",
                "anode-resister",
                6,
                "did you mean \"anode-resistor\"?",
            ),
            (
                "bar reflect",
                "bar reflekt",
                7,
                "did you mean \"bar reflect\"?",
            ),
            (
                "sentence = \"A",
                "sentense = \"A",
                5,
                "did you mean \"sentence\"?",
            ),
            ("{{device}}", "{{devise}}", 5, "did you mean \"device\"?"),
            ("\"reach\"", "\"raech\"", 13, "did you mean \"reach\"?"),
            (
                "[stop.view]",
                "scenario = \"open\"\n[stop.view]",
                12,
                "given twice",
            ),
            (
                "resistance =",
                "resistence =",
                20,
                "did you mean \"resistance\"?",
            ),
            ("4.7k", "4.7 pF", 20, "pF"),
            ("seconds = 90", "seconds = 0", 16, "seconds"),
            (
                "device]\nkind",
                "devise]\nkind",
                18,
                "did you mean \"device\"?",
            ),
        ] {
            let text = GOOD.replacen(from, to, 1);
            assert_ne!(text, GOOD, "{from}");
            let fault = match Talk::from_toml(&text, "t.toml") {
                Ok(talk) => {
                    assert_eq!(talk.stops.len(), 2);
                    let faults: Vec<_> = talk.faults().cloned().collect();
                    assert_eq!(faults.len(), 1, "{from}: {faults:?}");
                    faults[0].clone()
                }
                Err(error) => error,
            };
            assert!(fault.to_string().contains(words), "{fault}");
            assert!(fault.to_string().starts_with("t.toml, line"), "{fault}");
            assert_eq!(fault.line(), Some(line), "{fault}");
        }
    }

    #[test]
    fn what_is_no_talk_is_refused() {
        for (text, words) in [
            ("version = 1\ntitle = \"T\"\n", "needs stops"),
            ("title = \"T\"\n", "version"),
            ("version = 1\n[[stop]]\n", "needs title"),
            ("version = 1\ntitle = 3\nstop = 4\n", "[[stop]]"),
        ] {
            let error = Talk::from_toml(text, "t.toml").unwrap_err().to_string();
            assert!(error.contains(words), "{error}");
        }
    }

    #[test]
    fn the_talks_that_come_along_are_whole_and_as_long_as_they_say() {
        for (built_in, minutes) in talks().iter().zip([15, 5]) {
            let talk = &built_in.talk;
            assert_eq!(talk.faults().count(), 0, "{:?}", talk.faults().next());
            assert_eq!(talk.minutes(), minutes, "{}", built_in.key);
            for stop in &talk.stops {
                let shown = stop.shown.as_ref().unwrap();
                assert!(!shown.say.is_empty(), "{}", stop.title);
                // Calm speech is about 110 words a minute (National Center for Voice and Speech:
                // 150 in conversation); the rest of the time is dragging and questions.
                let words: usize = shown.say.iter().map(|each| each.split(' ').count()).sum();
                let speech = words as f64 / 110.0 * 60.0;
                assert!(
                    speech <= f64::from(stop.seconds),
                    "{}: {words} words in {} s",
                    stop.title,
                    stop.seconds
                );
            }
        }
    }
}
