use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use jigwise_physics::Fixture;
use serde::Serialize;

use super::table::Table;
use super::{CommandError, FixtureArgument, Parts, frequency};
use crate::words::fixture_key;
use crate::{ReducedPoint, Reduction, engineering, fixed, read_file, reduce};

/// A table longer than this is thinned; JSON and CSV always hold every point.
const TABLE_ROWS: usize = 40;

/// A measured sweep in ohms: one Touchstone file of a part in one fixture.
#[derive(Args)]
pub(super) struct Reduce {
    /// The Touchstone file, .s1p, .s2p or .ts.
    file: PathBuf,
    /// How the part was connected.
    #[arg(long, value_enum)]
    fixture: FixtureArgument,
    /// Only the measured point nearest to this frequency; may be given again.
    #[arg(long, value_name = "FREQUENCY", value_parser = frequency, allow_hyphen_values = true)]
    at: Vec<f64>,
    /// Write JSON.
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// Write comma-separated values.
    #[arg(long)]
    csv: bool,
}

impl Reduce {
    pub(super) fn run(&self, out: &mut dyn Write, err: &mut dyn Write) -> Result<(), CommandError> {
        let sweep = read_file(&self.file)?;
        let mut reduction =
            reduce(&sweep, self.fixture.into()).map_err(|error| CommandError::Reduce {
                file: self.file.display().to_string(),
                error,
            })?;
        let remarks = reduction.remarks();
        if !self.at.is_empty() {
            reduction.points = nearest_points(&reduction.points, &self.at);
        }
        if self.json {
            write_json(&reduction, out)?;
        } else if self.csv {
            write_csv(&reduction, out)?;
        } else {
            self.write_table(&reduction, out)?;
        }
        out.flush()?;
        for remark in sweep.remarks() {
            writeln!(err, "jig: {}: {remark}", self.file.display())?;
        }
        for remark in remarks {
            writeln!(err, "jig: {}: {remark}", self.file.display())?;
        }
        Ok(())
    }

    fn write_table(&self, reduction: &Reduction, out: &mut dyn Write) -> Result<(), CommandError> {
        let points = &reduction.points;
        let shown = thinned(points);
        writeln!(
            out,
            "{}, {}, reference {}",
            self.file.display(),
            fixture_key(reduction.fixture),
            engineering(reduction.reference.ohm(), "Ω", 3)
        )?;
        let mut table = Table::new([
            "Frequency",
            "R",
            "X",
            "|Z|",
            "Angle",
            "As a part",
            "Identity",
        ]);
        for point in &shown {
            let z = point.device.impedance();
            table.row([
                engineering(point.freq_hz, "Hz", 6),
                z.map_or("open".into(), |z| engineering(z.re, "Ω", 5)),
                z.map_or("–".into(), |z| engineering(z.im, "Ω", 5)),
                point
                    .magnitude_ohm()
                    .map_or("–".into(), |ohm| engineering(ohm, "Ω", 5)),
                point
                    .phase_deg()
                    .map_or("–".into(), |deg| format!("{}°", fixed(deg, 2))),
                as_a_part(point),
                point.consistency.map_or("–".into(), |c| fixed(c, 4)),
            ]);
        }
        table.write(out)?;
        if shown.len() < points.len() {
            writeln!(
                out,
                "{} of {} points; all of them with --csv or --json, one of them with --at",
                shown.len(),
                points.len()
            )?;
        }
        if reduction.fixture != Fixture::Reflect {
            writeln!(
                out,
                "Identity: how far S11 and S21 are from those of one lumped part, 0 at best"
            )?;
        }
        Ok(())
    }
}

fn as_a_part(point: &ReducedPoint) -> String {
    point
        .inductance_h()
        .map(|henry| engineering(henry, "H", 5))
        .or_else(|| {
            point
                .capacitance_f()
                .map(|farad| engineering(farad, "F", 5))
        })
        .unwrap_or_else(|| "–".to_owned())
}

fn thinned(points: &[ReducedPoint]) -> Vec<ReducedPoint> {
    if points.len() <= TABLE_ROWS {
        return points.to_vec();
    }
    let last = points.len() - 1;
    (0..TABLE_ROWS)
        .map(|row| points[row * last / (TABLE_ROWS - 1)])
        .collect()
}

fn nearest_points(points: &[ReducedPoint], wanted_hz: &[f64]) -> Vec<ReducedPoint> {
    let distance = |point: &ReducedPoint, freq_hz: f64| (point.freq_hz - freq_hz).abs();
    wanted_hz
        .iter()
        .filter_map(|freq_hz| {
            points
                .iter()
                .min_by(|a, b| distance(a, *freq_hz).total_cmp(&distance(b, *freq_hz)))
        })
        .copied()
        .collect()
}

#[derive(Serialize)]
struct ReductionJson {
    fixture: &'static str,
    reference_ohm: f64,
    points: Vec<PointJson>,
}

#[derive(Serialize)]
struct PointJson {
    freq_hz: f64,
    open: bool,
    r_ohm: Option<f64>,
    x_ohm: Option<f64>,
    magnitude_ohm: Option<f64>,
    phase_deg: Option<f64>,
    reading: Parts,
    inductance_h: Option<f64>,
    capacitance_f: Option<f64>,
    consistency: Option<f64>,
}

impl From<&ReducedPoint> for PointJson {
    fn from(point: &ReducedPoint) -> Self {
        let z = point.device.impedance();
        Self {
            freq_hz: point.freq_hz,
            open: point.device.is_open(),
            r_ohm: z.map(|z| z.re),
            x_ohm: z.map(|z| z.im),
            magnitude_ohm: point.magnitude_ohm(),
            phase_deg: point.phase_deg(),
            reading: point.reading.into(),
            inductance_h: point.inductance_h(),
            capacitance_f: point.capacitance_f(),
            consistency: point.consistency,
        }
    }
}

fn write_json(reduction: &Reduction, out: &mut dyn Write) -> Result<(), CommandError> {
    let json = ReductionJson {
        fixture: fixture_key(reduction.fixture),
        reference_ohm: reduction.reference.ohm(),
        points: reduction.points.iter().map(PointJson::from).collect(),
    };
    serde_json::to_writer_pretty(&mut *out, &json)?;
    writeln!(out)?;
    Ok(())
}

fn write_csv(reduction: &Reduction, out: &mut dyn Write) -> Result<(), CommandError> {
    let mut csv = csv::Writer::from_writer(out);
    csv.write_record([
        "freq_hz",
        "r_ohm",
        "x_ohm",
        "magnitude_ohm",
        "phase_deg",
        "reading_re",
        "reading_im",
        "inductance_h",
        "capacitance_f",
        "consistency",
    ])?;
    for point in reduction.points.iter().map(PointJson::from) {
        csv.serialize((
            point.freq_hz,
            point.r_ohm,
            point.x_ohm,
            point.magnitude_ohm,
            point.phase_deg,
            point.reading.re,
            point.reading.im,
            point.inductance_h,
            point.capacitance_f,
            point.consistency,
        ))?;
    }
    csv.flush()?;
    Ok(())
}
