//! A model with its choice of values, and how the search moves them.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::Quantity;
use crate::{
    Capacitor, Choke, Crystal, Inductor, LineEnd, ParallelRlc, Resistor, SeriesRlc, SkinLoss, Stub,
};

/// Most values of a form.
pub(super) const MAX_VALUES: usize = 4;

/// A model with its choice of values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Form {
    Resistor,
    ResistorWithC,
    ResistorWithL,
    Capacitor,
    Inductor,
    InductorWithSkin { at_hz: f64 },
    SeriesRlc,
    ParallelRlc,
    Crystal,
    Choke,
    Stub { end: LineEnd, at_hz: f64 },
}

/// How the search moves a value.
#[derive(Debug, Clone, Copy)]
pub(super) enum Coordinate {
    /// value = start·e^θ: stays above zero.
    Log { start: f64 },
    /// value = start + scale·θ: may come out at zero or below, as noise wants it.
    Linear { start: f64, scale: f64 },
}

impl Coordinate {
    pub(super) fn value(self, theta: f64) -> f64 {
        match self {
            Self::Log { start } => start * theta.exp(),
            Self::Linear { start, scale } => start + scale * theta,
        }
    }

    /// A logarithm moves by a factor of e at most in one step.
    pub(super) fn bounded(self, step: f64) -> f64 {
        match self {
            Self::Log { .. } => step.clamp(-1.0, 1.0),
            Self::Linear { .. } => step,
        }
    }

    /// Step of the derivatives by differences.
    pub(super) fn step(self) -> f64 {
        match self {
            Self::Log { .. } => 1e-6,
            Self::Linear { .. } => 1e-4,
        }
    }
}

impl Form {
    /// The independent values, in order.
    pub(super) fn quantities(self) -> &'static [Quantity] {
        use Quantity as Q;
        match self {
            Self::Resistor => &[Q::Resistance, Q::WindingCapacitance, Q::Inductance],
            Self::ResistorWithC => &[Q::Resistance, Q::WindingCapacitance],
            Self::ResistorWithL => &[Q::Resistance, Q::Inductance],
            Self::Capacitor => &[Q::Capacitance, Q::Esr, Q::Esl],
            Self::Inductor => &[Q::Inductance, Q::Resistance, Q::WindingCapacitance],
            Self::InductorWithSkin { .. } => &[
                Q::Inductance,
                Q::Resistance,
                Q::WindingCapacitance,
                Q::SkinResistance,
            ],
            Self::SeriesRlc => &[Q::SeriesResonance, Q::Inductance, Q::Resistance],
            Self::ParallelRlc => &[Q::ParallelResonance, Q::Capacitance, Q::Resistance],
            Self::Crystal => &[
                Q::SeriesResonance,
                Q::MotionalResistance,
                Q::MotionalCapacitance,
                Q::HolderCapacitance,
            ],
            Self::Choke => &[
                Q::LowFrequencyInductance,
                Q::Relaxation,
                Q::WindingCapacitance,
                Q::Resistance,
            ],
            Self::Stub { .. } => &[Q::CharacteristicImpedance, Q::Delay, Q::Loss],
        }
    }

    /// True for a value that a real part may have too little of to be seen.
    pub(super) fn is_optional(self, quantity: Quantity) -> bool {
        use Quantity as Q;
        match self {
            Self::Resistor | Self::ResistorWithC | Self::ResistorWithL => quantity != Q::Resistance,
            Self::Capacitor => quantity != Q::Capacitance,
            Self::Inductor | Self::InductorWithSkin { .. } => quantity != Q::Inductance,
            Self::SeriesRlc => quantity == Q::Resistance,
            Self::ParallelRlc => false,
            Self::Crystal => quantity == Q::HolderCapacitance,
            Self::Choke => matches!(quantity, Q::WindingCapacitance | Q::Resistance),
            Self::Stub { .. } => quantity == Q::Loss,
        }
    }

    pub(super) fn impedance_ohm(self, v: &[f64; MAX_VALUES], hz: f64) -> Complex64 {
        let omega = TAU * hz;
        match self {
            Self::Resistor => resistor(v[0], v[1], v[2]).impedance_ohm(omega),
            Self::ResistorWithC => resistor(v[0], v[1], 0.0).impedance_ohm(omega),
            Self::ResistorWithL => resistor(v[0], 0.0, v[1]).impedance_ohm(omega),
            Self::Capacitor => Capacitor {
                capacitance_f: v[0],
                esr_ohm: v[1],
                esl_h: v[2],
                leakage_ohm: None,
            }
            .impedance_ohm(omega),
            Self::Inductor => coil(v, None).impedance_ohm(omega),
            Self::InductorWithSkin { at_hz } => coil(v, Some(at_hz)).impedance_ohm(omega),
            Self::SeriesRlc => series_rlc(v).impedance_ohm(omega),
            Self::ParallelRlc => parallel_rlc(v).admittance_s(omega).inv(),
            Self::Crystal => crystal(v).admittance_s(TAU * (hz - v[0])).inv(),
            Self::Choke => choke(v).impedance_ohm(omega),
            Self::Stub { end, at_hz } => Stub {
                zc_ohm: v[0],
                delay_s: v[1],
                loss_np: v[2],
                loss_at_hz: at_hz,
                end,
            }
            .input(omega)
            .ok()
            .and_then(|input| input.impedance())
            .unwrap_or(Complex64::new(f64::INFINITY, 0.0)),
        }
    }

    /// Derived values, each with the optional value it falls with.
    pub(super) fn derived(self, v: &[f64; MAX_VALUES]) -> Vec<(Quantity, f64, Option<Quantity>)> {
        use Quantity as Q;
        let resonance = |l: f64, c: f64| crate::part::resonance_hz(l, c);
        match self {
            Self::Resistor | Self::ResistorWithC | Self::ResistorWithL | Self::Stub { .. } => {
                Vec::new()
            }
            Self::Capacitor => vec![(Q::SelfResonance, resonance(v[2], v[0]), Some(Q::Esl))],
            // The core's loss lies across L0 and C, so X crosses zero where it would without.
            Self::Choke => {
                let across = Some(Q::WindingCapacitance);
                vec![(Q::SelfResonance, resonance(v[0], v[2]), across)]
            }
            Self::Inductor => coil_resonances(&coil(v, None)),
            Self::InductorWithSkin { at_hz } => coil_resonances(&coil(v, Some(at_hz))),
            Self::SeriesRlc => {
                let part = series_rlc(v);
                vec![
                    (Q::Capacitance, part.capacitance_f, None),
                    (Q::Q, part.q(), Some(Q::Resistance)),
                    (Q::Width, part.width_hz(), Some(Q::Resistance)),
                ]
            }
            Self::ParallelRlc => {
                let part = parallel_rlc(v);
                vec![
                    (Q::Inductance, part.inductance_h, None),
                    (Q::Q, part.q(), None),
                    (Q::Width, part.width_hz(), None),
                ]
            }
            Self::Crystal => {
                let part = crystal(v);
                let holder = Some(Q::HolderCapacitance);
                let mut derived = vec![
                    (Q::MotionalInductance, part.motional_inductance_h(), None),
                    (Q::Q, part.q(), None),
                    (Q::Width, part.width_hz(0.0), None),
                    (Q::ParallelResonance, part.parallel_resonance_hz(), holder),
                ];
                if let Some(zero) = part.phase_frequencies() {
                    let hz = part.series_resonance_hz + zero.resonance_offset_hz;
                    derived.push((Q::ZeroPhase, hz, holder));
                }
                derived
            }
        }
    }
}

/// Where X crosses zero, not a number where it never does, and 1/(2π√(LC)).
fn coil_resonances(coil: &Inductor) -> Vec<(Quantity, f64, Option<Quantity>)> {
    let across = Some(Quantity::WindingCapacitance);
    [
        (Quantity::SelfResonance, coil.reactance_zero_hz()),
        (Quantity::LcResonance, coil.self_resonance_hz()),
    ]
    .map(|(quantity, hz)| (quantity, hz.unwrap_or(f64::NAN), across))
    .to_vec()
}

fn coil(v: &[f64; MAX_VALUES], skin_at_hz: Option<f64>) -> Inductor {
    Inductor {
        inductance_h: v[0],
        series_resistance_ohm: v[1],
        parallel_capacitance_f: v[2],
        skin: skin_at_hz.map(|at_hz| SkinLoss {
            resistance_ohm: v[3],
            at_hz,
        }),
    }
}

fn resistor(r: f64, c: f64, l: f64) -> Resistor {
    Resistor {
        resistance_ohm: r,
        parallel_capacitance_f: c,
        series_inductance_h: l,
    }
}

/// 1/(ω0²·b): the other reactance of a resonance.
fn partner(hz: f64, b: f64) -> f64 {
    1.0 / ((TAU * hz).powi(2) * b)
}

pub(super) fn series_rlc(v: &[f64; MAX_VALUES]) -> SeriesRlc {
    SeriesRlc {
        resistance_ohm: v[2],
        inductance_h: v[1],
        capacitance_f: partner(v[0], v[1]),
    }
}

fn parallel_rlc(v: &[f64; MAX_VALUES]) -> ParallelRlc {
    ParallelRlc {
        resistance_ohm: v[2],
        inductance_h: partner(v[0], v[1]),
        capacitance_f: v[1],
    }
}

pub(super) fn crystal(v: &[f64; MAX_VALUES]) -> Crystal {
    Crystal {
        series_resonance_hz: v[0],
        motional_resistance_ohm: v[1],
        motional_capacitance_f: v[2],
        parallel_capacitance_f: v[3],
    }
}

fn choke(v: &[f64; MAX_VALUES]) -> Choke {
    Choke {
        inductance_h: v[0],
        relaxation_hz: v[1],
        winding_capacitance_f: v[2],
        series_resistance_ohm: v[3],
    }
}
