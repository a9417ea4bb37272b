use std::path::PathBuf;

use clap::Args;
use jigwise_physics::{Fixture, LEFT_SHARE, LineEnd, Model, Port};

use crate::{FixtureArgument, frequency};
use jigwise_bench::expected_one_of;
use jigwise_quantity::{Unit, ValueError, parse_count, parse_list, parse_share, unsigned_percent};
use jigwise_reduce::{MODELS, Wanted};

/// Measured sweeps in ohms: Touchstone files of a part in one fixture, or in two or three of
/// them, which are blended at every frequency.
///
/// With --open, --short, --load (and --thru for the through fixtures), or with --calibration,
/// the part's file and the blanks are raw readings. Without, they are taken as corrected where
/// the part sits.
#[derive(Args)]
#[command(after_long_help = CALIBRATION_HELP, allow_negative_numbers = true)]
pub(crate) struct Reduce {
    /// Touchstone files, .s1p, .s2p or .ts, or folders of them; - reads standard input. Several
    /// parts are listed, a line each.
    #[arg(value_name = "FILE|FOLDER", required = true)]
    pub(super) files: Vec<PathBuf>,
    /// How the part was connected: one fixture for every file, each then a part of its own, or
    /// one for each file of the same part, in order and parted by commas.
    #[arg(
        long,
        value_enum,
        value_delimiter = ',',
        required = true,
        value_name = "FIXTURE"
    )]
    pub(super) fixture: Vec<FixtureArgument>,
    /// Raw sweep of the open, taken for ideal. A .s1p counts for port 1 and a .s2p for both; or
    /// give it twice, port 1 first. The same for --short and --load.
    #[arg(long, value_name = "FILE")]
    pub(super) open: Vec<PathBuf>,
    /// Raw sweep of the short.
    #[arg(long, value_name = "FILE")]
    pub(super) short: Vec<PathBuf>,
    /// Raw sweep of the load.
    #[arg(long, value_name = "FILE")]
    pub(super) load: Vec<PathBuf>,
    /// Raw sweep of the through, ports joined without a gap (.s2p).
    #[arg(long, visible_alias = "through", value_name = "FILE")]
    pub(super) thru: Option<PathBuf>,
    /// Raw sweep with both ports terminated (.s2p); without it the crosstalk is taken for zero.
    #[arg(long, value_name = "FILE", requires = "thru")]
    pub(super) isolation: Option<PathBuf>,
    /// A calibration file, with definitions of the standards; see below.
    #[arg(long, value_name = "FILE",
          conflicts_with_all = ["open", "short", "load", "thru", "isolation"])]
    pub(super) calibration: Option<PathBuf>,
    /// Sweep of the fixture without the part: shunt-through shorted, series-through empty; for
    /// reflect give two, empty and then shorted.
    #[arg(long, value_name = "FILE")]
    pub(super) blank: Vec<PathBuf>,
    #[arg(long, value_name = "PERCENT", value_parser = parse_share, help = blank_left_help())]
    pub(super) blank_left: Option<f64>,
    /// Without a blank: count what the fixture may add as uncertainty, each stray at full size
    /// with unknown sign. "typical" is a gap of 0.1 pF, 1 nH to ground and a pin of 50 fF; or a
    /// file with a [strays] table, which may be a scenario.
    #[arg(
        long,
        value_name = "FILE|typical",
        requires = "instrument",
        conflicts_with = "blank"
    )]
    pub(super) strays: Option<String>,
    /// Move the planes towards the part by this one-way delay, port 1 and then port 2 ("120 ps"
    /// or "120 ps,80 ps", each with its unit; one delay counts for both).
    #[arg(long, value_name = "DELAY", value_parser = delays, allow_hyphen_values = true)]
    pub(super) extend: Vec<Delays>,
    /// The instrument behind the readings: handheld, club-bench, laboratory (all invented), or
    /// a file with an [instrument] table. Gives every value its uncertainty.
    #[arg(long, value_name = "NAME|FILE")]
    pub(super) instrument: Option<String>,
    /// How often the part was connected after the calibration; 0, which counts where nothing is
    /// said, is soldered and left.
    #[arg(long, value_name = "COUNT", value_parser = connections)]
    pub(super) connections: Option<u32>,
    #[arg(long, value_name = "KIND", value_parser = model, help = model_help())]
    pub(super) model: Option<Wanted>,
    /// Leave out the points below this frequency.
    #[arg(long, value_name = "FREQUENCY", value_parser = frequency, allow_hyphen_values = true)]
    pub(super) from: Option<f64>,
    /// Leave out the points above this frequency.
    #[arg(long, value_name = "FREQUENCY", value_parser = frequency, allow_hyphen_values = true)]
    pub(super) to: Option<f64>,
    /// Write a folder: report.html, points.csv, figures, and impedance.s1p; one for each of
    /// several parts, in this folder.
    #[arg(long, value_name = "FOLDER")]
    pub(super) out: Option<PathBuf>,
    /// Put the report in the place of one that is there. Without this nothing is written over.
    #[arg(long, requires = "out")]
    pub(super) replace: bool,
    /// Who measured, for the report.
    #[arg(long, value_name = "NAME", requires = "out")]
    pub(super) operator: Option<String>,
    /// The serial number of the analyzer, for the report.
    #[arg(long, value_name = "NUMBER", requires = "out")]
    pub(super) serial: Option<String>,
    /// What else a reader of the report should know; may be given again.
    #[arg(long, value_name = "TEXT", requires = "out")]
    pub(super) note: Vec<String>,
    /// The port at which the part of a reflect fixture hung, where its file has two; 1 where
    /// nothing is said.
    #[arg(long, value_name = "1|2",
          value_parser = clap::builder::PossibleValuesParser::new(["1", "2"]))]
    pub(super) port: Option<String>,
    /// Only the measured point nearest to this frequency, within the sweep; may be given again. A
    /// report tells its values.
    #[arg(long, value_name = "FREQUENCY", value_parser = frequency, allow_hyphen_values = true)]
    pub(super) at: Vec<f64>,
    /// Write JSON.
    #[arg(long, conflicts_with = "csv")]
    pub(super) json: bool,
    /// Write comma-separated values.
    #[arg(long)]
    pub(super) csv: bool,
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

A standard without a definition is ideal. `jig sweep --with-standards` writes such a file."#;

impl Reduce {
    pub(super) fn port(&self) -> Port {
        if self.port.as_deref() == Some("2") {
            Port::Two
        } else {
            Port::One
        }
    }

    /// The sweeps that will be read beside the parts': of standards and blanks.
    pub(super) fn beside(&self) -> impl Iterator<Item = &PathBuf> {
        let has_through = self
            .fixture
            .iter()
            .any(|f| Fixture::from(*f) != Fixture::Reflect);
        let of_both = self.thru.iter().chain(&self.isolation);
        let of_both = of_both.filter(move |_| has_through);
        let of_one = self.open.iter().chain(&self.short).chain(&self.load);
        of_one.chain(of_both).chain(&self.blank)
    }

    /// The circuit that is looked for.
    pub(super) fn wanted(&self) -> &Wanted {
        self.model.as_ref().unwrap_or(&Wanted::Automatic)
    }
}

/// The delays of one --extend, s.
#[derive(Debug, Clone)]
pub(super) struct Delays(pub(super) Vec<f64>);

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
