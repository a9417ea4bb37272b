//! `worked FIXTURE SCENARIO`, or `worked FIXTURE` with the scenario in the body: from what the
//! display shows to the part, step by step, each with its numbers.

use jigwise_bench::words::{fixture_connection, fixture_key, fixture_title, reading_name};
use jigwise_bench::{
    Bench, Complex64, Device, Equivalents, Fixture, FixtureReadout, Part, Readout, Scenario,
    complex_ohm, engineering, fixed, plain_complex, sums,
};
use jigwise_exercises::Shown;
use math_core::MathDisplay;

use super::{Block, figure};
use crate::formulas::mathml;
use crate::page::{PageError, escaped};

/// Below this share of the other part, R or X is what rounding left over.
const LEFT_OVER: f64 = 0.01;

pub(super) fn html(block: &Block<'_>) -> Result<String, PageError> {
    let (fixture, scenario) = match block.words[..] {
        [fixture, name] => (block.fixture(fixture)?, block.scenario(name)?),
        [fixture] => (block.fixture(fixture)?, block.scenario_in_body()?),
        _ => {
            return Err(block.error(
                "expected worked FIXTURE SCENARIO, or worked FIXTURE with the scenario below",
            ));
        }
    };
    let readout = Bench::new(&scenario)
        .map_err(|error| block.error(error))?
        .readout();
    let example = Example::new(&scenario, readout, fixture).ok_or_else(|| {
        block.error("this part gives no reading to work from here; choose another part or fixture")
    })?;
    let circuit = figure::of_fixture(fixture, &format!("{}-circuit", block.id));
    let chart = figure::of_scenario(&scenario, &format!("{}-chart", block.id))
        .map_err(|error| block.error(error))?;
    Ok(format!(
        "<section class=\"worked\" aria-label=\"Worked example: {}\">{}{circuit}<ol>{}</ol>{}{}\
         {chart}</section>",
        escaped(scenario.title.as_deref().unwrap_or(&block.id)),
        paragraph("Given", &example.given()),
        example.steps(block)?,
        paragraph("Result", &example.result()),
        paragraph("In the other fixtures", &example.elsewhere()),
    ))
}

pub(super) fn paragraph(label: &str, text: &str) -> String {
    format!("<p><strong>{label}.</strong> {}</p>", escaped(text))
}

struct Example<'a> {
    scenario: &'a Scenario,
    readout: Readout,
    /// What the display shows, and what follows from that.
    shown: Shown,
    entry: FixtureReadout,
    z: Complex64,
}

impl<'a> Example<'a> {
    fn new(scenario: &'a Scenario, readout: Readout, fixture: Fixture) -> Option<Self> {
        let shown = Shown::of(&readout.of(fixture))?;
        let got_back = fixture
            .immittance(shown.reading(), readout.reference)
            .ok()?;
        Some(Self {
            scenario,
            readout,
            shown,
            entry: FixtureReadout {
                fixture,
                reading: Some(shown.reading()),
                got_back: Some(got_back),
            },
            z: got_back.impedance()?,
        })
    }

    fn given(&self) -> String {
        let fixture = self.entry.fixture;
        let title = self.scenario.title.as_deref().unwrap_or("A part");
        let frequency = self.readout.freq_hz.map_or(String::new(), |hz| {
            format!(" At {}", engineering(hz, "Hz", 3))
        });
        format!(
            "{title}, {}.{frequency} {} shows {}; the reference is {}.",
            fixture_connection(fixture),
            reading_name(fixture),
            self.shown,
            engineering(self.readout.reference.ohm(), "Ω", 2),
        )
    }

    fn steps(&self, block: &Block<'_>) -> Result<String, PageError> {
        let name = reading_name(self.entry.fixture);
        let symbol = format!("S_{{{}}}", &name[1..]);
        let level = fixed(self.shown.level_db, Shown::LEVEL_DECIMALS);
        let angle = fixed(self.shown.angle_deg, Shown::ANGLE_DECIMALS);
        let magnitude = significant(self.shown.magnitude());
        let reading = self.shown.reading();
        let mut steps = vec![
            format!(
                "From the level to a ratio of voltages: {}",
                formula(
                    block,
                    &format!("\\lvert {symbol}\\rvert = 10^{{{level}/20}} = {magnitude}")
                )?
            ),
            format!(
                "With the angle it becomes one complex number: <span class=\"sum\">{name} = \
                 {magnitude}·(cos({angle}°) + j·sin({angle}°)) = {}</span>",
                plain_complex(reading, 4)
            ),
        ];
        let sum = sums::back(&self.entry, self.readout.reference);
        steps.push(format!(
            "Back to ohms: <span class=\"sum\">{} = {} = {}</span>",
            escaped(sum.symbols),
            escaped(&sum.numbers.unwrap_or_default()),
            escaped(&complex_ohm(self.z, 4)),
        ));
        if let Some((name, sum, value)) = self.as_part() {
            steps.push(format!(
                "The reactance of a {name} gives its value: <span class=\"sum\">{} = {}</span>",
                escaped(&sum),
                escaped(&value)
            ));
        }
        Ok(steps
            .iter()
            .map(|step| format!("<li>{step}</li>"))
            .collect())
    }

    /// A coil or capacitor with the sum that gives its value.
    fn as_part(&self) -> Option<(&'static str, String, String)> {
        let freq_hz = self.readout.freq_hz?;
        let seen = Equivalents::new(self.entry.got_back?, freq_hz).ok()?;
        let x = engineering(self.z.im, "Ω", 4);
        let hz = engineering(freq_hz, "Hz", 3);
        match self.scenario.device {
            Device::Part(Part::Inductor(_)) => Some((
                "coil",
                format!("L = X/(2π·f) = {x}/(2π·{hz})"),
                engineering(seen.series_inductance_h()?, "H", 3),
            )),
            Device::Part(Part::Capacitor(_)) => Some((
                "capacitor",
                format!("C = −1/(2π·f·X) = −1/(2π·{hz}·({x}))"),
                engineering(seen.series_capacitance_f()?, "F", 3),
            )),
            _ => None,
        }
    }

    fn result(&self) -> String {
        let mut result = match self.as_part() {
            Some((name, _, value)) => format!("the part is a {name} of {value}."),
            None => format!("the part is {}.", significant_ohms(self.z)),
        };
        let (re, im) = (self.z.re.abs(), self.z.im.abs());
        if re < LEFT_OVER * im {
            result.push_str(&format!(
                " The {} of resistance beside it is what the rounded display leaves over: a \
                 loss so small can't be read here.",
                engineering(self.z.re, "Ω", 1)
            ));
        }
        let mut letters = result.chars();
        match letters.next() {
            Some(first) => first.to_uppercase().chain(letters).collect(),
            None => result,
        }
    }

    fn elsewhere(&self) -> String {
        let mut parts = Vec::new();
        for entry in &self.readout.fixtures {
            if entry.fixture == self.entry.fixture {
                continue;
            }
            if let Some(shown) = Shown::of(entry) {
                parts.push(format!("{} would show {shown}", fixture_key(entry.fixture)));
            }
        }
        let mut text = parts.join(", ");
        if let Some(first) = self
            .readout
            .fixtures
            .iter()
            .find(|entry| entry.fixture != self.entry.fixture)
            && let Some(rest) = text.strip_prefix(fixture_key(first.fixture))
        {
            text = format!("{}{rest}", fixture_title(first.fixture));
        }
        text + "."
    }
}

/// Four significant digits of a ratio below or about one.
fn significant(value: f64) -> String {
    const DIGITS: i32 = 4;
    let leading = value.abs().log10().floor() as i32;
    fixed(value, (DIGITS - 1 - leading).max(0) as usize)
}

fn significant_ohms(z: Complex64) -> String {
    if z.im.abs() < LEFT_OVER * z.re.abs() {
        engineering(z.re, "Ω", 3)
    } else {
        complex_ohm(z, 3)
    }
}

pub(super) fn formula(block: &Block<'_>, latex: &str) -> Result<String, PageError> {
    mathml(latex, MathDisplay::Inline)
        .map_err(|error| block.error(format!("{latex}: {}", error.message)))
}
