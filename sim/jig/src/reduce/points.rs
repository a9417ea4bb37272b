//! The points as table, JSON and comma-separated values.

use std::cell::RefCell;
use std::io::Write;

use jigwise_physics::{DiscImage, Fixture, Trust};
use serde::Serialize as Derive;
use serde::ser::{Error as _, Serialize, SerializeSeq, Serializer};

use super::values::ValuesJson;
use super::{Prepared, Reduce};
use crate::progress::Progress;
use crate::table::Table;
use crate::{CommandError, Parts};
use jigwise_bench::words::{fixture_key, trust, trust_key};
use jigwise_quantity::{engineering, fixed};
use jigwise_reduce::Findings;
use jigwise_reduce::{Ensemble, PartPoint, ReduceError};

/// A table longer than this is thinned; JSON and CSV always hold every point.
const TABLE_ROWS: usize = 40;

/// Hands on the points asked for: every one, or those nearest to some frequencies.
fn wanted<E: From<ReduceError>>(
    ensemble: &Ensemble<'_>,
    at_hz: &[f64],
    mut take: impl FnMut(&PartPoint) -> Result<(), E>,
) -> Result<(), E> {
    if at_hz.is_empty() {
        let mut progress = Progress::new("reducing");
        return ensemble.each(take, |share| progress.at(share));
    }
    for freq_hz in at_hz {
        if let Some(point) = nearest(ensemble, *freq_hz)? {
            take(&point)?;
        }
    }
    Ok(())
}

/// The point nearest to a frequency that can be told.
fn nearest(ensemble: &Ensemble<'_>, freq_hz: f64) -> Result<Option<PartPoint>, ReduceError> {
    let all = ensemble.freq_hz();
    let distance = |k: usize| (all[k] - freq_hz).abs();
    let by_distance = |a: &usize, b: &usize| distance(*a).total_cmp(&distance(*b));
    let Some(first) = (0..all.len()).min_by(by_distance) else {
        return Ok(None);
    };
    match ensemble.point(first) {
        Err(ReduceError::Blank { .. }) => {}
        found => return found.map(Some),
    }
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by(by_distance);
    for index in order {
        match ensemble.point(index) {
            Err(ReduceError::Blank { .. }) => {}
            found => return found.map(Some),
        }
    }
    Ok(None)
}

/// At most [`TABLE_ROWS`] points, evenly over the sweep.
fn thinned(ensemble: &Ensemble<'_>) -> Result<Vec<PartPoint>, ReduceError> {
    let len = ensemble.freq_hz().len();
    let rows = len.min(TABLE_ROWS);
    let mut points = Vec::with_capacity(rows);
    for row in 0..rows {
        let index = if len <= TABLE_ROWS {
            row
        } else {
            row * (len - 1) / (TABLE_ROWS - 1)
        };
        match ensemble.point(index) {
            Ok(point) => points.push(point),
            Err(ReduceError::Blank { .. }) => {}
            Err(error) => return Err(error),
        }
    }
    Ok(points)
}

pub(super) fn write_table(
    at_hz: &[f64],
    part: &Prepared<'_>,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let ensemble = &part.ensemble;
    let shown = if at_hz.is_empty() {
        thinned(ensemble)?
    } else {
        let mut points = Vec::new();
        wanted(ensemble, at_hz, |point| {
            points.push(point.clone());
            Ok::<(), ReduceError>(())
        })?;
        points
    };
    let fixtures: Vec<&str> = part
        .inputs
        .fixtures
        .iter()
        .copied()
        .map(fixture_key)
        .collect();
    let instrument = part
        .inputs
        .instrument
        .as_ref()
        .map_or(String::new(), |named| {
            format!(", {} instrument", named.name)
        });
    writeln!(
        out,
        "{}, {}, reference {}{instrument}",
        part.inputs.title(),
        fixtures.join(", "),
        engineering(ensemble.reference().ohm(), "Ω", 3)
    )?;
    let several = ensemble.fixtures() > 1;
    let known = part.inputs.budget.is_some();
    let mut heading = vec!["Frequency", "R", "X"];
    if known {
        heading.extend(["u(R)", "u(X)"]);
    }
    heading.extend(["|Z|", "Angle", "As a part"]);
    if several {
        heading.push("Best");
        if known {
            heading.push("Agreement p");
        }
    } else {
        heading.push("Identity");
    }
    let mut table = Table::of(heading.into_iter().map(str::to_owned).collect());
    for point in &shown {
        table.push(row(point, several, known));
    }
    table.write(out)?;
    let all = ensemble.freq_hz().len();
    if at_hz.is_empty() && all > TABLE_ROWS {
        writeln!(
            out,
            "{} of {all} points; all of them with --csv or --json, one of them with --at",
            shown.len()
        )?;
    }
    if !several && part.inputs.fixtures[0] != Fixture::Reflect {
        writeln!(
            out,
            "Identity: how far S11 and S21 are from those of one lumped part, 0 at best"
        )?;
    }
    if known {
        writeln!(out, "u: standard uncertainty, k = 1")?;
        let worst = shown.iter().filter_map(PartPoint::trust).max();
        if let Some(worst) = worst.filter(|worst| *worst != Trust::Linear) {
            writeln!(
                out,
                "At some of these points {}; --json and --csv give the region",
                trust(worst)
            )?;
        }
    }
    Ok(())
}

fn row(point: &PartPoint, several: bool, known: bool) -> Vec<String> {
    let dash = || "–".to_owned();
    let ohms = |ohm: Option<f64>| ohm.map_or_else(dash, |ohm| engineering(ohm, "Ω", 5));
    let z = point.device().impedance();
    let reduced = point.as_reduced();
    let mut cells = vec![
        engineering(point.freq_hz, "Hz", 6),
        z.map_or("open".into(), |z| engineering(z.re, "Ω", 5)),
        ohms(z.map(|z| z.im)),
    ];
    if known {
        let u = point.uncertainty_ohm();
        let two = |u: Option<f64>| u.map_or_else(dash, |u| engineering(u, "Ω", 2));
        cells.extend([two(u.map(|u| u.0)), two(u.map(|u| u.1))]);
    }
    cells.extend([
        ohms(reduced.and_then(|p| p.magnitude_ohm())),
        reduced
            .and_then(|p| p.phase_deg())
            .map_or_else(dash, |deg| format!("{}°", fixed(deg, 2))),
        as_a_part(point),
    ]);
    if several {
        cells.push(fixture_key(point.chosen).to_owned());
        if known {
            cells.push(match &point.blend {
                Some(Ok(blend)) => fixed(blend.p, 3),
                Some(Err(_)) => "not blended".to_owned(),
                None => dash(),
            });
        }
    } else {
        let identity = reduced.and_then(|p| p.consistency);
        cells.push(identity.map_or_else(dash, |c| fixed(c, 4)));
    }
    cells
}

fn as_a_part(point: &PartPoint) -> String {
    let Some(point) = point.as_reduced() else {
        return "–".to_owned();
    };
    let henry = point.inductance_h().map(|henry| engineering(henry, "H", 5));
    henry
        .or_else(|| {
            point
                .capacitance_f()
                .map(|farad| engineering(farad, "F", 5))
        })
        .unwrap_or_else(|| "–".to_owned())
}

#[derive(Derive)]
struct ReductionJson<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    fixture: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    fixtures: Option<Vec<&'static str>>,
    reference_ohm: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    instrument: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    values: Option<ValuesJson>,
    points: Points<'a>,
}

/// Points that are reduced while they are written.
struct Points<'a> {
    ensemble: &'a Ensemble<'a>,
    at_hz: &'a [f64],
    known: bool,
}

/// Where a writer's error meets a refusal.
enum Stopped<E> {
    Writer(E),
    Refused(ReduceError),
}

impl<E> From<ReduceError> for Stopped<E> {
    fn from(error: ReduceError) -> Self {
        Self::Refused(error)
    }
}

impl Serialize for Points<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let list = RefCell::new(serializer.serialize_seq(None)?);
        let written = wanted(self.ensemble, self.at_hz, |point| {
            let json = PointJson::of(point, self.ensemble.fixtures() > 1, self.known);
            list.borrow_mut()
                .serialize_element(&json)
                .map_err(Stopped::Writer)
        });
        match written {
            Ok(()) => list.into_inner().end(),
            Err(Stopped::Writer(error)) => Err(error),
            Err(Stopped::Refused(error)) => Err(S::Error::custom(error)),
        }
    }
}

#[derive(Derive)]
struct PointJson {
    freq_hz: f64,
    open: bool,
    r_ohm: Option<f64>,
    x_ohm: Option<f64>,
    magnitude_ohm: Option<f64>,
    phase_deg: Option<f64>,
    reading: Option<Parts>,
    inductance_h: Option<f64>,
    capacitance_f: Option<f64>,
    consistency: Option<f64>,
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    known: Option<KnownJson>,
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    blend: Option<BlendJson>,
}

#[derive(Derive)]
struct KnownJson {
    u_r_ohm: Option<f64>,
    u_x_ohm: Option<f64>,
    correlation: Option<f64>,
    trust: Option<&'static str>,
    region: Option<RegionJson>,
}

/// The exact 95 % region, where the linear uncertainty does not hold.
#[derive(Derive, Clone, Copy)]
struct RegionJson {
    /// inside or outside the circle.
    side: &'static str,
    r_ohm: f64,
    x_ohm: f64,
    radius_ohm: f64,
}

#[derive(Derive)]
struct BlendJson {
    fixture: &'static str,
    chi_square: Option<f64>,
    p: Option<f64>,
    used: Option<Vec<&'static str>>,
    not_blended: Option<String>,
}

impl PointJson {
    fn of(point: &PartPoint, several: bool, known: bool) -> Self {
        let z = point.device().impedance();
        let reduced = point.as_reduced();
        Self {
            freq_hz: point.freq_hz,
            open: point.device().is_open(),
            r_ohm: z.map(|z| z.re),
            x_ohm: z.map(|z| z.im),
            magnitude_ohm: reduced.and_then(|p| p.magnitude_ohm()),
            phase_deg: reduced.and_then(|p| p.phase_deg()),
            reading: reduced.map(|p| p.reading.into()),
            inductance_h: reduced.and_then(|p| p.inductance_h()),
            capacitance_f: reduced.and_then(|p| p.capacitance_f()),
            consistency: reduced.and_then(|p| p.consistency),
            known: known.then(|| KnownJson::of(point)),
            blend: several.then(|| BlendJson::of(point)),
        }
    }
}

impl KnownJson {
    fn of(point: &PartPoint) -> Self {
        let covariance = point.covariance();
        let knowledge = point.best().and_then(|best| best.knowledge);
        let own = knowledge.filter(|_| point.blended().is_none());
        Self {
            u_r_ohm: covariance.map(|c| c.re.sqrt()),
            u_x_ohm: covariance.map(|c| c.im.sqrt()),
            correlation: covariance.map(|c| c.correlation()),
            trust: point.trust().map(trust_key),
            region: own
                .filter(|known| known.trust != Trust::Linear)
                .and_then(|known| RegionJson::of(known.region?)),
        }
    }
}

impl RegionJson {
    fn of(region: DiscImage) -> Option<Self> {
        let (side, center, radius_ohm) = match region {
            DiscImage::Inside { center, radius } => ("inside", center, radius),
            DiscImage::Outside { center, radius } => ("outside", center, radius),
            DiscImage::HalfPlane => return None,
        };
        Some(Self {
            side,
            r_ohm: center.re,
            x_ohm: center.im,
            radius_ohm,
        })
    }
}

impl BlendJson {
    fn of(point: &PartPoint) -> Self {
        let blend = point.blended();
        Self {
            fixture: fixture_key(point.chosen),
            chi_square: blend.map(|b| b.chi_square),
            p: blend.map(|b| b.p),
            used: blend.map(|b| {
                let used = Fixture::ALL.into_iter().zip(b.used);
                used.filter(|(_, used)| *used)
                    .map(|(fixture, _)| fixture_key(fixture))
                    .collect()
            }),
            not_blended: match &point.blend {
                Some(Err(error)) => Some(error.to_string()),
                _ => None,
            },
        }
    }
}

pub(super) fn write_json(
    given: &Reduce,
    part: &Prepared<'_>,
    findings: Option<&Findings>,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let fixtures: Vec<&'static str> = part
        .inputs
        .fixtures
        .iter()
        .copied()
        .map(fixture_key)
        .collect();
    let one = fixtures.len() == 1;
    let json = ReductionJson {
        fixture: one.then(|| fixtures[0]),
        fixtures: (!one).then_some(fixtures),
        reference_ohm: part.ensemble.reference().ohm(),
        instrument: part
            .inputs
            .instrument
            .as_ref()
            .map(|named| named.name.as_str()),
        values: findings.map(ValuesJson::of),
        points: Points {
            ensemble: &part.ensemble,
            at_hz: &given.at,
            known: part.inputs.budget.is_some(),
        },
    };
    serde_json::to_writer_pretty(&mut *out, &json)?;
    writeln!(out)?;
    Ok(())
}

pub(super) fn write_csv(
    ensemble: &Ensemble<'_>,
    known: bool,
    at_hz: &[f64],
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let mut csv = CsvPoints::new(out, ensemble.fixtures() > 1, known)?;
    wanted(ensemble, at_hz, |point| csv.write(point))?;
    csv.finish()
}

/// Points as comma-separated values, one by one.
pub(super) struct CsvPoints<W: Write> {
    csv: csv::Writer<W>,
    several: bool,
    known: bool,
}

impl<W: Write> CsvPoints<W> {
    pub(super) fn new(out: W, several: bool, known: bool) -> Result<Self, CommandError> {
        let mut csv = csv::Writer::from_writer(out);
        let mut heading = vec![
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
        ];
        if known {
            heading.extend([
                "u_r_ohm",
                "u_x_ohm",
                "correlation",
                "trust",
                "region",
                "region_r_ohm",
                "region_x_ohm",
                "region_radius_ohm",
            ]);
        }
        if several {
            heading.extend(["fixture", "chi_square", "p", "used", "not_blended"]);
        }
        csv.write_record(&heading)?;
        Ok(Self {
            csv,
            several,
            known,
        })
    }

    pub(super) fn write(&mut self, point: &PartPoint) -> Result<(), CommandError> {
        let point = PointJson::of(point, self.several, self.known);
        let base = (
            point.freq_hz,
            point.r_ohm,
            point.x_ohm,
            point.magnitude_ohm,
            point.phase_deg,
            point.reading.as_ref().map(|s| s.re),
            point.reading.as_ref().map(|s| s.im),
            point.inductance_h,
            point.capacitance_f,
            point.consistency,
        );
        let known = point.known.as_ref().map(|known| {
            let region = known.region;
            (
                known.u_r_ohm,
                known.u_x_ohm,
                known.correlation,
                known.trust,
                region.map(|r| r.side),
                region.map(|r| r.r_ohm),
                region.map(|r| r.x_ohm),
                region.map(|r| r.radius_ohm),
            )
        });
        let blend = point.blend.as_ref().map(|blend| {
            (
                blend.fixture,
                blend.chi_square,
                blend.p,
                blend.used.as_ref().map(|used| used.join(" ")),
                blend.not_blended.as_deref(),
            )
        });
        match (known, blend) {
            (None, None) => self.csv.serialize(base)?,
            (Some(known), None) => self.csv.serialize((base, known))?,
            (None, Some(blend)) => self.csv.serialize((base, blend))?,
            (Some(known), Some(blend)) => self.csv.serialize((base, known, blend))?,
        }
        Ok(())
    }

    pub(super) fn finish(mut self) -> Result<(), CommandError> {
        self.csv.flush()?;
        Ok(())
    }
}
