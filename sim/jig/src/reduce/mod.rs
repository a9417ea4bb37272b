mod apart;
mod csv;
mod date;
mod folder;
mod inputs;
mod json;
mod points;
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
use super::{CommandError, FixtureArgument, frequency};
use jigwise_bench::{expected_one_of, words};
use jigwise_quantity::engineering;
use jigwise_quantity::{Unit, ValueError, parse_count, parse_list, parse_share, unsigned_percent};
use jigwise_reduce::{Columns, Ensemble, Findings, MODELS, Survey, Wanted};

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
  method = "full"             # none, response-open, response-short, one-port,
                              # enhanced-response, one-path, full, unknown-through
  [open]
  file = "open.s1p"           # relative to this file; a .s2p holds both ports
  second_file = "open-2.s1p"  # the same standard at port 2
  capacitance = ["49.4 fF", "-310e-27 F/Hz"]   # up to F/Hz^3
  delay = "29.2 ps"           # also line_impedance, and loss such as "2.2 Gohm/s"
  [short]
  file = "short.s2p"
  inductance = ["2.1 pH"]
  [load]
  file = "load.s2p"           # also resistance, inductance, capacitance
  known_as = "load-known.s1p" # or: what a better laboratory measured it to be
  [through]
  file = "through.s2p"        # also delay, line_impedance, loss
  [isolation]
  file = "isolation.s2p"
  [switch]
  file = "switch.s2p"         # for unknown-through; S21 forward, S12 reverse

A standard without a definition is ideal."#;

/// A sweep file set that belongs to one part, gone through once.
struct Prepared<'a> {
    inputs: &'a Inputs,
    ensemble: Ensemble<'a>,
    surveys: Vec<Survey>,
    /// Why its fixture is told apart from the others of the part, where it is.
    contradiction: Option<String>,
}

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
            for note in &notes {
                writeln!(err, "jig: {note}")?;
            }
            return Ok(ExitCode::FAILURE);
        }
        let places = match &self.out {
            Some(folder) => folder::places(folder, &prepared)?,
            None => Vec::new(),
        };
        for part in &prepared {
            if self.json {
                let findings = self.model.as_ref().map(|wanted| part.findings(wanted));
                json::write_json(self, part, findings.transpose()?.as_ref(), out)?;
            } else if self.csv {
                csv::write_csv(part, &self.at, out)?;
            } else {
                text::write_table(&self.at, part, out)?;
                if let Some(wanted) = &self.model {
                    values::write_text(&part.findings(wanted)?, out)?;
                }
            }
        }
        out.flush()?;
        for note in &notes {
            writeln!(err, "jig: {note}")?;
        }
        // Numbers alone have no first line that warns.
        if self.json || self.csv {
            for part in &prepared {
                let doubt = part
                    .ensemble
                    .agreement()
                    .filter(|found| found.is_doubtful());
                if let Some(found) = doubt {
                    let said = words::agreement(&found);
                    writeln!(err, "jig: {}: {said}", part.inputs.title())?;
                }
            }
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
}

impl<'a> Prepared<'a> {
    fn new(inputs: &'a Inputs) -> Result<Self, CommandError> {
        let ensemble = inputs.ensemble()?;
        let surveys = ensemble
            .sweeps()
            .map(|sweep| {
                sweep
                    .survey()
                    .map_err(|error| inputs.refused(sweep.fixture(), error))
            })
            .collect::<Result<Vec<_>, CommandError>>()?;
        Ok(Self {
            inputs,
            ensemble,
            surveys,
            contradiction: None,
        })
    }

    /// The columns of its points.
    fn columns(&self) -> Columns {
        Columns {
            has_instrument: self.inputs.budget.is_some(),
            is_several: self.ensemble.fixtures() > 1,
        }
    }

    fn findings(&self, wanted: &Wanted) -> Result<Findings, CommandError> {
        let in_file = |message: String| CommandError::InFile {
            file: self.inputs.title(),
            message,
        };
        if let Some(why) = &self.contradiction {
            return Err(in_file(why.clone()));
        }
        let input = self
            .ensemble
            .fit_input()
            .map_err(|error| in_file(error.to_string()))?;
        if input.freq_hz.is_empty() {
            return Err(in_file(
                "no point has ohms that a circuit could be fitted to: all read as an open, or \
                 without an uncertainty that is finite. Use a fixture that sees the part; jig plan \
                 names it"
                    .to_owned(),
            ));
        }
        Findings::of(&input, wanted).map_err(|error| in_file(error.to_string()))
    }

    /// Remarks of the files as files, and of the ohms, with the name of the file.
    fn remarks(&self) -> Vec<(&str, String)> {
        let mut remarks = Vec::new();
        if let Some(why) = &self.contradiction {
            remarks.push((self.inputs.names[0].as_str(), why.clone()));
        }
        for (name, sweep) in self.inputs.names.iter().zip(&self.inputs.sweeps) {
            remarks.extend(
                sweep
                    .remarks()
                    .iter()
                    .map(|r| (name.as_str(), r.to_string())),
            );
        }
        for (name, what) in self.inputs.given_twice() {
            remarks.push((
                name,
                format!(
                    "the same file is given as {what}: what comes out follows from that alone, \
                     and tells nothing of a part"
                ),
            ));
        }
        for (sweep, survey) in self.ensemble.sweeps().zip(&self.surveys) {
            let name = self.inputs.name_of(sweep.fixture());
            remarks.extend(survey.remarks.iter().map(|r| (name, r.to_string())));
            if let Some(first) = &survey.first_left_out {
                let (count, of) = (survey.left_out, sweep.len());
                remarks.push((
                    name,
                    format!("{count} of {of} points are left out; {first}"),
                ));
            }
        }
        remarks
    }

    /// Refuses a frequency outside the sweep, where the nearest point is no measurement of it.
    fn check_within(&self, at_hz: &[f64]) -> Result<(), CommandError> {
        let all = self.ensemble.freq_hz();
        let (Some(first), Some(last)) = (all.first(), all.last()) else {
            return Ok(());
        };
        match at_hz.iter().find(|f| !(first..=last).contains(f)) {
            None => Ok(()),
            Some(freq_hz) => Err(CommandError::InFile {
                file: self.inputs.title(),
                message: format!(
                    "{} was not measured: the sweep runs from {} to {}; ask for a frequency \
                     within it, or sweep farther",
                    engineering(*freq_hz, "Hz", 4),
                    engineering(*first, "Hz", 4),
                    engineering(*last, "Hz", 4)
                ),
            }),
        }
    }

    fn write_remarks(&self, err: &mut dyn Write) -> Result<(), CommandError> {
        for (name, remark) in self.remarks() {
            writeln!(err, "jig: {name}: {remark}")?;
        }
        Ok(())
    }
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
