use std::io::Write;

use clap::Args;
use jigwise_physics::{Complex64, Fixture, ReferenceImpedance};
use serde::Serialize;

use super::asked::AskedInstrument;
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
    frequency_hz: Option<f64>,
    impedance: Option<Ohms>,
    u_r_ohm: f64,
    u_x_ohm: f64,
    correlation: f64,
    chi_square: f64,
    degrees_of_freedom: u32,
    p: f64,
    doubtful: bool,
    used: Vec<&'static str>,
    cautions: Vec<String>,
}

impl BlendArguments {
    pub(super) fn run(&self, out: &mut dyn Write) -> Result<(), CommandError> {
        let z0 = ReferenceImpedance::new(self.reference)?;
        let instrument = self.asked.read(z0)?;
        let blend = instrument
            .budget
            .blend([self.reflect, self.shunt_through, self.series_through])
            .map_err(CommandError::Blend)?;
        let used = Fixture::ALL
            .into_iter()
            .zip(blend.used)
            .filter(|(_, used)| *used)
            .map(|(fixture, _)| fixture_key(fixture))
            .collect();
        let json = BlendJson {
            instrument: instrument.name,
            frequency_hz: instrument.freq_hz,
            impedance: Immittance::from_impedance(blend.impedance_ohm)
                .ok()
                .and_then(Ohms::of),
            u_r_ohm: blend.covariance.re.sqrt(),
            u_x_ohm: blend.covariance.im.sqrt(),
            correlation: blend.covariance.correlation(),
            chi_square: blend.chi_square,
            degrees_of_freedom: blend.degrees_of_freedom,
            p: blend.p,
            doubtful: blend.is_doubtful,
            used,
            cautions: blend.cautions.map(standing_caution).to_vec(),
        };
        if self.json {
            serde_json::to_writer_pretty(&mut *out, &json)?;
            writeln!(out)?;
            return Ok(());
        }
        writeln!(
            out,
            "Blend of {} on the {}: {}, u(R) {}, u(X) {} (standard uncertainties, k = 1)",
            json.used.join(" and "),
            instrument.words,
            complex_ohm(blend.impedance_ohm, 5),
            engineering(json.u_r_ohm, "Ω", 3),
            engineering(json.u_x_ohm, "Ω", 3)
        )?;
        writeln!(
            out,
            "Agreement: χ² {} with {} degrees of freedom, p {}{}",
            fixed(json.chi_square, 2),
            json.degrees_of_freedom,
            fixed(json.p, 3),
            if json.doubtful {
                ": doubtful, look for a stray or a wrong fixture"
            } else {
                ""
            }
        )?;
        for caution in &json.cautions {
            writeln!(out, "{caution}")?;
        }
        Ok(())
    }
}
