//! A part over frequency: its curve, the fixture that is best for it, and where it stops being
//! what it is called.

use jigwise_bench::percent;
use jigwise_bench::quotes::seems_larger_at;
use jigwise_bench::scene::SpectrumFrame;
use jigwise_bench::words::fixture_key;
use jigwise_bench::{
    Bench, Complex64, Coverage, Device, Equivalents, Fixture, Part, Scenario, SweepPlan,
    engineering, fixed,
};

use super::Block;
use super::figure::figure;
use super::got_back::{headings, line};
use super::seen::part;
use super::table::table;
use crate::page::PageError;

const SIZE: [f64; 2] = [420.0, 340.0];
/// Rows of the table of best fixtures.
const ROWS: usize = 8;
/// Shares of the resonance at which a part is looked at, after those where its value is one and
/// ten percent too large.
const BEYOND: [f64; 4] = [0.5, 0.9, 1.1, 2.0];
const TOO_LARGE: [f64; 2] = [0.01, 0.1];

/// `over SCENARIO`, then fixtures whose ohms got back are drawn beside the part.
pub(super) fn curve(block: &Block<'_>) -> Result<String, PageError> {
    let [name, ref fixtures @ ..] = block.words[..] else {
        return Err(block.error("expected over SCENARIO, as in over bypass-capacitor"));
    };
    let frame = SpectrumFrame {
        size: SIZE,
        fixtures: fixtures
            .iter()
            .map(|word| block.fixture(word))
            .collect::<Result<_, _>>()?,
    };
    let scene = frame
        .scene(&block.scenario(name)?)
        .map_err(|error| block.error(error))?;
    Ok(figure(&scene, &block.id))
}

fn sweep(block: &Block<'_>, name: &str, scenario: &Scenario) -> Result<SweepPlan, PageError> {
    scenario.sweep.ok_or_else(|| {
        block.error(format!(
            "scenario \"{name}\" has no [sweep]; choose another, or give it one"
        ))
    })
}

/// `best-over SCENARIO`: the best fixture for the value at some frequencies of its sweep.
pub(super) fn best(block: &Block<'_>) -> Result<String, PageError> {
    let [name] = block.words[..] else {
        return Err(block.error("expected best-over SCENARIO, as in best-over filter-coil"));
    };
    let scenario = block.scenario(name)?;
    let some = SweepPlan {
        points: ROWS,
        ..sweep(block, name, &scenario)?
    };
    let mut body = String::new();
    for hz in some.freq_hz() {
        let at = Scenario {
            freq_hz: Some(hz),
            ..scenario.clone()
        };
        let bench = Bench::new(&at).map_err(|error| block.error(error))?;
        let readout = bench.readout();
        let without = || {
            block.error(format!(
                "scenario \"{name}\" has no instrument, or a part that it can't weigh; give it \
                 an [instrument] table"
            ))
        };
        let appraisal = readout.appraisal.ok_or_else(without)?;
        let z = readout.device.impedance().ok_or_else(without)?;
        let within = |fixture: Fixture| {
            let e = appraisal.of(fixture).figure_of_merit;
            e.map_or("–".to_owned(), |e| {
                percent(Coverage::P95.radius_in_rms() * e)
                    .trim_start_matches('+')
                    .to_owned()
            })
        };
        let best = appraisal.best_for_value;
        let mut cells = vec![
            engineering(z.norm(), "Ω", 3),
            format!("{}°", fixed(z.arg().to_degrees(), 1)),
        ];
        cells.extend(Fixture::ALL.map(within));
        cells.push(best.map_or("none", fixture_key).to_owned());
        body.push_str(&line(&engineering(hz, "Hz", 3), &cells));
    }
    let head: Vec<String> = [
        "At",
        "|Z|",
        "Phase",
        "Reflect",
        "Shunt-through",
        "Series-through",
        "Best for the value",
    ]
    .map(str::to_owned)
    .into();
    let instrument = scenario.instrument.as_ref();
    Ok(table(
        &format!(
            "{}, {}: the value is known within so much at 95\u{202f}%, strays aside; instrument: \
             {} (invented)",
            scenario.title.as_deref().unwrap_or("A part"),
            part(&scenario.device),
            instrument.map_or("none", |instrument| instrument.name.as_str())
        ),
        &headings(&head),
        &body,
    ))
}

/// `apparent SCENARIO`: what the reactance of a capacitor or coil says of its value, from far
/// below its self-resonance to above.
pub(super) fn apparent(block: &Block<'_>) -> Result<String, PageError> {
    let [name] = block.words[..] else {
        return Err(block.error("expected apparent SCENARIO, as in apparent bypass-capacitor"));
    };
    let scenario = block.scenario(name)?;
    let none = || {
        block.error(format!(
            "scenario \"{name}\" is no capacitor or coil with a self-resonance; choose another"
        ))
    };
    let (resonance_hz, value, unit) = match scenario.device {
        Device::Part(Part::Capacitor(part)) => (part.self_resonance_hz(), part.capacitance_f, "F"),
        Device::Part(Part::Inductor(part)) => (part.self_resonance_hz(), part.inductance_h, "H"),
        _ => return Err(none()),
    };
    let resonance_hz = resonance_hz.ok_or_else(none)?;
    let mut body = String::new();
    let shares = TOO_LARGE.map(seems_larger_at).into_iter().chain(BEYOND);
    for share in shares {
        let hz = share * resonance_hz;
        let device = scenario
            .device
            .immittance(Some(hz))
            .map_err(|error| block.error(error))?;
        let z: Complex64 = device.impedance().ok_or_else(none)?;
        let seen = Equivalents::new(device, hz).map_err(|error| block.error(error))?;
        let as_coil = seen.series_inductance_h();
        let as_capacitor = seen.series_capacitance_f();
        let (own, other, other_unit, kind) = if unit == "F" {
            (as_capacitor, as_coil, "H", "coil")
        } else {
            (as_coil, as_capacitor, "F", "capacitor")
        };
        let cells = match (own, other) {
            (Some(own), _) => [
                engineering(own, unit, 4),
                percent(own / value - 1.0),
                percent(1.0 / (1.0 - share * share) - 1.0),
            ],
            (None, Some(other)) => [
                format!("a {kind} of {}", engineering(other, other_unit, 3)),
                "–".to_owned(),
                "–".to_owned(),
            ],
            (None, None) => return Err(none()),
        };
        let [value_cell, off, law] = cells;
        body.push_str(&line(
            &format!("{}, {}", fixed(share, 4), engineering(hz, "Hz", 3)),
            &[engineering(z.norm(), "Ω", 3), value_cell, off, law],
        ));
    }
    let head: Vec<String> = [
        "Share of the self-resonance",
        "|Z|",
        "Reads as",
        "Off by",
        "1/(1 − (f/f0)²) says",
    ]
    .map(str::to_owned)
    .into();
    Ok(table(
        &format!(
            "{}, {}, self-resonant at {}",
            scenario.title.as_deref().unwrap_or("A part"),
            part(&scenario.device),
            engineering(resonance_hz, "Hz", 3)
        ),
        &headings(&head),
        &body,
    ))
}
