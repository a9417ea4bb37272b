//! `apparent SCENARIO`: what the reactance of a capacitor or coil says of its value, from far
//! below its self-resonance to above.

use jigwise_bench::quotes::seems_larger_at;
use jigwise_bench::{Device, Equivalents, Part, Scenario, engineering, fixed, percent};
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::markup::{row, table};
use crate::words::{NONE, part, title};

/// Shares of the value by which it seems larger than it is, in the first rows.
const SEEMS_LARGER: [f64; 2] = [0.01, 0.1];
/// Shares of the resonance in the rows after those.
const BEYOND: [f64; 4] = [0.5, 0.9, 1.1, 2.0];

/// A capacitor or coil with a resonance of its own.
struct Resonant {
    scenario: Scenario,
    resonance_hz: f64,
    /// Farads or henries.
    value: f64,
    is_capacitor: bool,
}

impl Resonant {
    fn of(scenario: Scenario) -> Option<Self> {
        let (resonance_hz, value, is_capacitor) = match scenario.device {
            Device::Part(Part::Capacitor(part)) => {
                (part.self_resonance_hz(), part.capacitance_f, true)
            }
            Device::Part(Part::Inductor(part)) => {
                (part.self_resonance_hz(), part.inductance_h, false)
            }
            _ => return None,
        };
        Some(Self {
            resonance_hz: resonance_hz?,
            scenario,
            value,
            is_capacitor,
        })
    }

    /// What the part reads as, how far that is off, and what one resonance without loss says.
    fn cells(&self, seen: &Equivalents, share: f64) -> Option<[String; 3]> {
        let (coil, capacitor) = (seen.series_inductance_h(), seen.series_capacitance_f());
        let (own, unit) = if self.is_capacitor {
            (capacitor, "F")
        } else {
            (coil, "H")
        };
        if let Some(own) = own {
            return Some([
                engineering(own, unit, 4),
                percent(own / self.value - 1.0),
                percent(1.0 / (1.0 - share * share) - 1.0),
            ]);
        }
        let other = if self.is_capacitor {
            format!("a coil of {}", engineering(coil?, "H", 3))
        } else {
            format!("a capacitor of {}", engineering(capacitor?, "F", 3))
        };
        Some([other, NONE.to_owned(), NONE.to_owned()])
    }
}

pub(crate) fn apparent(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [name] = block.words[..] else {
        return Err(block.error("expected apparent SCENARIO, as in apparent bypass-capacitor"));
    };
    let none = || {
        block.error(format!(
            "scenario \"{name}\" is no capacitor or coil with a self-resonance; choose another"
        ))
    };
    let resonant = Resonant::of(block.scenario(name)?).ok_or_else(none)?;
    let Resonant {
        scenario,
        resonance_hz,
        ..
    } = &resonant;
    let mut rows = Vec::new();
    let shares = SEEMS_LARGER.map(seems_larger_at).into_iter().chain(BEYOND);
    for share in shares {
        let hz = share * resonance_hz;
        let device = scenario
            .device
            .immittance(Some(hz))
            .map_err(|error| block.error(error))?;
        let z = device.impedance().ok_or_else(none)?;
        let seen = Equivalents::new(device, hz).map_err(|error| block.error(error))?;
        let [reads_as, off, law] = resonant.cells(&seen, share).ok_or_else(none)?;
        rows.push(row(
            &format!("{}, {}", fixed(share, 4), engineering(hz, "Hz", 4)),
            &[engineering(z.norm(), "Ω", 3), reads_as, off, law],
        ));
    }
    Ok(table(
        &format!(
            "{}, {}, self-resonant at {}",
            title(scenario),
            part(&scenario.device),
            engineering(*resonance_hz, "Hz", 3)
        ),
        &[
            "Share of the self-resonance",
            "|Z|",
            "Reads as",
            "Off by",
            "1/(1 − (f/f0)²) says",
        ],
        &rows,
    ))
}
