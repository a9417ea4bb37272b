//! Names and sentences that people read, each written once.

mod answer;
mod column;
mod interval;
mod omitted;
mod plan;
mod roundtrip;
mod spoken;
mod story;
pub mod sums;

pub use answer::{Answer, USUAL_WANTED, answer, short_percent};
pub use column::{column_change, column_value};
pub use interval::{came_out, came_out_complex, known_modulus, modulus_interval};
pub use omitted::{omitted, omitted_words};
pub use plan::{causes_by_share, plan};
pub use roundtrip::roundtrip_words;
pub use spoken::spoken_bench;
pub(crate) use story::measurement_story;
pub use story::{bench_story, left_by, strays_words};

use jigwise_physics::{
    Agreement, AveragesNeeded, Complex64, Fixture, FixtureAppraisal, Immittance, Instrument, Limit,
    Nudge, ReferenceImpedance, ResolvableChange, StandingCaution, Trust, Verdict,
};

use crate::change::asked;
use crate::readout::{Bench, Readout};
use jigwise_quantity::{complex_ohm, engineering, fixed, grouped, percent};

/// The fixture's name as the text command and scenario files write it.
pub fn fixture_key(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Reflect => "reflect",
        Fixture::ShuntThrough => "shunt-through",
        Fixture::SeriesThrough => "series-through",
    }
}

/// The fixture's name in a heading.
pub fn fixture_title(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Reflect => "Reflect",
        Fixture::ShuntThrough => "Shunt-through",
        Fixture::SeriesThrough => "Series-through",
    }
}

/// How the part is connected, in a few words.
pub fn fixture_connection(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Reflect => "across one port",
        Fixture::ShuntThrough => "from the through line to ground",
        Fixture::SeriesThrough => "between the two ports",
    }
}

/// The S-parameter that is the fixture's reading.
pub fn reading_name(fixture: Fixture) -> &'static str {
    match fixture {
        Fixture::Reflect => "S11",
        Fixture::ShuntThrough | Fixture::SeriesThrough => "S21",
    }
}

/// Why there is no reading: an active part at Z = −Z0, −Z0/2 or −2·Z0.
pub fn no_reading(fixture: Fixture, reference: ReferenceImpedance) -> String {
    let factor = match fixture {
        Fixture::Reflect => 1.0,
        Fixture::ShuntThrough => 0.5,
        Fixture::SeriesThrough => 2.0,
    };
    format!(
        "no reading: an active part of {} in the {} fixture feeds back all it is given, so \
         this would oscillate",
        engineering(-factor * reference.ohm(), "Ω", 3),
        fixture_key(fixture),
    )
}

/// Cautions before a part is connected to a port, for the shell and the window alike.
pub const CAUTION: &str = "Before you connect: discharge the part, keep mains, bias and \
     transmitters away from the ports, and read the analyzer's limits. Local rules and \
     licensed practice come first.";

/// Whether one fixture sees the nudge, with the separation of the two readings in σ.
pub fn verdict(appraisal: &FixtureAppraisal) -> String {
    let d = appraisal
        .separation_sigma
        .map_or(String::new(), |d| format!(" ({} σ apart)", sigma(d)));
    match appraisal.verdict {
        Verdict::NoReading | Verdict::NoNudge => verdict_words(appraisal.verdict).to_owned(),
        other => format!("{}{d}", verdict_words(other)),
    }
}

/// Whether a fixture sees the nudge, without the number behind it.
pub fn verdict_words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::NoReading => "no reading here",
        Verdict::NoNudge => "no such change is possible here",
        Verdict::CantTell => "can't tell",
        Verdict::Hint => "a hint, no more",
        Verdict::Sees => "sees it",
        Verdict::HiddenByDisplay => "hidden by the display",
    }
}

/// The same where there is little room.
pub fn verdict_in_short(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::NoReading => "no reading",
        Verdict::NoNudge => "no change",
        Verdict::Hint => "a hint",
        Verdict::HiddenByDisplay => "hidden",
        other => verdict_words(other),
    }
}

/// The smallest change that a fixture shows in the nudge's own direction: "from +3.2 %".
pub fn smallest_change(seen: &FixtureAppraisal, nudge: Nudge) -> Option<String> {
    let change = asked(seen, nudge)?;
    let up = nudge.amount() > 0.0;
    Some(match change.value() {
        Some(share) => format!("from {}", growth(share)),
        None if up => "never, upward".to_owned(),
        None => "never, downward".to_owned(),
    })
}

/// A change as a share of |Z| in few digits: "+37 %", or "×580" where it is more than tenfold.
///
/// ```
/// use jigwise_bench::words::growth;
///
/// assert_eq!(growth(0.372), "+37\u{202f}%");
/// assert_eq!(growth(-0.0312), "−3.1\u{202f}%");
/// assert_eq!(growth(577.3), "×580");
/// ```
pub fn growth(share: f64) -> String {
    const TENFOLD: f64 = 9.0;
    if share > TENFOLD {
        let times = 1.0 + share;
        let place = 10f64.powf(times.log10().floor() - 1.0);
        return format!("×{}", grouped((times / place).round() * place));
    }
    let sign = if share < 0.0 { "−" } else { "+" };
    format!("{sign}{}", short_percent(share))
}

/// Decimals of decibels and of degrees that an instrument's display shows: enough for its steps.
///
/// ```
/// use jigwise_bench::words::display_decimals;
/// use jigwise_bench::NamedInstrument;
///
/// // Steps of 0.05 dB and 0.5°.
/// assert_eq!(display_decimals(&NamedInstrument::default().figures), [2, 1]);
/// ```
pub fn display_decimals(figures: &Instrument) -> [usize; 2] {
    const MOST: f64 = 6.0;
    let step_db = figures.display_magnitude * 20.0 / std::f64::consts::LN_10;
    let step_deg = figures.display_phase_rad.to_degrees();
    // A step of 0.05 wants two decimals; the small addend keeps 0.1 from wanting two.
    [step_db, step_deg].map(|step| (-step.log10() - 1e-9).ceil().clamp(0.0, MOST) as usize)
}

/// The verdict as a key for files and commands.
pub fn verdict_key(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::NoReading => "no-reading",
        Verdict::NoNudge => "no-nudge",
        Verdict::CantTell => "cant-tell",
        Verdict::Hint => "hint",
        Verdict::Sees => "sees",
        Verdict::HiddenByDisplay => "hidden-by-display",
    }
}

/// What limits a resolvable change, as a key for files and commands.
pub fn limit_key(limit: Limit) -> &'static str {
    match limit {
        Limit::Noise => "noise",
        Limit::Display => "display",
    }
}

/// A separation without its unit σ, with about three digits: 0.53, 12.3, 711. Below 0.01 σ it is
/// 0.00.
pub fn sigma(d: f64) -> String {
    if d < 0.01 {
        return "0.00".to_owned();
    }
    let decimals = if d < 10.0 {
        2
    } else if d < 100.0 {
        1
    } else {
        0
    };
    fixed(d, decimals)
}

/// A resolvable change in percent and what limits it, or why no change can be resolved.
pub fn resolvable(change: ResolvableChange) -> String {
    match change.value() {
        Some(share) => format!("{} by {}", percent(share), limit_key(change.limited_by())),
        None => match change.limited_by() {
            Limit::Noise => "none: noise hides every change".to_owned(),
            Limit::Display => "none: the display never moves".to_owned(),
        },
    }
}

/// Which statement of uncertainty to trust.
pub fn trust(trust: Trust) -> &'static str {
    match trust {
        Trust::Linear => "the linear uncertainty holds",
        Trust::Disc => "too small: trust the 95 % region",
        Trust::NoDeviation => "no deviation exists: trust the region",
        Trust::Unbounded => "a bound only: the region reaches an end",
    }
}

/// A region of Z bounded by a circle, in ohms: what lies inside of it, or outside.
///
/// ```
/// use jigwise_bench::Complex64;
/// use jigwise_bench::words::circle;
///
/// let center = Complex64::new(2_120.0, 0.0);
/// assert_eq!(circle(center, 1_594.0, true), "within 1.59\u{202f}kΩ of 2.12 + j0.00\u{202f}kΩ");
/// ```
pub fn circle(center_ohm: Complex64, radius_ohm: f64, is_inside: bool) -> String {
    let (side, of) = if is_inside {
        ("within", "of")
    } else {
        ("outside", "about")
    };
    format!(
        "{side} {} {of} {}",
        engineering(radius_ohm, "Ω", 3),
        complex_ohm(center_ohm, 3)
    )
}

/// Which statement of uncertainty to trust, as a key for files and commands.
pub fn trust_key(trust: Trust) -> &'static str {
    match trust {
        Trust::Linear => "linear",
        Trust::Disc => "region",
        Trust::NoDeviation => "region-only",
        Trust::Unbounded => "bound-only",
    }
}

/// For an open or a short, the resistance from which a part can be told from it, a sentence for
/// each fixture: no relative change is defined there. Empty for any other device.
pub fn beside_an_end(readout: &Readout, bench: &Bench) -> Vec<String> {
    let Some(budget) = bench.budget() else {
        return Vec::new();
    };
    let swapped = readout.nudge.is_swapped();
    let device = readout.device;
    Fixture::ALL
        .into_iter()
        .filter_map(|fixture| {
            let name = fixture_title(fixture);
            let ohms = |ohm| engineering(ohm, "Ω", 3);
            if device.is_open() {
                Some(match budget.told_from_open_ohm(fixture, swapped) {
                    Some(ohm) => format!("{name}: can't be told from an open above {}", ohms(ohm)),
                    None => format!("{name}: every resistor reads as an open"),
                })
            } else if device.is_short() {
                Some(match budget.told_from_short_ohm(fixture, swapped) {
                    Some(ohm) => format!("{name}: can't be told from a short below {}", ohms(ohm)),
                    None => format!("{name}: every resistor reads as a short"),
                })
            } else {
                None
            }
        })
        .collect()
}

/// Where no fixture sees the nudge: the fixture that comes nearest, the change it needs, and how
/// many averages would help. `None` where a fixture sees it, or where the nudge is not defined.
pub fn nothing_resolves(readout: &Readout, bench: &Bench) -> Option<String> {
    let appraisal = readout.appraisal.as_ref()?;
    let budget = bench.budget()?;
    let unseen = appraisal.fixtures.iter().all(|seen| {
        matches!(
            seen.verdict,
            Verdict::CantTell | Verdict::Hint | Verdict::HiddenByDisplay
        )
    });
    if !unseen {
        return None;
    }
    let nudge = readout.nudge;
    let wanted = percent(nudge.amount());
    let Some(nearest) = appraisal.best_for_change else {
        return Some(format!(
            "No fixture shows {wanted} here, nor any change that way: even an open or a short \
             would read the same."
        ));
    };
    let change = appraisal.of(nearest).resolvable.and_then(|both| {
        if nudge.amount() > 0.0 {
            both.increase.value()
        } else {
            both.decrease.value()
        }
    });
    let needs = change.map_or(String::new(), |share| {
        format!(", which needs {}", growth(share))
    });
    // More take longer than a calibration holds (common practice, no source).
    const MOST_AVERAGES: f64 = 1_000.0;
    let averages = match budget.averages_needed(nearest, readout.device, nudge) {
        Some(AveragesNeeded::Averages(count)) if count <= MOST_AVERAGES => {
            format!(", or {} averages", grouped(count))
        }
        Some(AveragesNeeded::HiddenByDisplay) => {
            "; averages don't help, its display doesn't move".to_owned()
        }
        Some(AveragesNeeded::HiddenByReconnecting) => {
            "; averages don't help, connecting the part scatters more".to_owned()
        }
        _ => String::new(),
    };
    Some(format!(
        "No fixture shows {wanted} here. Nearest: {}{needs}{averages}.",
        fixture_key(nearest)
    ))
}

/// The device in one sentence: Z, |Z| and the phase in degrees.
pub fn device_sentence(device: Immittance) -> String {
    let Some(z) = device.impedance() else {
        return "The device is an open.".to_owned();
    };
    if device.is_short() {
        return "The device is a short.".to_owned();
    }
    format!(
        "The device is {}, that is {} at {} degrees.",
        complex_ohm(z, 4),
        engineering(z.norm(), "Ω", 4),
        fixed(z.arg().to_degrees(), 1)
    )
}

/// The nudge from Z to Z' in ohms, and its size in percent of |Z| and of |Z'|.
pub fn nudge_in_ohms(readout: &Readout) -> String {
    let nudged = readout.nudge.applied_to(readout.device);
    match (readout.device.impedance(), nudged.impedance()) {
        (Some(from), Some(to)) if from.norm() > 0.0 && to.norm() > 0.0 => {
            let step = (to - from).norm() * readout.nudge.amount().signum();
            format!(
                "Nudged from {} to {}: {} of the first, {} of the second",
                complex_ohm(from, 4),
                complex_ohm(to, 4),
                percent(step / from.norm()),
                percent(step / to.norm()),
            )
        }
        _ => "No nudge at an open or a short".to_owned(),
    }
}

/// What has to be said beside every blend.
pub fn standing_caution(caution: StandingCaution) -> String {
    match caution {
        StandingCaution::CommonStandards => {
            "Agreement can't reveal a wrong load or through: a 51 Ω load taken for 50 Ω makes all \
             three fixtures read 1.96\u{202f}% low, in perfect agreement."
                .to_owned()
        }
        StandingCaution::Level { ratio } => format!(
            "The fixtures drive the part at levels up to {} times apart: a part that depends on \
             level is not the same part in each.",
            fixed(ratio, 1)
        ),
    }
}

/// Whether the fixtures that a part was swept in tell of the same part.
pub fn agreement(agreement: &Agreement) -> String {
    let p = match agreement.p {
        tiny if tiny < 1e-9 => "below 1e-9".to_owned(),
        small if small < 1e-3 => format!("{small:.0e}"),
        p => fixed(p, 3),
    };
    if agreement.is_contradiction() {
        format!(
            "the fixtures contradict each other, p {p}: these are not sweeps of one part within \
             this budget, so they are not blended and no circuit's values are given. Look for \
             another part, a stray, a wrong fixture or a wrong budget"
        )
    } else if agreement.is_doubtful() {
        format!(
            "the fixtures agree poorly, p {p}: look for a stray, a wrong fixture or a wrong budget"
        )
    } else {
        format!("the fixtures agree, p {p}")
    }
}

/// What the p-value of the agreement takes for granted.
pub const AGREEMENT_NOTE: &str = "p of the agreement is one for the whole sweep. What the \
    calibration, a connection or a blank leaves is taken for one constant over it. Fixtures with \
    the same raw standards share the noise of these; of files corrected elsewhere each counts as \
    calibrated by itself";
