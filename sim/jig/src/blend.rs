use std::io::Write;
use std::process::ExitCode;

use clap::Args;
use jigwise_physics::{BlendError, Complex64, Fixture, ReferenceImpedance};
use serde::Serialize;

use super::asked::{Asked, AskedInstrument};
use super::json::{AgreementJson, Document, Warning, write_json};
use super::{CommandError, Ohms, reference};
use jigwise_bench::words::{fixture_key, standing_caution};
use jigwise_bench::{Immittance, parse_reading};
use jigwise_quantity::{complex_ohm, engineering, fixed};

/// One estimate of a part from its readings in two or three fixtures, taken with one
/// calibration; refused where they contradict each other.
#[derive(Args)]
pub(super) struct BlendArguments {
    /// S11 across one port, as "0.98 - j0.01".
    #[arg(long, value_name = "S", value_parser = reading, allow_hyphen_values = true)]
    reflect: Option<Complex64>,
    /// S21 with the part from the line to ground.
    #[arg(long, value_name = "S", value_parser = reading, allow_hyphen_values = true)]
    shunt_through: Option<Complex64>,
    /// S21 with the part between the ports.
    #[arg(long, value_name = "S", value_parser = reading, allow_hyphen_values = true)]
    series_through: Option<Complex64>,
    #[command(flatten)]
    asked: AskedInstrument,
    /// The analyzer's reference in ohms.
    #[arg(long, value_name = "OHM", value_parser = reference, default_value = "50",
          allow_hyphen_values = true)]
    reference: f64,
    /// Write JSON.
    #[arg(long)]
    json: bool,
}

fn reading(text: &str) -> Result<Complex64, String> {
    parse_reading(text).map_err(|error| error.to_string())
}

#[derive(Serialize)]
struct BlendJson {
    instrument: String,
    /// Where none was asked for, the first band of the instrument counts.
    freq_hz: Option<f64>,
    impedance: Option<Ohms>,
    u_r_ohm: Option<f64>,
    u_x_ohm: Option<f64>,
    correlation: Option<f64>,
    agreement: AgreementJson,
    used: Vec<&'static str>,
    cautions: Vec<String>,
}

impl BlendArguments {
    pub(super) fn run(&self, out: &mut dyn Write) -> Result<ExitCode, CommandError> {
        let z0 = ReferenceImpedance::new(self.reference)?;
        let instrument = self.asked.read(z0)?;
        let readings = [self.reflect, self.shunt_through, self.series_through];
        let blend = match instrument.budget.blend(readings) {
            Ok(blend) => blend,
            Err(
                error @ BlendError::Contradiction {
                    chi_square,
                    degrees_of_freedom,
                    p,
                },
            ) => {
                let agreement = AgreementJson {
                    chi_square: Some(chi_square),
                    degrees_of_freedom: Some(degrees_of_freedom),
                    p,
                    doubtful: true,
                    contradiction: true,
                };
                return self.write_contradiction(instrument, &error, agreement, out);
            }
            Err(error) => return Err(CommandError::Blend(error)),
        };
        let used = Fixture::ALL
            .into_iter()
            .zip(blend.used)
            .filter(|(_, used)| *used)
            .map(|(fixture, _)| fixture_key(fixture))
            .collect();
        let (u_r_ohm, u_x_ohm) = (blend.covariance.re.sqrt(), blend.covariance.im.sqrt());
        let json = BlendJson {
            instrument: instrument.name,
            freq_hz: instrument.freq_hz,
            impedance: Immittance::from_impedance(blend.impedance_ohm)
                .ok()
                .and_then(Ohms::of),
            u_r_ohm: Some(u_r_ohm),
            u_x_ohm: Some(u_x_ohm),
            correlation: Some(blend.covariance.correlation()),
            agreement: AgreementJson {
                chi_square: Some(blend.chi_square),
                degrees_of_freedom: Some(blend.degrees_of_freedom),
                p: blend.p,
                doubtful: blend.is_doubtful,
                contradiction: false,
            },
            used,
            cautions: blend.cautions.map(standing_caution).to_vec(),
        };
        if self.json {
            write_json(&Document::new("blend", json).read(self.asked.files()), out)?;
            return Ok(ExitCode::SUCCESS);
        }
        writeln!(
            out,
            "Blend of {} on the {}: {}, u(R) {}, u(X) {} (standard uncertainties, k = 1)",
            json.used.join(" and "),
            instrument.words,
            complex_ohm(blend.impedance_ohm, 5),
            engineering(u_r_ohm, "Ω", 3),
            engineering(u_x_ohm, "Ω", 3)
        )?;
        writeln!(
            out,
            "Agreement: χ² {} with {} degrees of freedom, p {}{}",
            fixed(blend.chi_square, 2),
            blend.degrees_of_freedom,
            fixed(blend.p, 3),
            if blend.is_doubtful {
                ": doubtful, look for a stray or a wrong fixture"
            } else {
                ""
            }
        )?;
        for caution in &json.cautions {
            writeln!(out, "{caution}")?;
        }
        Ok(ExitCode::SUCCESS)
    }

    /// The answer is that there is no blend.
    fn write_contradiction(
        &self,
        instrument: Asked,
        error: &BlendError,
        agreement: AgreementJson,
        out: &mut dyn Write,
    ) -> Result<ExitCode, CommandError> {
        if self.json {
            let given = [self.reflect, self.shunt_through, self.series_through];
            let used = Fixture::ALL.into_iter().zip(given);
            let json = BlendJson {
                instrument: instrument.name,
                freq_hz: instrument.freq_hz,
                impedance: None,
                u_r_ohm: None,
                u_x_ohm: None,
                correlation: None,
                agreement,
                used: used
                    .filter(|(_, given)| given.is_some())
                    .map(|(fixture, _)| fixture_key(fixture))
                    .collect(),
                cautions: Vec::new(),
            };
            let warning = Warning {
                file: None,
                text: error.to_string(),
            };
            let document = Document::new("blend", json)
                .read(self.asked.files())
                .warned(vec![warning]);
            write_json(&document, out)?;
        } else {
            writeln!(out, "No blend on the {}: {error}", instrument.words)?;
        }
        Ok(ExitCode::FAILURE)
    }
}
