//! `blank FIXTURE SCENARIO`: the fixture measured with the part, measured blank, and one taken
//! from the other, each with its numbers.

use jigwise_bench::percent;
use jigwise_bench::words::fixture_key;
use jigwise_bench::{
    Bench, Blank, Complex64, Device, Equivalents, Fixture, FixtureStrays, Immittance, LEFT_SHARE,
    Scenario, complex_ohm, engineering,
};

use super::Block;
use super::seen::part;
use super::worked::paragraph;
use crate::page::{PageError, escaped};

const DIGITS: usize = 4;

pub(super) fn html(block: &Block<'_>) -> Result<String, PageError> {
    let [fixture, name] = block.words[..] else {
        return Err(
            block.error("expected blank FIXTURE SCENARIO, as in blank series-through trimmer-gap")
        );
    };
    let fixture = block.fixture(fixture)?;
    let scenario = block.scenario(name)?;
    if scenario.fixtures == FixtureStrays::NONE || scenario.fixtures.removed {
        return Err(block.error(format!(
            "scenario \"{name}\" has no strays left to take off; choose one that has"
        )));
    }
    let read = |device: Device| -> Result<Immittance, PageError> {
        let scenario = Scenario {
            device,
            ..scenario.clone()
        };
        let bench = Bench::new(&scenario).map_err(|error| block.error(error))?;
        let readout = bench.readout();
        readout.of(fixture).got_back.ok_or_else(|| {
            block.error(format!(
                "scenario \"{name}\" has no reading in {}",
                fixture_key(fixture)
            ))
        })
    };
    let measured = read(scenario.device.clone())?;
    let freq_hz = scenario
        .readout_hz()
        .ok_or_else(|| block.error(format!("scenario \"{name}\" has no frequency; give it one")))?;
    let mut steps = vec![format!(
        "With the part the formula of {} gives {}.",
        fixture_key(fixture),
        shown(measured, freq_hz)
    )];
    let blanks = Blank::of(fixture)
        .iter()
        .map(|blank| read(blank.device()))
        .collect::<Result<Vec<_>, _>>()?;
    match (fixture, &blanks[..]) {
        (Fixture::SeriesThrough, &[empty]) => {
            steps.push(format!(
                "With the gap empty it gives {}.",
                shown(empty, freq_hz)
            ));
            steps.push(format!(
                "Part and gap lie side by side, so admittances are subtracted: Y = {} − ({}).",
                siemens(measured),
                siemens(empty)
            ));
        }
        (Fixture::ShuntThrough, &[shorted]) => {
            steps.push(format!(
                "With the branch shorted where the part was it gives {}.",
                shown(shorted, freq_hz)
            ));
            steps.push(format!(
                "Part and branch lie one after the other, so impedances are subtracted: Z = {} − \
                 ({}).",
                ohms(measured),
                ohms(shorted)
            ));
        }
        (Fixture::Reflect, &[open, short]) => {
            steps.push(format!(
                "Empty it gives Zo, {}; with a short in place of the part Zs, {}.",
                shown(open, freq_hz),
                shown(short, freq_hz)
            ));
            steps.push(
                "One lies in series and the other across the part, so both are taken off: \
                 Z = (Zm − Zs)/(1 − (Zm − Zs)/(Zo − Zs))."
                    .to_owned(),
            );
        }
        _ => {}
    }
    let result = match Blank::take_off(fixture, measured, &blanks) {
        Ok(found) => format!(
            "{}. Taken off: {} of it. If {} of that is not known for sure, {} of the value is not.",
            shown(found.part, freq_hz),
            unsigned(found.removed),
            unsigned(LEFT_SHARE),
            unsigned(found.relative_uncertainty(LEFT_SHARE))
        ),
        Err(error) => format!("None: {error}."),
    };
    let title = scenario.title.as_deref().unwrap_or("A part");
    let items: String = steps
        .iter()
        .map(|step| format!("<li>{}</li>", escaped(step)))
        .collect();
    Ok(format!(
        "<section class=\"worked\" aria-label=\"Blank taken off: {}\">{}<ol>{items}</ol>{}\
         </section>",
        escaped(title),
        paragraph(
            "Given",
            &format!(
                "{title}, {}, in {} at {}.",
                part(&scenario.device),
                fixture_key(fixture),
                engineering(freq_hz, "Hz", 3)
            )
        ),
        paragraph("Result", &result),
    ))
}

/// Ohms, and the coil or capacitor they would be.
fn shown(device: Immittance, freq_hz: f64) -> String {
    let reactive = device.impedance().filter(|z| z.im.abs() > z.re.abs());
    let as_part = reactive.and_then(|_| {
        let seen = Equivalents::new(device, freq_hz).ok()?;
        seen.series_capacitance_f()
            .map(|farad| engineering(farad, "F", 3))
            .or_else(|| Some(engineering(seen.series_inductance_h()?, "H", 3)))
    });
    match as_part {
        Some(value) => format!("{}, which is {value}", ohms(device)),
        None => ohms(device),
    }
}

fn ohms(device: Immittance) -> String {
    device
        .impedance()
        .map_or("an open".to_owned(), |z| complex_ohm(z, DIGITS))
}

fn siemens(device: Immittance) -> String {
    let y: Option<Complex64> = device.admittance();
    y.map_or("–".to_owned(), |y| {
        let sign = if y.im < 0.0 { '−' } else { '+' };
        let [re, im] =
            [y.re, y.im.abs()].map(|part| if part < 1e-12 * y.norm() { 0.0 } else { part });
        let im = engineering(im, "S", DIGITS);
        if re == 0.0 {
            format!("{}j{im}", if sign == '−' { "−" } else { "" })
        } else {
            format!("{} {sign} j{im}", engineering(re, "S", DIGITS))
        }
    })
}

fn unsigned(share: f64) -> String {
    percent(share).trim_start_matches('+').to_owned()
}
