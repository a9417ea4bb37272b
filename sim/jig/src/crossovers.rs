use std::io::Write;

use clap::Args;
use jigwise_physics::{
    Cause, Complex64, Immittance, Merits, ReferenceImpedance, WantedChange,
    absolute_error_ratio_for_crossover, relative_error_ratio_for_crossover,
};
use serde::Serialize;

use super::asked::{Asked, AskedInstrument};
use super::json::{Document, write_json};
use super::table::Table;
use super::{CommandError, angle, reference};
use jigwise_bench::Crossover;
use jigwise_bench::words::fixture_key;
use jigwise_quantity::{engineering, fixed};

/// The impedances at which two fixtures are equally good.
#[derive(Args)]
pub(super) struct Crossovers {
    #[command(flatten)]
    asked: AskedInstrument,
    /// The textbook's model: the same error in proportion to every reading.
    #[arg(long, conflicts_with_all = ["instrument", "at", "absolute"])]
    relative: bool,
    /// The textbook's other model: the same error added to every reading.
    #[arg(long, conflicts_with_all = ["instrument", "at"])]
    absolute: bool,
    /// For seeing a change instead of for the value; needs an instrument.
    #[arg(long, conflicts_with_all = ["relative", "absolute"])]
    change: bool,
    /// Phase of Z, degrees: 0 for a resistor, 90 for a coil.
    #[arg(long, value_name = "DEG", value_parser = angle, default_value = "0",
          allow_hyphen_values = true)]
    angle: f64,
    /// The analyzer's reference in ohms.
    #[arg(long, value_name = "OHM", value_parser = reference, default_value = "50",
          allow_hyphen_values = true)]
    reference: f64,
    /// The inverse question: what would put the crossover of shunt-through and series-through
    /// at this many ohms.
    #[arg(long, value_name = "OHM", value_parser = reference,
          conflicts_with_all = ["instrument", "at", "relative", "absolute", "change"],
          allow_hyphen_values = true)]
    to: Option<f64>,
    /// Write JSON.
    #[arg(long)]
    json: bool,
}

impl Crossovers {
    pub(super) fn run(&self, out: &mut dyn Write) -> Result<(), CommandError> {
        let z0 = ReferenceImpedance::new(self.reference)?;
        if let Some(ohm) = self.to {
            return self.write_inverse(ohm, z0, out);
        }
        let (crossovers, about) = self.crossovers(z0)?;
        if self.json {
            let json = CrossoversJson {
                about,
                phase_deg: self.angle,
                reference_ohm: self.reference,
                crossovers: crossovers.iter().map(CrossoverJson::from).collect(),
            };
            let document = Document::new("crossovers", json).read(self.asked.files());
            return write_json(&document, out);
        }
        writeln!(
            out,
            "Crossovers {about}, phase of Z {}°",
            fixed(self.angle, 1)
        )?;
        if crossovers.is_empty() {
            writeln!(out, "none: the same fixture is best at every |Z|")?;
            return Ok(());
        }
        let mut table = Table::new(["Between", "|Z|", "SWR", "Here the best changes"]);
        for crossover in &crossovers {
            table.row([
                crossover.between.map(fixture_key).join(" and "),
                engineering(crossover.ohm, "Ω", 5),
                crossover.swr.map_or("–".into(), |swr| fixed(swr, 4)),
                if crossover.best { "yes" } else { "no" }.to_owned(),
            ]);
        }
        table.write(out)?;
        Ok(())
    }

    fn crossovers(&self, z0: ReferenceImpedance) -> Result<(Vec<Crossover>, String), CommandError> {
        // Crossovers don't depend on the size of equal errors.
        const ANY_SIZE: f64 = 0.01;
        let angle_rad = self.angle.to_radians();
        if self.relative {
            let merits = Merits::equal_relative(ANY_SIZE, z0);
            return Ok((
                merits.crossovers(angle_rad),
                "for value, errors in proportion to the reading".to_owned(),
            ));
        }
        if self.absolute {
            let merits = Merits::equal_absolute(ANY_SIZE, z0);
            return Ok((
                merits.crossovers(angle_rad),
                "for value, errors of one size on every reading".to_owned(),
            ));
        }
        let Asked { budget, words, .. } = self.asked.read(z0)?;
        Ok(if self.change {
            (
                budget.change_crossovers(angle_rad, WantedChange::default()),
                format!("for change, {words}"),
            )
        } else {
            (
                Merits::of(&budget).crossovers(angle_rad),
                format!("for value, {words}"),
            )
        })
    }

    fn write_inverse(
        &self,
        ohm: f64,
        z0: ReferenceImpedance,
        out: &mut dyn Write,
    ) -> Result<(), CommandError> {
        let z = Complex64::from_polar(ohm, self.angle.to_radians());
        let part = Immittance::from_impedance(z)?;
        let relative = relative_error_ratio_for_crossover(part, z0);
        let absolute = absolute_error_ratio_for_crossover(part, z0);
        let named = |moves: bool| -> Vec<&str> {
            Cause::ALL
                .into_iter()
                .filter(|cause| cause.moves_shunt_series_crossover() == moves)
                .map(Cause::name)
                .collect()
        };
        if self.json {
            let json = InverseJson {
                magnitude_ohm: ohm,
                phase_deg: self.angle,
                reference_ohm: self.reference,
                relative_error_ratio: relative,
                absolute_error_ratio: absolute,
                moved_by: named(true),
                never_moved_by: named(false),
            };
            return write_json(&Document::new("crossovers", json), out);
        }
        let ratio = |k: Option<f64>| k.map_or("no ratio".to_owned(), |k| fixed(k, 4));
        writeln!(
            out,
            "To put the crossover of shunt-through and series-through at {}:",
            engineering(ohm, "Ω", 4)
        )?;
        writeln!(
            out,
            "errors in proportion to the reading must be {} times as large in series-through;",
            ratio(relative)
        )?;
        writeln!(
            out,
            "errors of one size must be {} times as large there (possible between 0.25 and 4).",
            ratio(absolute)
        )?;
        writeln!(
            out,
            "Can move it: {} (the raw match only where open and short are not equally good), and \
             what no reading's error budget holds, the fixture's own branch inductance and gap \
             capacitance.",
            named(true).join(", ")
        )?;
        writeln!(
            out,
            "Can never move it off {}, however large: {}.",
            engineering(z0.ohm(), "Ω", 3),
            named(false).join(", ")
        )?;
        Ok(())
    }
}

/// What would put the crossover of shunt-through and series-through at an impedance.
#[derive(Serialize)]
struct InverseJson {
    magnitude_ohm: f64,
    phase_deg: f64,
    reference_ohm: f64,
    /// How many times as large the errors have to be in series-through.
    relative_error_ratio: Option<f64>,
    absolute_error_ratio: Option<f64>,
    moved_by: Vec<&'static str>,
    never_moved_by: Vec<&'static str>,
}

#[derive(Serialize)]
struct CrossoversJson {
    about: String,
    phase_deg: f64,
    reference_ohm: f64,
    crossovers: Vec<CrossoverJson>,
}

#[derive(Serialize)]
struct CrossoverJson {
    between: [&'static str; 2],
    magnitude_ohm: f64,
    swr: Option<f64>,
    best: bool,
}

impl From<&Crossover> for CrossoverJson {
    fn from(crossover: &Crossover) -> Self {
        Self {
            between: crossover.between.map(fixture_key),
            magnitude_ohm: crossover.ohm,
            swr: crossover.swr,
            best: crossover.best,
        }
    }
}
