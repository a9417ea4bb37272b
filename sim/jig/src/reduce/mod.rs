mod apart;
mod csv;
mod date;
mod folder;
mod inputs;
mod json;
mod points;
mod prepared;
mod standards;
mod sweep_reader;
mod text;
mod values;

use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;
use jigwise_physics::{LEFT_SHARE, LineEnd, Model, Port};

use self::inputs::Inputs;
use self::prepared::Prepared;
use super::{CommandError, FixtureArgument, frequency};
use jigwise_bench::{expected_one_of, words};
use jigwise_quantity::{Unit, ValueError, parse_count, parse_list, parse_share, unsigned_percent};
use jigwise_reduce::{MODELS, Wanted};

/// Measured sweeps in ohms: Touchstone files of a part in one fixture, or in two or three of
/// them, which are blended at every frequency.
///
/// With --open, --short, --load (and --thru for the through fixtures), or with --calibration,
/// the part's file and the blanks are raw readings. Without, they are taken as corrected where
/// the part sits.
#[derive(Args)]
#[command(after_long_help = CALIBRATION_HELP)]
pub(super) struct Reduce {
    /// Touchstone files, .s1p, .s2p or .ts; - reads standard input.
    #[arg(value_name = "FILE", required = true)]
    files: Vec<PathBuf>,
    /// How the part was connected: one fixture for every file, each then a part of its own, or
    /// one for each file of the same part, in order and parted by commas.
    #[arg(
        long,
        value_enum,
        value_delimiter = ',',
        required = true,
        value_name = "FIXTURE"
    )]
    fixture: Vec<FixtureArgument>,
    /// Raw sweep of the open, taken for ideal. A .s1p counts for port 1 and a .s2p for both; or
    /// give it twice, port 1 first. The same for --short and --load.
    #[arg(long, value_name = "FILE")]
    open: Vec<PathBuf>,
    /// Raw sweep of the short.
    #[arg(long, value_name = "FILE")]
    short: Vec<PathBuf>,
    /// Raw sweep of the load.
    #[arg(long, value_name = "FILE")]
    load: Vec<PathBuf>,
    /// Raw sweep of the through, ports joined without a gap (.s2p).
    #[arg(long, visible_alias = "through", value_name = "FILE")]
    thru: Option<PathBuf>,
    /// Raw sweep with both ports terminated (.s2p); without it the crosstalk is taken for zero.
    #[arg(long, value_name = "FILE", requires = "thru")]
    isolation: Option<PathBuf>,
    /// A calibration file, with definitions of the standards; see below.
    #[arg(long, value_name = "FILE",
          conflicts_with_all = ["open", "short", "load", "thru", "isolation"])]
    calibration: Option<PathBuf>,
    /// Sweep of the fixture without the part: shunt-through shorted, series-through empty; for
    /// reflect give two, empty and then shorted.
    #[arg(long, value_name = "FILE")]
    blank: Vec<PathBuf>,
    #[arg(long, value_name = "PERCENT", value_parser = parse_share, help = blank_left_help())]
    blank_left: Option<f64>,
    /// Without a blank: count what the fixture may add as uncertainty, each stray at full size
    /// with unknown sign. "typical" is a gap of 0.1 pF, 1 nH to ground and a pin of 50 fF; or a
    /// file with a [strays] table, which may be a scenario.
    #[arg(
        long,
        value_name = "FILE|typical",
        requires = "instrument",
        conflicts_with = "blank"
    )]
    strays: Option<String>,
    /// Move the planes towards the part by this one-way delay, port 1 and then port 2 ("120 ps"
    /// or "120 ps,80 ps", each with its unit; one delay counts for both).
    #[arg(long, value_name = "DELAY", value_parser = delays, allow_hyphen_values = true)]
    extend: Vec<Delays>,
    /// The instrument behind the readings: handheld, club-bench, laboratory (all invented), or
    /// a file with an [instrument] table. Gives every value its uncertainty.
    #[arg(long, value_name = "NAME|FILE")]
    instrument: Option<String>,
    /// How often the part was connected after the calibration; 0: soldered and left.
    #[arg(long, value_name = "COUNT", value_parser = connections, default_value = "0")]
    connections: u32,
    #[arg(long, value_name = "KIND", value_parser = model, help = model_help())]
    model: Option<Wanted>,
    /// Write a folder: report.html, points.csv, figures, and impedance.s1p.
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    /// The port at which the part of a reflect fixture hung, where its file has two.
    #[arg(long, value_name = "1|2", default_value = "1",
          value_parser = clap::builder::PossibleValuesParser::new(["1", "2"]))]
    port: String,
    /// Only the measured point nearest to this frequency, within the sweep; may be given again.
    #[arg(long, value_name = "FREQUENCY", value_parser = frequency, allow_hyphen_values = true)]
    at: Vec<f64>,
    /// Write JSON.
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// Write comma-separated values.
    #[arg(long)]
    csv: bool,
}

const CALIBRATION_HELP: &str = r#"A calibration file names the sweep of each standard and what the standard is:

  version = 1
  method = "both directions"  # or: raw, open, short, through only,
                              # open and through, short and through, one port,
                              # one port and through, one direction,
                              # both directions, through unknown
  [open]
  file = "open.s1p"           # relative to this file; a .s2p holds both ports
  second_file = "open-2.s1p"  # the same standard at port 2
  capacitance = ["60 fF", "20e-27 F/Hz"]   # up to F/Hz^3
  delay = "15 ps"             # also line_impedance, and loss such as "1 Gohm/s"
  [short]
  file = "short.s2p"
  inductance = ["5 pH"]
  [load]
  file = "load.s2p"           # also resistance, inductance, capacitance
  known_as = "load-known.s1p" # or: what a better laboratory measured it to be
  [through]
  file = "through.s2p"        # also delay, line_impedance, loss
  [isolation]
  file = "isolation.s2p"
  [switch]
  file = "switch.s2p"         # where the through is unknown; S21 forward, S12 reverse

A standard without a definition is ideal."#;

impl Reduce {
    fn port(&self) -> Port {
        if self.port == "2" {
            Port::Two
        } else {
            Port::One
        }
    }

    /// Ends with 1 where the fixtures of a part contradict each other.
    pub(super) fn run(
        &self,
        out: &mut dyn Write,
        err: &mut dyn Write,
    ) -> Result<ExitCode, CommandError> {
        let (parts, notes) = Inputs::gather(self)?;
        let one = parts.len() == 1;
        if !one && (self.json || self.csv) {
            return Err(CommandError::Usage(
                "several parts don't go into one list of numbers; reduce them one at a time, or \
                 write a folder with --out"
                    .to_owned(),
            ));
        }
        // Everything that can be wrong is found before anything is written.
        let prepared = parts
            .iter()
            .map(Prepared::new)
            .collect::<Result<Vec<_>, CommandError>>()?;
        for part in &prepared {
            part.check_within(&self.at)?;
        }
        if let [part] = &prepared[..]
            && let Some(found) = part
                .ensemble
                .agreement()
                .filter(|found| found.is_contradiction())
        {
            apart::write(self, part, &found, out, err)?;
            write_notes(&notes, err)?;
            return Ok(ExitCode::FAILURE);
        }
        let places = match &self.out {
            Some(folder) => folder::places(folder, &prepared)?,
            None => Vec::new(),
        };
        for part in &prepared {
            self.write_part(part, out)?;
        }
        out.flush()?;
        write_notes(&notes, err)?;
        // Numbers alone have no first line that warns.
        if self.json || self.csv {
            write_doubts(&prepared, err)?;
        }
        let wanted = self.model.as_ref().unwrap_or(&Wanted::Automatic);
        for (part, place) in prepared.iter().zip(&places) {
            folder::write(part, wanted, place, err)?;
        }
        for part in &prepared {
            part.write_remarks(err)?;
            points::write_asked(part, &self.at, err)?;
        }
        Ok(ExitCode::SUCCESS)
    }

    /// The numbers of a part in the form that was asked for.
    fn write_part(&self, part: &Prepared<'_>, out: &mut dyn Write) -> Result<(), CommandError> {
        if self.csv {
            return csv::write_csv(part, &self.at, out);
        }
        let findings = self.model.as_ref().map(|wanted| part.findings(wanted));
        if self.json {
            return json::write_json(self, part, findings.transpose()?.as_ref(), out);
        }
        text::write_table(&self.at, part, out)?;
        match findings {
            Some(findings) => values::write_text(&findings?, out),
            None => Ok(()),
        }
    }
}

fn write_notes(notes: &[String], err: &mut dyn Write) -> Result<(), CommandError> {
    for note in notes {
        writeln!(err, "jig: {note}")?;
    }
    Ok(())
}

/// The parts whose fixtures agree poorly.
fn write_doubts(parts: &[Prepared<'_>], err: &mut dyn Write) -> Result<(), CommandError> {
    for part in parts {
        let found = part.ensemble.agreement();
        if let Some(found) = found.filter(|found| found.is_doubtful()) {
            let said = words::agreement(&found);
            writeln!(err, "jig: {}: {said}", part.inputs.title())?;
        }
    }
    Ok(())
}

/// The delays of one --extend, s.
#[derive(Debug, Clone)]
struct Delays(Vec<f64>);

fn blank_left_help() -> String {
    format!(
        "How much of what the blanks take away is left as uncertainty (k = 1). {} where it is not \
         given",
        unsigned_percent(LEFT_SHARE)
    )
}

fn connections(text: &str) -> Result<u32, ValueError> {
    // The count is in the range of u32, so the conversion keeps it.
    parse_count(text, 0, u64::from(u32::MAX)).map(|count| count as u32)
}

fn delays(text: &str) -> Result<Delays, ValueError> {
    parse_list(text, Unit::Second).map(Delays)
}

fn model(text: &str) -> Result<Wanted, String> {
    match text {
        "auto" => return Ok(Wanted::Automatic),
        "stub" => {
            let ends = [LineEnd::Open, LineEnd::Short];
            return Ok(Wanted::OneOf(ends.map(Model::Stub).to_vec()));
        }
        _ => {}
    }
    if let Some((_, model)) = MODELS.iter().find(|(key, _)| *key == text) {
        return Ok(Wanted::OneOf(vec![*model]));
    }
    Err(expected_one_of(text, &model_words()))
}

/// The words that stand for a model, or for several.
fn model_words() -> Vec<&'static str> {
    let keys = MODELS.iter().map(|(key, _)| *key);
    ["auto", "stub"].into_iter().chain(keys).collect()
}

fn model_help() -> String {
    format!(
        "Values of a circuit: auto for the one that follows the readings best, stub for a line \
         with either end, or one of {}",
        MODELS.map(|(key, _)| key).join(", ")
    )
}
