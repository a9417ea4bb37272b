//! Where the search starts, from the sweep alone.
//!
//! For L and C without much loss X = ωL − 1/(ωC) in series and B = ωC − 1/(ωL) in parallel are
//! linear in the values sought, so a weighted straight fit finds them.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::crystal_start::crystal_start;
use super::curve::{Curve, Start, linear, linear_at, log};
use super::form::Form;
use super::stub_start::stub_start;
use super::{ExtractError, ImpedanceSweep, Model, Reactive};

/// √(L/C) of common resistors, above which their capacitance outweighs their leads, Ω. Common
/// practice, no source.
const COMPENSATED_OHM: f64 = 100.0;

impl ImpedanceSweep<'_> {
    /// The forms to try in order, each with its start.
    pub(super) fn start(&self, model: Model) -> Result<Vec<Start>, ExtractError> {
        let no_fit = ExtractError::NoFit { model };
        match model {
            Model::Resistor => self.resistor_start().ok_or(no_fit),
            Model::Capacitor => {
                self.expect_kind(model, Reactive::Capacitive)?;
                let curve = Curve::impedance(self);
                let (esl, stiffness) = curve.reactive().ok_or(no_fit.clone())?;
                let c = self.least_positive(1.0 / stiffness, Reactive::Capacitive);
                let top = self.top_omega();
                let esr = linear(curve.real_mean(), 1e-3 / (top * c));
                let esl = linear(esl, 1e-2 / (top * top * c));
                Ok(vec![(Form::Capacitor, vec![log(c), esr, esl])])
            }
            Model::Inductor | Model::InductorWithSkin => self.coil_start(model).ok_or(no_fit)?,
            Model::SeriesRlc => self.series_start(model),
            Model::ParallelRlc => self.parallel_start(model),
            Model::Crystal => crystal_start(self),
            Model::Choke => self.choke_start().ok_or(no_fit)?,
            Model::Stub(end) => {
                let found = stub_start(self, end)?;
                Ok(vec![(
                    Form::Stub {
                        end,
                        at_hz: self.span_hz().1,
                    },
                    vec![
                        log(found.zc_ohm),
                        log(found.delay_s),
                        linear(found.loss_np, 1e-3),
                    ],
                )])
            }
        }
    }

    fn series_start(&self, model: Model) -> Result<Vec<Start>, ExtractError> {
        let centre = self.expect_resonance(model, Reactive::Capacitive)?;
        let (l, _) = Curve::impedance(self)
            .reactive()
            .ok_or(ExtractError::NoFit { model })?;
        let l = self.least_positive(l, Reactive::Inductive);
        let r = self.nearest_real(centre, false);
        let width = r / (TAU * l);
        Ok(vec![(
            Form::SeriesRlc,
            vec![
                linear_at(centre, width.max(1e-9 * centre)),
                log(l),
                linear(r, 1e-6 * TAU * centre * l),
            ],
        )])
    }

    fn parallel_start(&self, model: Model) -> Result<Vec<Start>, ExtractError> {
        let centre = self.expect_resonance(model, Reactive::Inductive)?;
        let no_fit = ExtractError::NoFit { model };
        let Some((c, _)) = Curve::admittance(self).reactive() else {
            return Err(no_fit);
        };
        if c <= 0.0 {
            return Err(no_fit);
        }
        let r = self.nearest_real(centre, true);
        let width = 1.0 / (TAU * r * c);
        Ok(vec![(
            Form::ParallelRlc,
            vec![linear_at(centre, width.max(1e-9 * centre)), log(c), log(r)],
        )])
    }

    fn top_omega(&self) -> f64 {
        TAU * self.span_hz().1
    }

    /// `value`, or where the straight fit gave none above zero, the apparent one of the first
    /// point.
    fn least_positive(&self, value: f64, kind: Reactive) -> f64 {
        if value > 0.0 && value.is_finite() {
            return value;
        }
        let (omega, x) = (TAU * self.freq_hz()[0], self.z_ohm()[0].im.abs());
        let x = x.max(f64::MIN_POSITIVE.sqrt());
        match kind {
            Reactive::Inductive => x / omega,
            Reactive::Capacitive => 1.0 / (omega * x),
        }
    }

    fn expect_kind(&self, model: Model, expected: Reactive) -> Result<(), ExtractError> {
        match self.first_kind() {
            Some((_, kind)) if kind == expected => Ok(()),
            Some((point, found)) => Err(ExtractError::WrongKind {
                model,
                found,
                at_hz: self.freq_hz()[point],
            }),
            None => Err(ExtractError::NoResonance {
                span_hz: self.span_hz(),
                kind: None,
            }),
        }
    }

    /// The crossing of a resonance that starts as `below`.
    fn expect_resonance(&self, model: Model, below: Reactive) -> Result<f64, ExtractError> {
        self.expect_kind(model, below)?;
        let no_resonance = ExtractError::NoResonance {
            span_hz: self.span_hz(),
            kind: Some(below),
        };
        let changes = self.changes();
        let change = changes.first().ok_or(no_resonance.clone())?;
        self.crossing(change).map(|(hz, _)| hz).ok_or(no_resonance)
    }

    /// Re Z, or 1/Re Y, at the point nearest to `hz`, kept above zero.
    fn nearest_real(&self, hz: f64, is_parallel: bool) -> f64 {
        let z = self.z_ohm()[self.nearest(hz)];
        let real = if is_parallel { 1.0 / z.inv().re } else { z.re };
        if real > 0.0 && real.is_finite() {
            real
        } else {
            z.norm().max(f64::MIN_POSITIVE.sqrt())
        }
    }

    fn resistor_start(&self) -> Option<Vec<Start>> {
        let (series, parallel) = (Curve::impedance(self), Curve::admittance(self));
        let r = self.z_ohm()[0].re.max(1e-3 * self.z_ohm()[0].norm());
        let top = self.top_omega();
        let (l_scale, c_scale) = (1e-3 * r / top, 1e-3 / (r * top));
        let (l, c) = (series.slope(), parallel.slope());
        let with_c = (Form::ResistorWithC, vec![log(r), linear(c, c_scale)]);
        let with_l = (Form::ResistorWithL, vec![log(r), linear(l, l_scale)]);
        // Re Z = R/(1 + (ωRC)²) tells C by itself, and what X it leaves is the lead's.
        let (above, below) = self.z_ohm().iter().zip(&series.omega).fold(
            (0.0, 0.0),
            |(above, below), (z, omega)| {
                let square = (omega * r).powi(2);
                (above + (r / z.re - 1.0) * square, below + square * square)
            },
        );
        let fallen = (above / below).max(0.0).sqrt();
        let last = self.z_ohm()[self.points() - 1].im;
        let share = top * r * fallen;
        let lead = (last + r * share / (1.0 + share * share)) / top;
        let both = (
            Form::Resistor,
            vec![
                log(r),
                linear(fallen, c_scale),
                linear(lead.max(0.0), l_scale),
            ],
        );
        let both_by_slope = (
            Form::Resistor,
            vec![
                log(r),
                linear(c.max(0.0), c_scale),
                linear(l.max(0.0), l_scale),
            ],
        );
        // Not by the sign of the slope, which may be that of noise.
        let mut alone = [with_l, with_c];
        if r > COMPENSATED_OHM {
            alone.reverse();
        }
        let [usual, other] = alone;
        (r > 0.0 && l.is_finite() && c.is_finite() && fallen.is_finite())
            .then(|| vec![both, both_by_slope, usual, other])
    }

    fn choke_start(&self) -> Option<Result<Vec<Start>, ExtractError>> {
        if let Err(error) = self.expect_kind(Model::Choke, Reactive::Inductive) {
            return Some(Err(error));
        }
        let top = self.top_omega();
        // Once as if there were no resistance in series, once with all of the first point's.
        let start = |series_ohm: f64| {
            let mut curve = Curve::impedance(self);
            for z in &mut curve.w {
                *z -= series_ohm;
            }
            let core = curve.inverted();
            let (c, inverse_l) = core.reactive()?;
            let l = self.least_positive(1.0 / inverse_l, Reactive::Inductive);
            let r = Some(1.0 / core.real_mean()).filter(|r| *r > 0.0 && r.is_finite());
            let r = r.unwrap_or(100.0 * top * l);
            let coordinates = vec![
                log(l),
                log(r / (TAU * l)),
                linear(c, 1e-3 / (top * top * l)),
                linear(series_ohm, 1e-2 * TAU * self.span_hz().0 * l),
            ];
            Some((Form::Choke, coordinates))
        };
        Some(Ok(vec![start(0.0)?, start(self.z_ohm()[0].re)?]))
    }

    fn coil_start(&self, model: Model) -> Option<Result<Vec<Start>, ExtractError>> {
        if let Err(error) = self.expect_kind(model, Reactive::Inductive) {
            return Some(Err(error));
        }
        let (c, inverse_l) = Curve::admittance(self).reactive()?;
        let l = self.least_positive(1.0 / inverse_l, Reactive::Inductive);
        // With the capacitance taken away the winding's resistance is left.
        let mut winding = Curve::admittance(self);
        for (omega, y) in winding.omega.iter().zip(&mut winding.w) {
            *y -= Complex64::new(0.0, omega * c);
        }
        let mean = winding.inverted().real_mean();
        let r = if mean.is_finite() { mean } else { 0.0 };
        // The straight fit fails where the winding is lossy at the low end. There R is Re Z and
        // L nearly X/ω at the first point, and C what is left of the susceptance.
        let (z, omega) = (self.z_ohm()[0], TAU * self.span_hz().0);
        let low_l = self.least_positive(z.im / omega, Reactive::Inductive);
        let mut rest = Curve::admittance(self);
        for (omega, y) in rest.omega.iter().zip(&mut rest.w) {
            *y -= Complex64::new(z.re, omega * low_l).inv();
        }
        let top = self.top_omega();
        let form = if model == Model::InductorWithSkin {
            Form::InductorWithSkin {
                at_hz: self.span_hz().1,
            }
        } else {
            Form::Inductor
        };
        let start = |l: f64, r: f64, c: f64| {
            let mut coordinates = vec![
                log(l),
                linear(r, 1e-3 * omega * l),
                linear(c, 1e-3 / (top * top * l)),
            ];
            if model == Model::InductorWithSkin {
                coordinates.push(linear(0.0, 1e-4 * top * l));
            }
            (form, coordinates)
        };
        Some(Ok(vec![start(l, r, c), start(low_l, z.re, rest.slope())]))
    }
}
