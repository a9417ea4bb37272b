//! `answer SCENARIO`: which fixture knows the part, at a glance. The answer in a sentence, the
//! part on the chart, a column for each fixture, and the rule; wide enough for a telephone.

use jigwise_bench::scene::{
    self, ChartFrame, ChartKind, CloudScale, Glide, MapAim, RuleFrame, RuleLook, Scene,
};
use jigwise_bench::words::{
    USUAL_WANTED, answer as answer_of, column_change, column_value, fixture_title, verdict,
    verdict_in_short,
};
use jigwise_bench::{
    Bench, Fixture, ModulusInterval, ReferenceImpedance, Residuals, Trials, Verdict,
};
use maud::{Markup, html};

use crate::block::{Block, BlockError};
use crate::grip::Grip;
use crate::markup::{grip_attributes, svg};
use crate::scenarios::Calibrations;
use crate::weighed::Weighed;
use crate::words::tied;

const WIDTH: f64 = 400.0;
const CHART_SIZE: [f64; 2] = [WIDTH, 256.0];
const CLOUD_SIZE: [f64; 2] = [120.0, 110.0];
const CLOUD_TYPE: f64 = 11.0;
const SIGN: f64 = 20.0;

pub(crate) fn answer(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [name] = block.words[..] else {
        return Err(block.error("expected answer SCENARIO, as in answer bias-resistor-handheld"));
    };
    let seen = Weighed::new(block, name)?;
    let told = answer_of(&seen.bench, &seen.instrument, USUAL_WANTED)
        .ok_or_else(|| block.error(format!("scenario \"{name}\" has no answer")))?;
    let calibrations = block.scenarios.calibrations(name);
    let glance = Glance::new(seen, calibrations);
    Ok(html! {
        section.jw-answer aria-label="Which fixture knows the part" data-calibrates {
            p.jw-line { (told.line) }
            p.jw-why { (told.why) }
            (glance.chart(block)?)
            div.jw-columns { @for fixture in Fixture::ALL { (glance.column(block, fixture)) } }
            (glance.rule(block))
            p.jw-setting { (glance.setting()) }
        }
    })
}

pub(crate) fn chart_frame(reference: ReferenceImpedance) -> ChartFrame {
    ChartFrame {
        kind: ChartKind::Reflection,
        size: CHART_SIZE,
        reference,
        is_bare: true,
    }
}

pub(crate) fn rule_frame(reference: ReferenceImpedance) -> RuleFrame {
    RuleFrame {
        width: WIDTH,
        reference,
        wanted: USUAL_WANTED,
        look: RuleLook::PHONE,
    }
}

/// A bench with what every piece of the picture needs of it.
struct Glance {
    seen: Weighed,
    calibrations: Calibrations,
    residuals: Residuals,
    intervals: [Option<ModulusInterval>; 3],
    trials: Trials,
    scale: CloudScale,
}

impl Glance {
    fn new(seen: Weighed, calibrations: Calibrations) -> Self {
        let bench = &seen.bench;
        let intervals = bench.modulus_intervals();
        let mut trials = Trials::default();
        let first = calibrations.in_force.saturating_sub(calibrations.here) + 1;
        for number in first..=calibrations.in_force {
            trials.add(bench.one_reading(number), &intervals);
        }
        let residuals = bench.calibration(calibrations.in_force);
        let scale = CloudScale::of(Fixture::ALL.into_iter().filter_map(|fixture| {
            let seen = seen.readout.appraisal_of(fixture)?;
            seen.separation_sigma
        }));
        Self {
            residuals,
            intervals,
            trials,
            scale,
            calibrations,
            seen,
        }
    }

    fn bench(&self) -> &Bench {
        &self.seen.bench
    }

    fn chart(&self, block: &Block<'_>) -> Result<Markup, BlockError> {
        let bench = self.bench();
        let frame = chart_frame(self.seen.scenario.reference);
        let map = frame
            .map(bench, MapAim::BestForValue)
            .ok_or_else(|| block.error("there is no map without an instrument"))?;
        let mut marks = vec![frame.ground()];
        marks.extend(map.under);
        marks.extend(frame.grid());
        marks.extend(map.over);
        marks.extend(frame.ring(bench.device()));
        let scene = Scene {
            size: CHART_SIZE,
            title: "The part on the reflection chart".to_owned(),
            description: "The ring is the part. Each region carries the sign of the fixture that \
                          is best for a value there."
                .to_owned(),
            marks,
        };
        Ok(picture(
            &scene,
            &block.id,
            "chart",
            Grip::AnswerChart,
            bench,
        ))
    }

    fn rule(&self, block: &Block<'_>) -> Markup {
        let scene =
            rule_frame(self.seen.scenario.reference).scene(self.bench(), &self.trials.ticks());
        picture(&scene, &block.id, "rule", Grip::AnswerRule, self.bench())
    }

    fn column(&self, block: &Block<'_>, fixture: Fixture) -> Markup {
        let readout = &self.seen.readout;
        let appraisal = readout.appraisal_of(fixture);
        let judged = appraisal.map_or(Verdict::NoReading, |appraisal| appraisal.verdict);
        let in_full = appraisal.map_or(String::new(), |appraisal| tied(&verdict(appraisal)));
        let interval = self.intervals[fixture as usize].as_ref();
        let title = fixture_title(fixture);
        let short = title.split_once('-').map_or(title, |(first, _)| first);
        let sign = Scene {
            size: [SIGN, SIGN],
            title: format!("{title}: {}", verdict_in_short(judged)),
            description: in_full.clone(),
            marks: scene::verdict_sign(fixture, judged, [SIGN / 2.0; 2], 0.8 * SIGN),
        };
        let id = format!("{}-{}", block.id, title.to_lowercase());
        html! {
            div.jw-column {
                p class={ "jw-name jw-" (short.to_lowercase()) } { strong { (short) } }
                p.jw-verdict title=(in_full) {
                    (svg(&sign, &format!("{id}-sign")))
                    span { (verdict_in_short(judged)) }
                }
                (self.cloud(fixture, &id))
                p.jw-value { (column_value(readout, fixture, interval)) }
                p.jw-change { (column_change(readout, self.bench(), fixture)) }
            }
        }
    }

    fn cloud(&self, fixture: Fixture, id: &str) -> Markup {
        let Some(clouds) = self.bench().clouds(fixture, &self.residuals) else {
            return html! { p.jw-no-cloud { "no clouds here" } };
        };
        let ideal = self
            .seen
            .readout
            .appraisal_of(fixture)
            .and_then(|seen| seen.separation_sigma);
        let separation_sigma = match self.calibrations.in_force {
            0 => ideal.unwrap_or(clouds.separation_sigma),
            _ => clouds.separation_sigma,
        };
        let glide = Glide::of(&clouds);
        let picture = scene::cloud(
            &clouds,
            separation_sigma,
            self.scale,
            glide,
            CLOUD_SIZE,
            CLOUD_TYPE,
        );
        svg(&picture, id)
    }

    fn setting(&self) -> String {
        let calibrated = match self.calibrations.in_force {
            0 => "a perfect calibration".to_owned(),
            number => format!("calibration {number}"),
        };
        format!("{} Here with {calibrated}.", self.seen.setting())
    }
}

fn picture(scene: &Scene, id: &str, what: &str, grip: Grip, bench: &Bench) -> Markup {
    let [kind, x, y] = grip_attributes(grip, bench);
    html! {
        div.jw-picture data-grip=(kind) data-x=(x) data-y=(y) { (svg(scene, &format!("{id}-{what}"))) }
    }
}
