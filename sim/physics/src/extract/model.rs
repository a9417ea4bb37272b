//! What can be fitted, and the fit with all its refusals.

use std::f64::consts::TAU;

use nalgebra::DMatrix;
use num_complex::Complex64;

use super::extracted::{Extracted, Quantity, Refused};
use super::fit::{Problem, Solution};
use super::sweep::Selection;
use super::{ExtractError, ImpedanceSweep};
use crate::blend::REFUSED_P;
use crate::{
    Capacitor, Choke, Crystal, Inductor, LineEnd, ParallelRlc, Resistor, SeriesRlc, SkinLoss, Stub,
};

/// Points needed inside the width of a resonance.
pub const LEAST_IN_WIDTH: usize = 5;

/// The circuits that can be fitted to a sweep; the equations stand with the parts of the same
/// names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Model {
    /// R, C across it, L in series. Where only L − R²C is told, the smaller of the two is left
    /// out and the other stands for both.
    Resistor,
    /// C, ESR, ESL; leakage is far below what a sweep at radio frequency tells.
    Capacitor,
    /// L, series R, C across the winding.
    Inductor,
    /// The same with a resistance that grows as √f.
    InductorWithSkin,
    /// R, L, C in series.
    SeriesRlc,
    /// R, L, C in parallel.
    ParallelRlc,
    /// R1, L1, C1 with C0 across.
    Crystal,
    /// L0 on a core with one relaxation, C across the winding, series R.
    Choke,
    /// Zc, delay and loss of a line.
    Stub(LineEnd),
}

impl Model {
    pub(super) fn noun(self) -> &'static str {
        match self {
            Self::Resistor => "a resistor with its parasitics",
            Self::Capacitor => "a capacitor with ESR and ESL",
            Self::Inductor => "a coil with its winding capacitance",
            Self::InductorWithSkin => "a coil with skin loss and winding capacitance",
            Self::SeriesRlc => "R, L and C in series",
            Self::ParallelRlc => "R, L and C in parallel",
            Self::Crystal => "a crystal",
            Self::Choke => "a choke on a lossy core",
            Self::Stub(LineEnd::Open) => "a line with an open end",
            Self::Stub(LineEnd::Short) => "a line with a shorted end",
        }
    }
}

/// Most values of a form.
pub(super) const MOST: usize = 4;

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
    fn quantities(self) -> &'static [Quantity] {
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
    fn is_optional(self, quantity: Quantity) -> bool {
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

    pub(super) fn impedance_ohm(self, v: &[f64; MOST], hz: f64) -> Complex64 {
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
            Self::Inductor => Inductor {
                inductance_h: v[0],
                series_resistance_ohm: v[1],
                parallel_capacitance_f: v[2],
                skin: None,
            }
            .impedance_ohm(omega),
            Self::InductorWithSkin { at_hz } => Inductor {
                inductance_h: v[0],
                series_resistance_ohm: v[1],
                parallel_capacitance_f: v[2],
                skin: Some(SkinLoss {
                    resistance_ohm: v[3],
                    at_hz,
                }),
            }
            .impedance_ohm(omega),
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
    fn derived(self, v: &[f64; MOST]) -> Vec<(Quantity, f64, Option<Quantity>)> {
        use Quantity as Q;
        let resonance = |l: f64, c: f64| crate::part::resonance_hz(l, c);
        match self {
            Self::Resistor | Self::ResistorWithC | Self::ResistorWithL | Self::Stub { .. } => {
                Vec::new()
            }
            Self::Capacitor => vec![(Q::SelfResonance, resonance(v[2], v[0]), Some(Q::Esl))],
            Self::Inductor | Self::InductorWithSkin { .. } | Self::Choke => {
                let across = Some(Q::WindingCapacitance);
                vec![(Q::SelfResonance, resonance(v[0], v[2]), across)]
            }
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

fn series_rlc(v: &[f64; MOST]) -> SeriesRlc {
    SeriesRlc {
        resistance_ohm: v[2],
        inductance_h: v[1],
        capacitance_f: partner(v[0], v[1]),
    }
}

fn parallel_rlc(v: &[f64; MOST]) -> ParallelRlc {
    ParallelRlc {
        resistance_ohm: v[2],
        inductance_h: partner(v[0], v[1]),
        capacitance_f: v[1],
    }
}

fn crystal(v: &[f64; MOST]) -> Crystal {
    Crystal {
        series_resonance_hz: v[0],
        motional_resistance_ohm: v[1],
        motional_capacitance_f: v[2],
        parallel_capacitance_f: v[3],
    }
}

fn choke(v: &[f64; MOST]) -> Choke {
    Choke {
        inductance_h: v[0],
        relaxation_hz: v[1],
        winding_capacitance_f: v[2],
        series_resistance_ohm: v[3],
    }
}

/// True unless both are misfits and the other has the smaller χ².
fn is_nearer(
    found: &Result<Extracted, ExtractError>,
    other: &Result<Extracted, ExtractError>,
) -> bool {
    match (found, other) {
        (
            Err(ExtractError::Misfit { chi_square: a, .. }),
            Err(ExtractError::Misfit { chi_square: b, .. }),
        ) => a < b,
        (_, Err(ExtractError::Misfit { .. })) => false,
        _ => true,
    }
}

impl ImpedanceSweep<'_> {
    /// Fits `model` to the whole sweep; start values come from the sweep itself. Points with a
    /// |Z| so large that it is within 6σ of an open's are left out, and counted in
    /// [`Extracted::left_out`]. Uncertainties are propagated to first order: where a systematic
    /// component moves |Z| by much, its square is missing from them.
    ///
    /// # Errors
    /// [`ExtractError`]: too few points, another kind of part, no resonance where the model has
    /// one, too few points in its width, a main value that the sweep doesn't tell within half of
    /// itself, a clearly negative resistance, no fit, or a misfit with p < 0.001. A parasitic
    /// that isn't seen is refused by itself, among [`Extracted::refused`].
    pub fn fit(&self, model: Model) -> Result<Extracted, ExtractError> {
        let usable = Selection::of_usable(self);
        let sweep = usable.sweep();
        let mut found = sweep.fit_all(model)?;
        found.left_out = self.points() - sweep.points();
        Ok(found)
    }

    fn fit_all(&self, model: Model) -> Result<Extracted, ExtractError> {
        // One point more than there are values leaves the fit something to be judged by.
        let needed = MOST + 1;
        if self.points() < needed {
            return Err(ExtractError::TooFewPoints {
                found: self.points(),
                needed,
            });
        }
        let mut best = Err(ExtractError::NoFit { model });
        for (form, coordinates) in self.start(model)? {
            let problem = Problem::new(self, form, coordinates);
            let Some(solution) = problem.solve() else {
                continue;
            };
            let found = self.judged(model, form, &problem, &solution);
            // The complete resistor only where both parasitics are told apart.
            let is_last_word = match &found {
                Ok(found) => form != Form::Resistor || found.refused.is_empty(),
                Err(_) => false,
            };
            if found.is_ok() || (best.is_err() && is_nearer(&found, &best)) {
                best = found;
            }
            if is_last_word {
                break;
            }
        }
        best
    }

    fn judged(
        &self,
        model: Model,
        form: Form,
        problem: &Problem,
        solution: &Solution,
    ) -> Result<Extracted, ExtractError> {
        let goodness = solution.goodness;
        if let Some(p) = goodness.p
            && p < REFUSED_P
        {
            return Err(ExtractError::Misfit {
                model,
                chi_square: goodness.chi_square,
                degrees_of_freedom: goodness.degrees_of_freedom,
                p,
                worst_hz: goodness.worst_hz,
                worst_in_sigma: goodness.worst_in_sigma,
            });
        }
        let mut v = [0.0; MOST];
        v[..solution.values.len()].copy_from_slice(&solution.values);
        let quantities = form.quantities();
        let own = quantities.iter().copied().zip(v);
        let derived = form.derived(&v);
        let named: Vec<(Quantity, f64)> = own
            .chain(
                derived
                    .iter()
                    .map(|&(quantity, value, _)| (quantity, value)),
            )
            .collect();
        let slopes = self.slopes(form, problem, solution, named.len());
        let covariance = &slopes * &solution.covariance * slopes.transpose();
        let mut refused = Vec::new();
        for (k, &(quantity, value)) in named[..quantities.len()].iter().enumerate() {
            let u = covariance[(k, k)].sqrt();
            if value < -3.0 * u && quantity.is_resistance() {
                return Err(ExtractError::NegativeResistance {
                    quantity,
                    value_ohm: value,
                    u_ohm: u,
                });
            }
            let is_told = value > 0.0 && u < 0.5 * value;
            if is_told {
                continue;
            }
            if !form.is_optional(quantity) {
                return Err(ExtractError::NotTold {
                    quantity,
                    relative_u: u / value.abs(),
                    span_hz: self.span_hz(),
                });
            }
            refused.push(Refused {
                quantity,
                why: self.unseen(form, quantity, value, u, &v),
            });
        }
        for &(quantity, _, needs) in &derived {
            let lost = refused.iter().find(|r| Some(r.quantity) == needs);
            if let Some(why) = lost.map(|lost| lost.why.clone()) {
                refused.push(Refused { quantity, why });
            }
        }
        self.check_width(form, &v)?;
        Ok(Extracted::new(&named, &covariance, refused, Some(goodness)))
    }

    /// Derivatives of all values by the coordinates of the search.
    fn slopes(
        &self,
        form: Form,
        problem: &Problem,
        solution: &Solution,
        rows: usize,
    ) -> DMatrix<f64> {
        let p = solution.values.len();
        let mut slopes = DMatrix::zeros(rows, p);
        for k in 0..p {
            let step = problem.step(k);
            let [low, high] = [-step, step].map(|by| problem.values_near(&solution.theta, k, by));
            slopes[(k, k)] = (high[k] - low[k]) / (2.0 * step);
            let pairs = form.derived(&low).into_iter().zip(form.derived(&high));
            for (row, (low, high)) in (p..rows).zip(pairs) {
                slopes[(row, k)] = (high.1 - low.1) / (2.0 * step);
            }
        }
        slopes
    }

    /// Why an optional value is not given.
    fn unseen(
        &self,
        form: Form,
        quantity: Quantity,
        value: f64,
        u: f64,
        v: &[f64; MOST],
    ) -> ExtractError {
        let is_of_loss = matches!(form, Form::Capacitor | Form::Inductor | Form::SeriesRlc)
            && quantity.is_resistance();
        if !is_of_loss {
            return ExtractError::NotSeen {
                quantity,
                below: value.max(0.0) + 1.645 * u,
            };
        }
        // Q and what the phase can tell, where the loss is smallest against the reactance.
        let x = match form {
            Form::Capacitor => 1.0 / (TAU * self.span_hz().0 * v[0]),
            Form::Inductor => TAU * self.span_hz().1 * v[0],
            _ => TAU * v[0] * v[1],
        };
        ExtractError::QBeyondPhase {
            q: x / value,
            limit: 0.5 * x / u,
        }
    }

    fn check_width(&self, form: Form, v: &[f64; MOST]) -> Result<(), ExtractError> {
        let width_hz = match form {
            Form::SeriesRlc => series_rlc(v).width_hz().max(0.0),
            Form::ParallelRlc => parallel_rlc(v).width_hz(),
            Form::Crystal => crystal(v).width_hz(0.0),
            _ => return Ok(()),
        };
        self.enough_in_width(v[0], width_hz)
    }

    pub(super) fn enough_in_width(
        &self,
        centre_hz: f64,
        width_hz: f64,
    ) -> Result<(), ExtractError> {
        let inside = |hz: &&f64| (**hz - centre_hz).abs() <= 0.5 * width_hz;
        let found = self.freq_hz().iter().filter(inside).count();
        if found >= LEAST_IN_WIDTH {
            return Ok(());
        }
        let near = self.nearest(centre_hz).clamp(1, self.points() - 1);
        Err(ExtractError::FewInWidth {
            found,
            needed: LEAST_IN_WIDTH,
            width_hz,
            step_hz: self.freq_hz()[near] - self.freq_hz()[near - 1],
        })
    }
}
