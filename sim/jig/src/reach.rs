use std::io::Write;

use clap::Args;
use jigwise_physics::{Cause, Coverage, Fixture, Merits, ReferenceImpedance};
use serde::Serialize;

use super::asked::{Asked, AskedInstrument};
use super::json::{Document, write_json};
use super::table::Table;
use super::{CommandError, angle, reference};
use jigwise_bench::Reach;
use jigwise_bench::words::{fixture_key, fixture_title, omitted, omitted_words};
use jigwise_quantity::{engineering, fixed, parse_share};

/// The range of |Z| in which each fixture meets a wanted percentage, at 95 %.
#[derive(Args)]
pub(super) struct ReachArguments {
    /// The percentage that is wanted.
    #[arg(long, value_name = "PERCENT", value_parser = parse_share, default_value = "10",
          allow_hyphen_values = true)]
    percent: f64,
    #[command(flatten)]
    asked: AskedInstrument,
    /// Phase of Z, degrees: 0 for a resistor, 90 for a coil.
    #[arg(long, value_name = "DEG", value_parser = angle, default_value = "0",
          allow_hyphen_values = true)]
    angle: f64,
    /// The analyzer's reference in ohms.
    #[arg(long, value_name = "OHM", value_parser = reference, default_value = "50",
          allow_hyphen_values = true)]
    reference: f64,
    /// Write JSON.
    #[arg(long)]
    json: bool,
}

impl ReachArguments {
    pub(super) fn run(&self, out: &mut dyn Write) -> Result<(), CommandError> {
        let z0 = ReferenceImpedance::new(self.reference)?;
        let instrument = self.asked.read(z0)?;
        let merits = Merits::of(&instrument.budget);
        let of = |fixture| {
            let angle_rad = self.angle.to_radians();
            merits.reach(fixture, self.percent, Coverage::P95, angle_rad)
        };
        let [reflect, shunt, series] = Fixture::ALL.map(of);
        let found = [reflect?, shunt?, series?];
        if self.json {
            self.write_json(&instrument, &found, out)
        } else {
            self.write_table(&instrument, &found, out)
        }
    }

    /// The half-width of a fixture's interval at its lower end, where a resistance in series
    /// counts most, Ω.
    fn half_width_ohm(&self, ranges: &[Reach]) -> Option<f64> {
        Some(self.percent * ranges.first()?.from_ohm)
    }

    fn write_json(
        &self,
        instrument: &Asked,
        found: &[Vec<Reach>; 3],
        out: &mut dyn Write,
    ) -> Result<(), CommandError> {
        let fixtures = Fixture::ALL
            .into_iter()
            .zip(found)
            .map(|(fixture, ranges)| {
                let omitted = self
                    .half_width_ohm(ranges)
                    .map(|within_ohm| omitted(&instrument.figures, fixture, within_ohm));
                FixtureReachJson {
                    fixture: fixture_key(fixture),
                    ranges: ranges.iter().map(RangeJson::from).collect(),
                    left_out: omitted.into_iter().flatten().map(Cause::name).collect(),
                }
            });
        let json = ReachJson {
            instrument: instrument.name.clone(),
            freq_hz: instrument.freq_hz,
            phase_deg: self.angle,
            reference_ohm: self.reference,
            relative_u95: self.percent,
            fixtures: fixtures.collect(),
        };
        write_json(&Document::new("reach", json).read(self.asked.files()), out)
    }

    fn write_table(
        &self,
        instrument: &Asked,
        found: &[Vec<Reach>; 3],
        out: &mut dyn Write,
    ) -> Result<(), CommandError> {
        let mut table = Table::new(["Fixture", "From", "To"]);
        let mut left_out = Vec::new();
        for (fixture, ranges) in Fixture::ALL.into_iter().zip(found) {
            let said = self
                .half_width_ohm(ranges)
                .and_then(|within_ohm| omitted_words(&instrument.figures, fixture, within_ohm));
            if let (Some(first), Some(said)) = (ranges.first(), said) {
                let end = engineering(first.from_ohm, "Ω", 3);
                left_out.push(format!("At its lower end, {end}, {said}."));
            }
            if ranges.is_empty() {
                table.row([fixture_title(fixture).into(), "never".into(), "–".into()]);
            }
            for &Reach { from_ohm, to_ohm } in ranges {
                table.row([
                    fixture_title(fixture).to_owned(),
                    engineering(from_ohm, "Ω", 3),
                    if to_ohm.is_finite() {
                        engineering(to_ohm, "Ω", 3)
                    } else {
                        "no end".to_owned()
                    },
                ]);
            }
        }
        writeln!(
            out,
            "Reach for {}\u{202f}% (value, 95\u{202f}%), {}, phase of Z {}°",
            fixed(100.0 * self.percent, 2),
            instrument.words,
            fixed(self.angle, 1)
        )?;
        table.write(out)?;
        for said in left_out {
            writeln!(out, "{said}")?;
        }
        Ok(())
    }
}

#[derive(Serialize)]
struct ReachJson {
    instrument: String,
    /// Where none was asked for, the first band of the instrument counts.
    freq_hz: Option<f64>,
    phase_deg: f64,
    reference_ohm: f64,
    /// Half the width of the 95 % interval that is wanted, as a share of |Z|.
    relative_u95: f64,
    fixtures: Vec<FixtureReachJson>,
}

#[derive(Serialize)]
struct FixtureReachJson {
    fixture: &'static str,
    ranges: Vec<RangeJson>,
    /// Causes of error that the budget leaves out and that would move the lower end.
    left_out: Vec<&'static str>,
}

#[derive(Serialize)]
struct RangeJson {
    from_ohm: f64,
    to_ohm: Option<f64>,
}

impl From<&Reach> for RangeJson {
    fn from(reach: &Reach) -> Self {
        Self {
            from_ohm: reach.from_ohm,
            to_ohm: reach.to_ohm.is_finite().then_some(reach.to_ohm),
        }
    }
}
