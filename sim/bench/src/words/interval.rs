//! The interval of |Z| in words.

use jigwise_physics::{FixtureAppraisal, Immittance, Trust};
use jigwise_quantity::{complex_ohm, engineering, plus_minus, range};

use crate::ModulusInterval;
use crate::readout::Readout;

/// An interval of |Z|, its ends rounded to what is known.
///
/// ```
/// use jigwise_bench::ModulusInterval;
/// use jigwise_bench::words::modulus_interval;
///
/// let words = |low_ohm, high_ohm| modulus_interval(&ModulusInterval { low_ohm, high_ohm });
/// assert_eq!(words(4_372.0, 5_081.0), "4.4 to 5.1\u{202f}kΩ");
/// assert_eq!(words(1.24e6, f64::INFINITY), "above 1.2\u{202f}MΩ");
/// assert_eq!(words(0.0, 3.14), "below 3.1\u{202f}Ω");
/// assert_eq!(words(0.0, f64::INFINITY), "anything");
/// ```
pub fn modulus_interval(interval: &ModulusInterval) -> String {
    let ModulusInterval { low_ohm, high_ohm } = *interval;
    match (low_ohm > 0.0, high_ohm.is_finite()) {
        (true, true) => range(low_ohm, high_ohm, "Ω"),
        (true, false) => format!("above {}", engineering(low_ohm, "Ω", 2)),
        (false, true) => format!("below {}", engineering(high_ohm, "Ω", 2)),
        (false, false) => "anything".to_owned(),
    }
}

/// |Z| as a fixture knows it: with ± where the linear uncertainty holds and the interval lies about
/// evenly round the part, else the interval itself. `None` where there is none of both.
pub fn known_modulus(
    readout: &Readout,
    seen: &FixtureAppraisal,
    interval: Option<&ModulusInterval>,
) -> Option<String> {
    let interval = interval?;
    // Of the width: as far as the middle may lie beside the part for one figure behind ±.
    const MAX_BESIDE: f64 = 0.1;
    let ohm = readout.device.impedance().map(|z| z.norm());
    let ModulusInterval { low_ohm, high_ohm } = *interval;
    let width = high_ohm - low_ohm;
    let is_even = |ohm: f64| {
        let beside = (0.5 * (low_ohm + high_ohm) - ohm).abs();
        width.is_finite() && beside < MAX_BESIDE * width
    };
    Some(match ohm {
        Some(ohm) if seen.trust == Trust::Linear && is_even(ohm) => {
            plus_minus(ohm, 0.5 * width, "Ω")
        }
        _ => modulus_interval(interval),
    })
}

/// |Z| that came out of one reading, in ohms, rounded to a part of the interval in which such
/// readings lie.
///
/// ```
/// use jigwise_bench::ModulusInterval;
/// use jigwise_bench::words::came_out;
///
/// let interval = ModulusInterval { low_ohm: 4_372.0, high_ohm: 5_081.0 };
/// assert_eq!(came_out(4_813.7, Some(&interval)), "4.81\u{202f}kΩ");
/// assert_eq!(came_out(f64::INFINITY, Some(&interval)), "open");
/// ```
pub fn came_out(ohm: f64, interval: Option<&ModulusInterval>) -> String {
    if !ohm.is_finite() {
        return "open".to_owned();
    }
    engineering(ohm, "Ω", digits_known(ohm, interval))
}

/// R + jX of one reading, rounded as |Z| is in [`came_out`].
///
/// ```
/// use jigwise_bench::words::came_out_complex;
/// use jigwise_bench::{Complex64, Immittance, ModulusInterval};
///
/// let interval = ModulusInterval { low_ohm: 4_372.0, high_ohm: 5_081.0 };
/// let device = Immittance::from_impedance(Complex64::new(4_813.7, -21.93))?;
/// assert_eq!(came_out_complex(device, Some(&interval)), "4.81 − j0.02\u{202f}kΩ");
/// assert_eq!(came_out_complex(Immittance::OPEN, None), "open");
/// # Ok::<(), jigwise_bench::NumberError>(())
/// ```
pub fn came_out_complex(device: Immittance, interval: Option<&ModulusInterval>) -> String {
    device.impedance().map_or("open".to_owned(), |z| {
        complex_ohm(z, digits_known(z.norm(), interval))
    })
}

/// Significant digits of which the last is a part of the interval's half width.
fn digits_known(ohm: f64, interval: Option<&ModulusInterval>) -> usize {
    const USUAL_DIGITS: usize = 3;
    let half_width = interval.map(|known| 0.5 * (known.high_ohm - known.low_ohm));
    half_width
        .filter(|half_width| half_width.is_finite() && *half_width > 0.0)
        .map(|half_width| (ohm / half_width).log10().ceil() + 1.0)
        .map_or(USUAL_DIGITS, |digits| digits.clamp(2.0, 8.0) as usize)
}
