//! What an instrument sees of a part: clouds, reach, calibrations, crossovers.

use jigwise_bench::percent;
use jigwise_bench::scene::{self, ReachFrame, Scene};
use jigwise_bench::words::{fixture_key, fixture_title, sigma, verdict};
use jigwise_bench::{
    Bench, Budget, Complex64, Coverage, Crossover, Device, Fixture, Immittance, Instrument, Merits,
    NamedInstrument, Nudge, Readout, ReferenceImpedance, Scenario, WantedChange, complex_ohm,
    engineering,
};

use super::figure::figure;
use super::table::{heading, table};
use super::{Block, figure};
use crate::page::{PageError, escaped};

const CLOUD_SIZE: [f64; 2] = [230.0, 190.0];
const RULER_SIZE: [f64; 2] = [420.0, 64.0];
const REACH_SIZE: [f64; 2] = [420.0, 300.0];
/// The percentage that the reach plot asks for, at 95 %.
const WANTED: f64 = 0.1;
/// The number of the calibration that leaves nothing over.
const PERFECT: u64 = 0;
/// More calibrations than these make no clearer picture.
const MOST_CALIBRATIONS: u64 = 20;

/// A named scenario that has an instrument.
pub(super) struct Weighed {
    pub scenario: Scenario,
    pub instrument: NamedInstrument,
    pub bench: Bench,
    pub budget: Budget,
    pub readout: Readout,
}

impl Weighed {
    pub(super) fn new(block: &Block<'_>, name: &str) -> Result<Self, PageError> {
        let scenario = block.scenario(name)?;
        let bench = Bench::new(&scenario).map_err(|error| block.error(error))?;
        let without = || {
            block.error(format!(
                "scenario \"{name}\" has no instrument; choose another, or give it an \
                 [instrument] table"
            ))
        };
        Ok(Self {
            instrument: scenario.instrument.clone().ok_or_else(without)?,
            budget: *bench.budget().ok_or_else(without)?,
            readout: bench.readout(),
            scenario,
            bench,
        })
    }

    /// Who measures what, for a caption.
    pub(super) fn setting(&self) -> String {
        let nudge = self.bench.nudge();
        format!(
            "{}, {}, {} {}; instrument: {} (invented).",
            self.scenario.title.as_deref().unwrap_or("A part"),
            part(&self.scenario.device),
            percent(nudge.amount()),
            if nudge.is_swapped() {
                "in the part that takes its place"
            } else {
                "in place"
            },
            self.instrument.name,
        )
    }
}

/// No line ends between a number and its σ.
pub(super) fn tied(text: &str) -> String {
    text.replace(" σ", "\u{202f}σ")
}

pub(super) fn part(device: &Device) -> String {
    match device.fixed_ohm() {
        Some(z) if z.im == 0.0 => engineering(z.re, "Ω", 2),
        _ => device.to_string(),
    }
}

/// `clouds FIXTURE SCENARIO` or `clouds all SCENARIO`, then the numbers of calibrations where
/// it is not to be the perfect one.
pub(super) fn clouds(block: &Block<'_>) -> Result<String, PageError> {
    let [fixture, name, ref numbers @ ..] = block.words[..] else {
        return Err(block.error(
            "expected clouds FIXTURE SCENARIO, or clouds all SCENARIO, as in clouds all \
             anode-resistor",
        ));
    };
    let calibrations = numbers
        .iter()
        .map(|number| calibration(block, number))
        .collect::<Result<Vec<u64>, PageError>>()?;
    let numbers = if calibrations.is_empty() {
        &[PERFECT][..]
    } else {
        &calibrations
    };
    let fixtures = if fixture == "all" {
        Fixture::ALL.to_vec()
    } else {
        vec![block.fixture(fixture)?]
    };
    let seen = Weighed::new(block, name)?;
    let mut html = String::new();
    for (fixture, number) in fixtures
        .iter()
        .flat_map(|fixture| numbers.iter().map(move |number| (*fixture, *number)))
    {
        html.push_str(&one_cloud(block, &seen, name, fixture, number)?);
    }
    let mut caption = seen.setting();
    if !calibrations.is_empty() {
        caption.push_str(" The cross is where a perfect calibration would read the part as it is.");
    }
    caption.push_str(" Filled: the part as it is. Hollow: the part changed.");
    if fixtures.len() > 1 {
        let ruler = scene::sigma_ruler(&seen.readout, RULER_SIZE);
        caption.push_str(&format!(" Below, all on one ruler. {}", ruler.description));
        html = format!(
            "<div class=\"jw-clouds\">{html}</div><div class=\"jw-ruler\">{}</div>",
            scene::svg(&ruler, &format!("{}-ruler", block.id))
        );
    } else {
        html = format!("<div class=\"jw-clouds\">{html}</div>");
    }
    let class = if fixtures.len() * numbers.len() > 1 {
        " wide"
    } else {
        ""
    };
    Ok(format!(
        "<figure class=\"jw{class}\" style=\"--jw-width:{}px\">{html}<figcaption>{}</figcaption>\
         </figure>",
        CLOUD_SIZE[0],
        escaped(&tied(&caption))
    ))
}

fn one_cloud(
    block: &Block<'_>,
    seen: &Weighed,
    name: &str,
    fixture: Fixture,
    number: u64,
) -> Result<String, PageError> {
    let clouds = seen
        .bench
        .clouds(fixture, &seen.bench.calibration(number))
        .ok_or_else(|| {
            block.error(format!(
                "scenario \"{name}\" has no clouds in {}: no reading, or a nudge that means \
                 nothing there",
                fixture_key(fixture)
            ))
        })?;
    let said = match seen.readout.appraisal_of(fixture) {
        Some(appraisal) if number == PERFECT => tied(&verdict(appraisal)),
        _ => format!(
            "calibration {number}, {}\u{202f}σ apart",
            sigma(clouds.separation_sigma)
        ),
    };
    let id = format!("{}-{}-{number}", block.id, fixture_key(fixture));
    Ok(format!(
        "<div class=\"jw-cloud\"><p>{}<strong>{}</strong>: {}</p>{}</div>",
        scene::svg(&figure::sign(fixture), &format!("{id}-sign")),
        fixture_title(fixture),
        escaped(&said),
        scene::svg(&scene::cloud(&clouds, CLOUD_SIZE), &id),
    ))
}

/// `reach SCENARIO`.
pub(super) fn reach(block: &Block<'_>) -> Result<String, PageError> {
    let [name] = block.words[..] else {
        return Err(block.error("expected reach SCENARIO, as in reach anode-resistor"));
    };
    let seen = Weighed::new(block, name)?;
    let frame = ReachFrame {
        size: REACH_SIZE,
        reference: seen.readout.reference,
        wanted: WANTED,
    };
    let scene = frame
        .scene(&seen.bench)
        .ok_or_else(|| block.error(format!("scenario \"{name}\" has no reach")))?;
    let angle_rad = match seen.bench.device().impedance() {
        Some(z) if z.norm() > 0.0 => z.arg(),
        _ => 0.0,
    };
    let merits = Merits::of(&seen.budget);
    let within = Fixture::ALL.map(|fixture| {
        let ranges = merits
            .reach(fixture, WANTED, Coverage::P95, angle_rad)
            .unwrap_or_default();
        let ranges: Vec<String> = ranges
            .iter()
            .map(|range| {
                format!(
                    "from {} to {}",
                    engineering(range.from_ohm, "Ω", 2),
                    engineering(range.to_ohm, "Ω", 2)
                )
            })
            .collect();
        let ranges = if ranges.is_empty() {
            "nowhere".to_owned()
        } else {
            ranges.join(" and ")
        };
        format!("{} {ranges}", fixture_key(fixture))
    });
    let description = format!(
        "Instrument: {} (invented). The value is known within {}\u{202f}% in {}. {} The upright \
         line is the part, {}.",
        seen.instrument.name,
        100.0 * WANTED,
        within.join("; "),
        scene.description,
        part(&seen.scenario.device),
    );
    Ok(figure(
        &Scene {
            description,
            ..scene
        },
        &block.id,
    ))
}

fn calibration(block: &Block<'_>, word: &str) -> Result<u64, PageError> {
    word.parse()
        .ok()
        .filter(|count| (1..=MOST_CALIBRATIONS).contains(count))
        .ok_or_else(|| {
            block.error(format!(
                "\"{word}\" is no number of a calibration, expected 1 to {MOST_CALIBRATIONS}"
            ))
        })
}

/// `calibrations FIXTURE SCENARIO COUNT`: what each of so many calibrations makes of the part
/// before and after the nudge.
pub(super) fn calibrations(block: &Block<'_>) -> Result<String, PageError> {
    let [fixture, name, count] = block.words[..] else {
        return Err(block.error(
            "expected calibrations FIXTURE SCENARIO COUNT, as in calibrations series-through \
             anode-resistor 5",
        ));
    };
    let fixture = block.fixture(fixture)?;
    let count = calibration(block, count)?;
    let seen = Weighed::new(block, name)?;
    let no_nudge = || {
        block.error(format!(
            "the nudge of scenario \"{name}\" means nothing here"
        ))
    };
    let after = seen.bench.nudge().applied_to(seen.bench.device());
    let nudged = Bench::new(&Scenario {
        device: Device::Fixed(after.impedance().ok_or_else(no_nudge)?),
        ..seen.scenario.clone()
    })
    .map_err(|error| block.error(error))?;
    let mut rows = String::new();
    for number in PERFECT..=count {
        let residuals = seen.bench.calibration(number);
        let clouds = seen
            .bench
            .clouds(fixture, &residuals)
            .ok_or_else(no_nudge)?;
        let ohms = |bench: &Bench| {
            let back = bench.got_back_after(fixture, &residuals);
            back.and_then(Immittance::impedance)
                .map_or("–".to_owned(), |z| complex_ohm(z, 4))
        };
        let cells: String = [
            ohms(&seen.bench),
            ohms(&nudged),
            format!("{}\u{202f}σ", sigma(clouds.separation_sigma)),
        ]
        .iter()
        .map(|text| format!("<td>{}</td>", escaped(text)))
        .collect();
        let label = match number {
            PERFECT => "Perfect".to_owned(),
            number => number.to_string(),
        };
        rows.push_str(&format!("<tr>{}{cells}</tr>", heading("row", &label)));
    }
    let head: String = ["Calibration", "Before", "After", "Apart"]
        .map(|text| heading("col", text))
        .concat();
    Ok(table(
        &format!(
            "Ohms got back in {} after each calibration. {}",
            fixture_key(fixture),
            seen.setting()
        ),
        &head,
        &rows,
    ))
}

/// `crossovers`: where the best fixture changes for a resistor, for the value and for a change,
/// on each of the invented instruments.
pub(super) fn crossovers(block: &Block<'_>) -> Result<String, PageError> {
    if !block.words.is_empty() {
        return Err(block.error("expected crossovers and nothing more"));
    }
    let reference = ReferenceImpedance::FIFTY_OHM;
    let mut rows = String::new();
    for (name, figures) in Instrument::PRESETS {
        let budget = Budget::new(&figures, reference, 0).map_err(|error| block.error(error))?;
        let at = |ohm| {
            let part = Immittance::from_impedance(Complex64::new(ohm, 0.0)).ok()?;
            Some(budget.appraise(part, Nudge::default(), Coverage::P95))
        };
        let value = Merits::of(&budget).crossovers(0.0);
        let change = budget.change_crossovers(0.0, WantedChange::default());
        rows.push_str(&format!(
            "<tr>{}<td>{}</td><td>{}</td></tr>",
            heading("row", name),
            escaped(&best_of(value, |ohm| at(ohm)?.best_for_value)),
            escaped(&best_of(change, |ohm| at(ohm)?.best_for_change))
        ));
    }
    let head: String = ["Instrument", "Best for the value", "Best for a change"]
        .map(|text| heading("col", text))
        .concat();
    Ok(table(
        &format!(
            "Which fixture is best for a resistor, on a reference of {}; the instruments are \
             invented",
            engineering(reference.ohm(), "Ω", 2)
        ),
        &head,
        &rows,
    ))
}

/// The best fixture from small parts to large, with the ohms at which it changes.
fn best_of(mut crossovers: Vec<Crossover>, best_at: impl Fn(f64) -> Option<Fixture>) -> String {
    const BESIDE: f64 = 1.001;
    crossovers.retain(|crossover| crossover.best);
    crossovers.sort_by(|a, b| a.ohm.total_cmp(&b.ohm));
    let name = |ohm| best_at(ohm).map_or("none", fixture_key);
    let mut words: Vec<String> = crossovers
        .iter()
        .map(|crossover| {
            let up_to = engineering(crossover.ohm, "Ω", 3);
            format!("{} up to {up_to}", name(crossover.ohm / BESIDE))
        })
        .collect();
    words.push(match crossovers.last() {
        Some(last) => format!("{} above", name(last.ohm * BESIDE)),
        None => name(ReferenceImpedance::FIFTY_OHM.ohm()).to_owned(),
    });
    words.join(", ")
}
