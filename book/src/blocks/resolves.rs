//! `resolves FIXTURE SCENARIO`: from an instrument's budget to what a fixture can see of a part,
//! step by step, each with its numbers.

use jigwise_bench::percent;
use jigwise_bench::quotes::{Quote, QuoteError, Shown};
use jigwise_bench::words::{
    self, fixture_connection, fixture_key, fixture_title, limit_key, reading_name, sigma, verdict,
};
use jigwise_bench::{
    Cause, Complex64, Coverage, Fixture, FixtureAppraisal, ResolvableChange, SEEN_SIGMA,
    engineering, fixed, plain_complex,
};

use super::seen::{Weighed, part, tied};
use super::table::{heading, table};
use super::{Block, worked};
use crate::page::{PageError, escaped};

/// Entries are shown until what is left is less than this share of e².
const LEFT_OVER: f64 = 0.01;

pub(super) fn html(block: &Block<'_>) -> Result<String, PageError> {
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
    Ok(format!(
        "<section class=\"worked\" aria-label=\"Worked example: {}\">{}{}<ol>{}</ol>{}{}</section>",
        escaped(&example.title()),
        worked::paragraph("Given", &example.given().ok_or_else(no_example)?),
        example.entries(&appraisal).ok_or_else(no_example)?,
        steps
            .iter()
            .map(|step| format!("<li>{step}</li>"))
            .collect::<String>(),
        worked::paragraph("Verdict", &tied(&example.result(&appraisal))),
        worked::paragraph("In the other fixtures", &tied(&example.elsewhere())),
    ))
}

struct Example {
    seen: Weighed,
    fixture: Fixture,
}

impl Example {
    fn title(&self) -> String {
        let title = self.seen.scenario.title.as_deref().unwrap_or("A part");
        format!("{title}, {}", part(&self.seen.scenario.device))
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
    fn entries(&self, appraisal: &FixtureAppraisal) -> Option<String> {
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
        let mut rows = String::new();
        for (cause, error) in errors {
            if left < LEFT_OVER * e * e {
                break;
            }
            left -= (gain * error).powi(2);
            rows.push_str(&row(
                words::cause(cause),
                kind(cause),
                &digits(error, 3),
                gain * error,
            ));
        }
        rows.push_str(&row("all others", "", "", left.max(0.0).sqrt()));
        rows.push_str(&row("together, e", "", "", e));
        let head: String = ["Entry", "What it does", "On the reading", "On the ohms"]
            .map(|text| heading("col", text))
            .concat();
        Some(table(
            &format!(
                "The entries of the {} that matter for {} in {}, rms",
                self.seen.instrument.name,
                part(&self.seen.scenario.device),
                fixture_key(self.fixture),
            ),
            &head,
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
    ) -> Result<Option<Vec<String>>, PageError> {
        let latex = match self.fixture {
            Fixture::Reflect => "K = \\frac{\\lvert z + 1\\rvert^2}{2\\lvert z\\rvert}",
            Fixture::ShuntThrough => "K = \\frac{\\lvert 2z + 1\\rvert^2}{2\\lvert z\\rvert}",
            Fixture::SeriesThrough => "K = \\frac{\\lvert z + 2\\rvert^2}{2\\lvert z\\rvert}",
        };
        let gain = worked::formula(block, &format!("{latex} = {}", digits(self.gain(), 3)))?;
        let bench = &self.seen.bench;
        let z0 = self.seen.readout.reference;
        let nudged = bench.nudge().applied_to(bench.device());
        let before = self.fixture.reading(bench.device(), z0).value();
        let after = self.fixture.reading(nudged, z0).value();
        let (Some(before), Some(after), Some(e), Some(d), Some(asked)) = (
            before,
            after,
            appraisal.figure_of_merit,
            appraisal.separation_sigma,
            self.asked(appraisal),
        ) else {
            return Ok(None);
        };
        let quoted = |key: &str| self.quote(key).map_err(|error| block.error(error));
        let moved = digits((after - before).norm(), 3);
        let reading = |s: Complex64| match s.im {
            0.0 => digits(s.re, 4),
            _ => plain_complex(s, 4),
        };
        let shows = |share: Option<f64>| share.map_or("no change at all".to_owned(), percent);
        Ok(Some(vec![
            format!(
                "An error of the reading comes back in the ohms, as a part of them, K times as \
                 large. With z = Z/Z0: {gain}"
            ),
            format!(
                "Squares add up to e = {}. So the value is known within {}·e = {} at 95\u{202f}%.",
                unsigned(e),
                digits(Coverage::P95.radius_in_rms(), 3),
                unsigned(Coverage::P95.radius_in_rms() * e)
            ),
            format!(
                "The change takes {} from {} to {}, which are {moved} apart. Of what the table \
                 holds, only what scatters can hide that: one reading scatters by {} along this \
                 way. So the clouds are <span class=\"sum\">d = {moved}/{} = {}\u{202f}σ</span> apart.",
                reading_name(self.fixture),
                reading(before),
                reading(after),
                quoted("sigma 3")?,
                quoted("sigma 3")?,
                sigma(d),
            ),
            format!(
                "Above the noise, that is with clouds {}\u{202f}σ apart, a change shows from {}. On a \
                 display with steps of {} and {} it shows from {}. The larger of the two \
                 counts.",
                sigma(SEEN_SIGMA),
                shows(asked.noise),
                self.entry("Display step, size"),
                self.entry("Display step, angle"),
                shows(asked.display),
            ),
        ]))
    }

    fn quote(&self, key: &str) -> Result<String, QuoteError> {
        format!("{}.{key}", fixture_key(self.fixture))
            .parse::<Quote>()?
            .of(&self.seen.scenario)
    }

    fn entry(&self, name: &str) -> String {
        let figures = &self.seen.instrument.figures;
        jigwise_bench::BudgetEntry::of(figures)
            .find(|entry| entry.name == name)
            .map_or("–".to_owned(), |entry| entry.shown(figures))
    }

    fn asked(&self, appraisal: &FixtureAppraisal) -> Option<ResolvableChange> {
        let both = appraisal.resolvable?;
        Some(if self.seen.bench.nudge().amount() > 0.0 {
            both.increase
        } else {
            both.decrease
        })
    }

    fn result(&self, appraisal: &FixtureAppraisal) -> String {
        let amount = percent(self.seen.bench.nudge().amount());
        let least = self.asked(appraisal).map_or(String::new(), |change| {
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

fn row(name: &str, kind: &str, reading: &str, share: f64) -> String {
    let cells: String = [kind, reading, &unsigned(share)]
        .iter()
        .map(|text| format!("<td>{}</td>", escaped(text)))
        .collect();
    format!("<tr>{}{cells}</tr>", heading("row", name))
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

fn unsigned(share: f64) -> String {
    percent(share).trim_start_matches('+').to_owned()
}

/// A plain number with so many significant digits and no exponent.
fn digits(value: f64, count: i32) -> String {
    let leading = value.abs().log10().floor() as i32;
    fixed(value, (count - 1 - leading).max(0) as usize)
}
