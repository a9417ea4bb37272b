//! `resolves FIXTURE SCENARIO`: from an instrument's budget to what a fixture can see of a part,
//! step by step, each with its numbers.

use jigwise_bench::quotes::Shown;
use jigwise_bench::words::{
    fixture_connection, fixture_key, fixture_title, limit_key, reading_name, sigma, verdict,
};
use jigwise_bench::{
    Cause, Complex64, Coverage, Fixture, FixtureAppraisal, InstrumentEntry, ResolvableChange,
    SEEN_SIGMA, change, engineering, entries, percent, plain_complex,
};
use jigwise_quantity::{significant, unsigned_percent};
use maud::{Markup, html};

use crate::block::{Block, BlockError};
use crate::markup::{self, paragraph, row, sum, table};
use crate::weighed::Weighed;
use crate::words::{part, tied, title};
use crate::worked::formula;

/// Entries are shown until what is left is less than this share of e².
const LEFT_OVER: f64 = 0.01;

pub(crate) fn resolves(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [fixture, name] = block.words[..] else {
        return Err(block.error(
            "expected resolves FIXTURE SCENARIO, as in resolves series-through anode-resistor",
        ));
    };
    let fixture = block.fixture(fixture)?;
    let example = Example {
        seen: Weighed::new(block, name)?,
        fixture,
    };
    let no_example = || {
        block.error(format!(
            "scenario \"{name}\" gives no reading, or no change, to work with in {}; choose \
             another part, nudge or fixture",
            fixture_key(fixture)
        ))
    };
    let appraisal = *example
        .seen
        .readout
        .appraisal_of(fixture)
        .ok_or_else(no_example)?;
    let steps = example.steps(block, &appraisal)?.ok_or_else(no_example)?;
    let given = example.given().ok_or_else(no_example)?;
    let entries = example.entries(&appraisal).ok_or_else(no_example)?;
    Ok(markup::worked(
        &format!("Worked example: {}", example.title()),
        html! {
            (paragraph("Given", &given))
            (entries)
            (markup::steps(&steps))
            (paragraph("Verdict", &tied(&example.result(&appraisal))))
            (paragraph("In the other fixtures", &tied(&example.elsewhere())))
        },
    ))
}

struct Example {
    seen: Weighed,
    fixture: Fixture,
}

impl Example {
    fn title(&self) -> String {
        let scenario = &self.seen.scenario;
        format!("{}, {}", title(scenario), part(&scenario.device))
    }

    fn given(&self) -> Option<String> {
        let shown = Shown::of(&self.seen.readout.of(self.fixture))?;
        let nudge = self.seen.bench.nudge();
        let when = if nudge.is_swapped() {
            "exchanged for another of"
        } else {
            "changed in place by"
        };
        let frequency = self.seen.readout.freq_hz.map_or(String::new(), |hz| {
            format!(" At {}", engineering(hz, "Hz", 3))
        });
        Some(format!(
            "{}, {}.{frequency} {} shows {shown}. The instrument is the {}, an invented one. The \
             part will be {when} {}.",
            self.title(),
            fixture_connection(self.fixture),
            reading_name(self.fixture),
            self.seen.instrument.name,
            percent(nudge.amount()),
        ))
    }

    /// The entries that matter, each as an error of the reading and as a part of |Z|.
    fn entries(&self, appraisal: &FixtureAppraisal) -> Option<Markup> {
        let device = self.seen.bench.device();
        let gain = self.gain();
        let e = appraisal.figure_of_merit?;
        let mut errors: Vec<(Cause, f64)> = Cause::ALL
            .into_iter()
            .filter_map(|cause| {
                let scatter = self.seen.budget.contribution(cause, self.fixture, device)?;
                Some((cause, scatter.trace().sqrt()))
            })
            .collect();
        errors.sort_by(|a, b| b.1.total_cmp(&a.1));
        let mut left = e * e;
        let mut rows = Vec::new();
        for (cause, error) in errors {
            if left < LEFT_OVER * e * e {
                break;
            }
            left -= (gain * error).powi(2);
            rows.push(entry(
                cause.name(),
                kind(cause),
                &significant(error, 3),
                gain * error,
            ));
        }
        rows.push(entry("all others", "", "", left.max(0.0).sqrt()));
        rows.push(entry("together, u(Z)/|Z| = e", "", "", e));
        Some(table(
            &format!(
                "The entries of the {} that matter for {} in {}, each as its standard uncertainty u \
                 (rms, k = 1)",
                self.seen.instrument.words_at(self.seen.readout.freq_hz),
                part(&self.seen.scenario.device),
                fixture_key(self.fixture),
            ),
            &["Entry", "What it does", "On the reading", "On the ohms"],
            &rows,
        ))
    }

    fn gain(&self) -> f64 {
        self.fixture
            .relative_sensitivity(self.seen.bench.device(), self.seen.readout.reference)
    }

    fn steps(
        &self,
        block: &Block<'_>,
        appraisal: &FixtureAppraisal,
    ) -> Result<Option<Vec<Markup>>, BlockError> {
        let latex = match self.fixture {
            Fixture::Reflect => "K = \\frac{\\lvert z + 1\\rvert^2}{2\\lvert z\\rvert}",
            Fixture::ShuntThrough => "K = \\frac{\\lvert 2z + 1\\rvert^2}{2\\lvert z\\rvert}",
            Fixture::SeriesThrough => "K = \\frac{\\lvert z + 2\\rvert^2}{2\\lvert z\\rvert}",
        };
        let gain = formula(block, &format!("{latex} = {}", significant(self.gain(), 3)))?;
        let (Some(e), Some(moved), Some(asked)) = (
            appraisal.figure_of_merit,
            self.moved(appraisal),
            change::asked(appraisal, self.seen.bench.nudge()),
        ) else {
            return Ok(None);
        };
        Ok(Some(vec![
            html! {
                "An error of the reading makes the ohms wrong by K times as much, as a share of |Z|. \
                 With z = Z/Z0: "
                (gain)
            },
            html! {
                "The squares of the last column add up to that of e = u(Z)/|Z| = "
                (unsigned_percent(e)) " at k = 1. Z has two parts, so the value is known within ±" (significant(Coverage::P95.radius_in_rms(), 3)) "·e = ±"
                (unsigned_percent(Coverage::P95.radius_in_rms() * e)) " at 95\u{202f}%."
            },
            moved,
            self.limits(asked),
        ]))
    }

    /// How far the change moves the reading, and how far the clouds are apart.
    fn moved(&self, appraisal: &FixtureAppraisal) -> Option<Markup> {
        let bench = &self.seen.bench;
        let reading = |device| {
            let s = self.fixture.reading(device, self.seen.readout.reference);
            s.value()
        };
        let before = reading(bench.device())?;
        let after = reading(bench.nudge().applied_to(bench.device()))?;
        let d = appraisal.separation_sigma?;
        let moved = significant((after - before).norm(), 3);
        let scatter = change::scatter(bench, self.fixture)?;
        let floor = self
            .seen
            .budget
            .contribution(Cause::NoiseFloor, self.fixture, bench.device())?
            .trace();
        // Floor and trace noise are all that scatters from one reading to the next.
        let trace = (scatter * scatter - 0.5 * floor).max(0.0).sqrt();
        let [floor, trace, scatter] = [floor.sqrt(), trace, scatter].map(|rms| significant(rms, 3));
        let shown = |s: Complex64| match s.im {
            0.0 => significant(s.re, 4),
            _ => plain_complex(s, 4),
        };
        Some(html! {
            "The change takes " (reading_name(self.fixture)) " from " (shown(before)) " to "
            (shown(after)) ", which are " (moved) " apart. Of what the table holds, only what \
             scatters can hide that. The table gives the rms size of an error that goes in every \
             direction; along one direction such an error scatters √2 times less. Along this \
             change the noise floor scatters by " (floor) "/√2 and the trace noise by " (trace) ", \
             and the root of the sum of their squares is " (scatter) ". So the clouds are "
            (sum(&format!("d = {moved}/{scatter} = {}\u{202f}σ", sigma(d))))
            " apart."
        })
    }

    /// From where on a change shows, above the noise and on the display.
    fn limits(&self, asked: ResolvableChange) -> Markup {
        let shows = |share: Option<f64>| share.map_or("no change at all".to_owned(), percent);
        html! {
            "The clouds are " (sigma(SEEN_SIGMA)) "\u{202f}σ apart from a change of "
            (shows(asked.noise)) " on. A display with steps of "
            (self.entry(&InstrumentEntry::DISPLAY_MAGNITUDE)) " and " (self.entry(&InstrumentEntry::DISPLAY_PHASE))
            " moves from a change of " (shows(asked.display)) " on. The larger of the two counts."
        }
    }

    fn entry(&self, entry: &InstrumentEntry) -> String {
        entries::shown(entry, &self.seen.instrument.figures)
    }

    fn result(&self, appraisal: &FixtureAppraisal) -> String {
        let amount = percent(self.seen.bench.nudge().amount());
        let least =
            change::asked(appraisal, self.seen.bench.nudge()).map_or(String::new(), |change| {
                let by = limit_key(change.limited_by());
                match change.value() {
                    Some(share) => format!(
                        " The smallest that shows is {}, and the {by} sets it.",
                        percent(share)
                    ),
                    None => format!(" The {by} hides every change this way."),
                }
            });
        format!(
            "{amount} in {}: {}.{least}",
            fixture_key(self.fixture),
            verdict(appraisal)
        )
    }

    fn elsewhere(&self) -> String {
        let others: Vec<String> = Fixture::ALL
            .into_iter()
            .filter(|fixture| *fixture != self.fixture)
            .filter_map(|fixture| {
                let seen = self.seen.readout.appraisal_of(fixture)?;
                Some(format!("{}: {}", fixture_title(fixture), verdict(seen)))
            })
            .collect();
        format!("{}.", others.join(". "))
    }
}

fn entry(name: &str, kind: &str, reading: &str, share: f64) -> Markup {
    row(name, &[kind, reading, &unsigned_percent(share)])
}

/// Why an entry hides a change, or does not.
fn kind(cause: Cause) -> &'static str {
    match cause {
        random if random.is_random() => "scatters",
        Cause::DisplayMagnitude | Cause::DisplayPhase => "rounds",
        left if left.is_of_calibration() => "stays until the next calibration",
        _ => "comes with handling",
    }
}
