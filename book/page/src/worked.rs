//! `worked FIXTURE SCENARIO`, or `worked FIXTURE` with the scenario in the body: from what the
//! display shows to the part, step by step, each with its numbers.

use jigwise_bench::quotes::Shown;
use jigwise_bench::words::{fixture_connection, fixture_key, reading_name};
use jigwise_bench::{
    Complex64, Device, Equivalents, Fixture, FixtureReadout, Part, Readout, Scenario, complex_ohm,
    engineering, fixed, plain_complex, sums,
};
use jigwise_quantity::significant;
use maud::{Markup, PreEscaped, html};

use crate::block::{Block, BlockError};
use crate::formula::inline_formula;
use crate::markup::{paragraph, sum};
use crate::words::{capital, title};
use crate::{figure, markup};

/// Below this share of the other part, R or X is what rounding left over.
const LEFT_OVER: f64 = 0.01;

pub(crate) fn worked(block: &Block<'_>) -> Result<Markup, BlockError> {
    let (fixture, scenario) = match block.words[..] {
        [fixture, name] => (block.fixture(fixture)?, block.scenario(name)?),
        [fixture] => (block.fixture(fixture)?, block.scenario_in_body()?),
        _ => {
            return Err(block.error(
                "expected worked FIXTURE SCENARIO, or worked FIXTURE with the scenario below",
            ));
        }
    };
    let readout = block.bench(&scenario)?.readout();
    let example = Example::new(&scenario, readout, fixture).ok_or_else(|| {
        block.error("this part gives no reading to work from here; choose another part or fixture")
    })?;
    let chart = figure::of_scenario(&scenario, &format!("{}-chart", block.id))
        .map_err(|error| block.error(error))?;
    let name = scenario.title.as_deref().unwrap_or(&block.id);
    let steps = example.steps(block)?;
    Ok(markup::worked(
        &format!("Worked example: {name}"),
        html! {
            (paragraph("Given", &example.given()))
            (figure::of_fixture(fixture, &format!("{}-circuit", block.id)))
            (markup::steps(&steps))
            (paragraph("Result", &example.result()))
            (paragraph("In the other fixtures", &example.elsewhere()))
            (chart)
            @if let Ok(fragment) = scenario.to_fragment() {
                (markup::open_bench(&fragment))
            }
        },
    ))
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
        let frequency = self.readout.freq_hz.map_or(String::new(), |hz| {
            format!(" At {}", engineering(hz, "Hz", 3))
        });
        format!(
            "{}, {}.{frequency} {} shows {}; the reference is {}.",
            title(self.scenario),
            fixture_connection(fixture),
            reading_name(fixture),
            self.shown,
            engineering(self.readout.reference.ohm(), "Ω", 2),
        )
    }

    fn steps(&self, block: &Block<'_>) -> Result<Vec<Markup>, BlockError> {
        let name = reading_name(self.entry.fixture);
        let symbol = format!("S_{{{}}}", &name[1..]);
        let level = fixed(self.shown.level_db, Shown::LEVEL_DECIMALS);
        let angle = fixed(self.shown.angle_deg, Shown::ANGLE_DECIMALS);
        let magnitude = significant(self.shown.magnitude(), 4);
        let ratio = formula(
            block,
            &format!("\\lvert {symbol}\\rvert = 10^{{{level}/20}} = {magnitude}"),
        )?;
        let complex = format!(
            "{name} = {magnitude}·(cos({angle}°) + j·sin({angle}°)) = {}",
            plain_complex(self.shown.reading(), 4)
        );
        let back = sums::back(&self.entry, self.readout.reference);
        let to_ohms = format!(
            "{} = {} = {}",
            back.symbols,
            back.numbers.unwrap_or_default(),
            complex_ohm(self.z, 4)
        );
        let mut steps = vec![
            html! { "From the level to a ratio of voltages: " (ratio) },
            html! { "With the angle it becomes one complex number: " (sum(&complex)) },
            html! { "Back to ohms: " (sum(&to_ohms)) },
        ];
        if let Some((name, text, value)) = self.as_part() {
            let text = format!("{text} = {value}");
            steps.push(html! {
                "The reactance of a " (name) " gives its value: " (sum(&text))
            });
        }
        Ok(steps)
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
        capital(&result)
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
        capital(&parts.join(", ")) + "."
    }
}

fn significant_ohms(z: Complex64) -> String {
    if z.im.abs() < LEFT_OVER * z.re.abs() {
        engineering(z.re, "Ω", 3)
    } else {
        complex_ohm(z, 3)
    }
}

pub(crate) fn formula(block: &Block<'_>, latex: &str) -> Result<Markup, BlockError> {
    inline_formula(latex)
        .map(PreEscaped)
        .map_err(|error| block.error(format!("{latex}: {}", error.message)))
}
