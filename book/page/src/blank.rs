//! `blank FIXTURE SCENARIO`: the fixture measured with the part, measured blank, and one taken
//! from the other, each with its numbers.

use jigwise_bench::words::fixture_key;
use jigwise_bench::{
    Blank, BlankError, Complex64, Deembedded, Device, Equivalents, Fixture, FixtureStrays,
    Immittance, LEFT_SHARE, Scenario, complex_ohm, engineering,
};
use jigwise_quantity::unsigned_percent;
use maud::{Markup, html};

use crate::block::{Block, BlockError};
use crate::markup::{paragraph, text_steps, worked};
use crate::words::{NONE, part, title};

const DIGITS: usize = 4;

pub(crate) fn blank(block: &Block<'_>) -> Result<Markup, BlockError> {
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
    let freq_hz = scenario
        .readout_hz()
        .ok_or_else(|| block.error(format!("scenario \"{name}\" has no frequency; give it one")))?;
    let example = Example {
        block,
        name,
        fixture,
        scenario: &scenario,
        freq_hz,
    };
    let mut steps = Vec::new();
    let result = match example.taken_off(&mut steps)? {
        Ok(found) => format!(
            "{}. Taken off: {} of it. If u of the blank is {} of the blank, the blank alone makes u of the \
             value {} (k = 1).",
            example.shown(found.part),
            unsigned_percent(found.removed),
            unsigned_percent(LEFT_SHARE),
            unsigned_percent(found.relative_uncertainty(LEFT_SHARE))
        ),
        Err(error) => format!("None: {error}."),
    };
    let title = title(&scenario);
    let given = format!(
        "{title}, {}, in {} at {}.",
        part(&scenario.device),
        fixture_key(fixture),
        engineering(freq_hz, "Hz", 3)
    );
    Ok(worked(
        &format!("Blank taken off: {title}"),
        html! {
            (paragraph("Given", &given))
            (text_steps(&steps))
            (paragraph("Result", &result))
        },
    ))
}

struct Example<'a> {
    block: &'a Block<'a>,
    name: &'a str,
    fixture: Fixture,
    scenario: &'a Scenario,
    freq_hz: f64,
}

impl Example<'_> {
    /// What the fixture's formula gives of `device` in its place.
    fn read(&self, device: Device) -> Result<Immittance, BlockError> {
        let bench = self.block.bench(&Scenario {
            device,
            ..self.scenario.clone()
        })?;
        bench.readout().of(self.fixture).got_back.ok_or_else(|| {
            self.block.error(format!(
                "scenario \"{}\" has no reading in {}",
                self.name,
                fixture_key(self.fixture)
            ))
        })
    }

    /// The part without what the blanks show, told in `steps`.
    fn taken_off(
        &self,
        steps: &mut Vec<String>,
    ) -> Result<Result<Deembedded, BlankError>, BlockError> {
        let measured = self.read(self.scenario.device.clone())?;
        steps.push(format!(
            "With the part the formula of {} gives {}.",
            fixture_key(self.fixture),
            self.shown(measured)
        ));
        let blanks = Blank::of(self.fixture)
            .iter()
            .map(|blank| self.read(blank.device()))
            .collect::<Result<Vec<_>, _>>()?;
        match (self.fixture, &blanks[..]) {
            (Fixture::SeriesThrough, &[empty]) => {
                steps.push(format!(
                    "With the gap empty it gives {}.",
                    self.shown(empty)
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
                    self.shown(shorted)
                ));
                steps.push(format!(
                    "Part and branch lie one after the other, so impedances are subtracted: \
                     Z = {} − ({}).",
                    ohms(measured),
                    ohms(shorted)
                ));
            }
            (Fixture::Reflect, &[open, short]) => {
                steps.push(format!(
                    "Empty it gives Zo, {}; with a short in place of the part Zs, {}.",
                    self.shown(open),
                    self.shown(short)
                ));
                steps.push(
                    "One lies in series and the other across the part, so both are taken off: \
                     Z = (Zm − Zs)/(1 − (Zm − Zs)/(Zo − Zs))."
                        .to_owned(),
                );
            }
            _ => {}
        }
        Ok(Blank::take_off(self.fixture, measured, &blanks))
    }

    /// Ohms, and the coil or capacitor they would be.
    fn shown(&self, device: Immittance) -> String {
        let reactive = device.impedance().filter(|z| z.im.abs() > z.re.abs());
        let as_part = reactive.and_then(|_| {
            let seen = Equivalents::new(device, self.freq_hz).ok()?;
            seen.series_capacitance_f()
                .map(|farad| engineering(farad, "F", 3))
                .or_else(|| Some(engineering(seen.series_inductance_h()?, "H", 3)))
        });
        match as_part {
            Some(value) => format!("{}, which is {value}", ohms(device)),
            None => ohms(device),
        }
    }
}

fn ohms(device: Immittance) -> String {
    device
        .impedance()
        .map_or("an open".to_owned(), |z| complex_ohm(z, DIGITS))
}

fn siemens(device: Immittance) -> String {
    let y: Option<Complex64> = device.admittance();
    y.map_or(NONE.to_owned(), |y| {
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
