//! From the command line to a window or a picture.

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::{fmt, io};

use clap::{Parser, ValueEnum};
use jigwise_bench::file::text_of;
use jigwise_bench::scene::{ChartKind, MapAim};
use jigwise_bench::{Scenario, ScenarioError, shell};
use jigwise_exercises::talk::{self, Talk};

use crate::host::progress::Kept;
use crate::host::settings::Settings;
use crate::host::{HostError, snapshot, window};
use crate::teach::ModeLink;
use crate::{BenchPage, Drawer, NAME, Simulator, Stage, Theme, View};

/// The smallest and largest picture side, in pixels.
const SIDES: std::ops::RangeInclusive<u32> = 320..=8192;

/// Drag a part; see what three fixtures read of it.
#[derive(Parser)]
#[command(name = NAME, version = jigwise_bench::version())]
struct Arguments {
    /// Begin with this scenario file.
    #[arg(long, value_name = "FILE")]
    scenario: Option<PathBuf>,
    /// Draw one frame into this PNG file, and its readings as text beside it; no window.
    #[arg(long, value_name = "PNG")]
    snapshot: Option<PathBuf>,
    /// Width and height in pixels.
    #[arg(long, value_name = "WxH", default_value = "1280x720", value_parser = size)]
    size: [u32; 2],
    /// The look.
    #[arg(long, value_enum, default_value = "light")]
    theme: ThemeArgument,
    /// The chart.
    #[arg(long, value_enum, default_value = "reflection")]
    chart: ChartArgument,
    /// The map behind the chart.
    #[arg(long, value_enum, default_value = "value")]
    map: MapArgument,
    /// Show formulas and u by cause.
    #[arg(long)]
    sums: bool,
    /// Begin with this drawer open.
    #[arg(long, value_enum)]
    open: Option<DrawerArgument>,
    /// Give a talk: "club", "short", or a talk file.
    #[arg(long, value_name = "TALK", conflicts_with_all = ["round", "predict", "scenario"])]
    talk: Option<String>,
    /// Begin the talk at this stop, from 1.
    #[arg(long, value_name = "NUMBER", default_value = "1", requires = "talk")]
    stop: usize,
    /// Play the round of this code, or one of "resistor", "capacitor", "coil", "borrowed",
    /// "crystal".
    #[arg(long, value_name = "CODE", conflicts_with_all = ["predict", "scenario"])]
    round: Option<String>,
    /// Cover this and predict it: "best fixture", "reading reflect", "bar shunt-through", "verdict
    /// series-through" and so on.
    #[arg(long, value_name = "WHAT")]
    predict: Option<String>,
    /// Calibrate again this many times before the first frame.
    #[arg(long, value_name = "TIMES", default_value = "0")]
    calibrations: u8,
    /// Text size in percent, 100 to 300.
    #[arg(long, value_name = "PERCENT", default_value = "100",
          value_parser = clap::value_parser!(u32).range(100..=300))]
    text: u32,
}

#[derive(Clone, Copy, ValueEnum)]
enum DrawerArgument {
    /// The part, and what else is on the bench.
    Part,
    /// The instrument's entries.
    Instrument,
    /// The fixtures' strays.
    Strays,
    /// How the analyzer was calibrated.
    Calibration,
    /// How the window looks.
    View,
    /// Why the answer is what it is.
    Why,
    /// The modes that teach.
    Learn,
}

#[derive(Clone, Copy, ValueEnum)]
enum ThemeArgument {
    /// For a bright room.
    Light,
    /// For a dim room.
    Dark,
    /// For a beamer.
    Hall,
}

#[derive(Clone, Copy, ValueEnum)]
enum ChartArgument {
    /// The reflection chart.
    Reflection,
    /// Log |Z| against phase.
    OhmPlane,
    /// Uncertainty and resolvable change over |Z|.
    Reach,
}

#[derive(Clone, Copy, ValueEnum)]
enum MapArgument {
    /// No map.
    None,
    /// The fixture of least uncertainty.
    Value,
    /// The fixture of least resolvable change.
    Change,
}

#[derive(Debug)]
enum StartError {
    Scenario(ScenarioError),
    /// What a message says by itself.
    Said(String),
    Host(HostError),
    Output(io::Error),
}

impl fmt::Display for StartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Scenario(error) => error.fmt(f),
            Self::Said(message) => f.write_str(message),
            Self::Host(error) => error.fmt(f),
            Self::Output(error) => write!(
                f,
                "the output can't be written ({error}); is the disk full?"
            ),
        }
    }
}

impl From<ScenarioError> for StartError {
    fn from(error: ScenarioError) -> Self {
        Self::Scenario(error)
    }
}

impl From<HostError> for StartError {
    fn from(error: HostError) -> Self {
        Self::Host(error)
    }
}

impl From<io::Error> for StartError {
    fn from(error: io::Error) -> Self {
        Self::Output(error)
    }
}

/// Reads the command line and does what it says. Ends with 0, or 2 after bad input.
pub fn start() -> ExitCode {
    shell::run(
        NAME,
        std::env::args_os(),
        &mut io::stdout(),
        &mut io::stderr(),
        |arguments: Arguments, _, _| attempt(&arguments),
    )
}

fn attempt(arguments: &Arguments) -> Result<ExitCode, StartError> {
    let scenario = match &arguments.scenario {
        Some(path) => Scenario::read_file(path)?,
        None => Scenario::default(),
    };
    let mut simulator = Simulator::new(scenario).map_err(|error| match &arguments.scenario {
        Some(path) => error.in_file(path),
        None => error,
    })?;
    for _ in 0..arguments.calibrations {
        simulator.desk.calibrate_again();
    }
    arguments.set_view(&mut simulator.view);
    arguments.set_mode(&mut simulator)?;
    if let Some(png) = &arguments.snapshot {
        snapshot::take(simulator, arguments.size, png)?;
        return Ok(ExitCode::SUCCESS);
    }
    let exit = window::open(
        simulator,
        arguments.size,
        Settings::of_user(),
        Kept::of_user(),
    )?;
    Ok(if exit.is_success() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

impl Arguments {
    fn set_view(&self, view: &mut View) {
        view.theme = match self.theme {
            ThemeArgument::Light => Theme::Light,
            ThemeArgument::Dark => Theme::Dark,
            ThemeArgument::Hall => Theme::Hall,
        };
        view.stage = match self.chart {
            ChartArgument::Reflection => Stage::Chart(ChartKind::Reflection),
            ChartArgument::OhmPlane => Stage::Chart(ChartKind::OhmPlane),
            ChartArgument::Reach => Stage::Reach,
        };
        view.layers.map = match self.map {
            MapArgument::None => None,
            MapArgument::Value => Some(MapAim::BestForValue),
            MapArgument::Change => Some(MapAim::BestForChange),
        };
        view.sums = self.sums;
        view.drawer = self.open.map(|drawer| match drawer {
            DrawerArgument::Part => Drawer::Bench(BenchPage::Part),
            DrawerArgument::Instrument => Drawer::Bench(BenchPage::Instrument),
            DrawerArgument::Strays => Drawer::Bench(BenchPage::Strays),
            DrawerArgument::Calibration => Drawer::Bench(BenchPage::Calibration),
            DrawerArgument::View => Drawer::View,
            DrawerArgument::Why => Drawer::Why,
            DrawerArgument::Learn => Drawer::Learn,
        });
        view.set_text_percent(self.text);
    }

    /// Begins the mode that is asked for.
    fn set_mode(&self, simulator: &mut Simulator) -> Result<(), StartError> {
        if let Some(name) = &self.talk {
            simulator.begin_talk(read_talk(name)?);
            // Each stop is first uncovered and then left.
            while simulator.teach.stop().is_some_and(|at| at + 1 < self.stop) {
                let before = simulator.teach.stop();
                simulator.next_in_talk();
                simulator.next_in_talk();
                if simulator.teach.stop() == before {
                    break;
                }
            }
        } else if let Some(name) = &self.round {
            let link = ModeLink::round(name);
            let link = link.map_err(|error| StartError::Said(format!("--round: {error}")))?;
            simulator.follow_link(link);
        } else if let Some(name) = &self.predict {
            let link = ModeLink::predict(name);
            let link = link.map_err(|error| StartError::Said(format!("--predict: {error}")))?;
            simulator.follow_link(link);
        }
        Ok(())
    }
}

/// A talk that comes along, or one in a file. What is wrong with single stops is shown at them.
fn read_talk(name: &str) -> Result<Talk, StartError> {
    if let Some(talk) = talk::talk(name) {
        return Ok(talk.clone());
    }
    let path = Path::new(name);
    if !path.exists()
        && !name.ends_with(".toml")
        && let Err(error) = ModeLink::talk(name)
    {
        return Err(StartError::Said(format!("--talk: no file, and {error}")));
    }
    let (text, name) = text_of(path)?;
    Ok(Talk::from_toml(&text, &name)?)
}

fn size(text: &str) -> Result<[u32; 2], String> {
    let wrong = || {
        format!(
            "expected a width and height from {} to {} such as 1280x720",
            SIDES.start(),
            SIDES.end()
        )
    };
    let (width, height) = text.split_once('x').ok_or_else(wrong)?;
    let side = |text: &str| text.parse().ok().filter(|side| SIDES.contains(side));
    match (side(width), side(height)) {
        (Some(width), Some(height)) => Ok([width, height]),
        _ => Err(wrong()),
    }
}
