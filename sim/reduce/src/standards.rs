//! Raw sweeps of calibration standards, and the correction they give at a frequency.

use jigwise_physics::{
    Complex64, Correction, Definitions, Isolation, Kit, MeasuredStandards, Method, Port,
    ReferenceImpedance, ReflectionStandard, Scattering, SwitchTerms, Trio, solve,
};
use jigwise_touchstone::Sweep;

use crate::frequency::point_at;
use crate::{Beside, ReduceError};

/// Raw sweeps of standards, and what they are taken for.
#[derive(Debug, Clone)]
pub struct StandardSweeps {
    /// What is made of them.
    pub method: Method,
    /// One-port raw sweeps at port 1 and port 2.
    pub reflections: [Trio<Option<Sweep>>; 2],
    /// Raw two-port sweep of the through.
    pub through: Option<Sweep>,
    /// Raw two-port sweep with the ports terminated.
    pub isolation: Option<Sweep>,
    /// Switch terms: S21 for the forward direction, S12 for the reverse one.
    pub switch_terms: Option<Sweep>,
    /// What the standards are taken for.
    pub kit: Kit,
    /// Standards known by a measurement of their own, which counts before the kit.
    pub known_as: Trio<Option<Sweep>>,
}

impl StandardSweeps {
    /// Ideal standards, none measured yet.
    pub fn ideal(method: Method, reference: ReferenceImpedance) -> Self {
        Self {
            method,
            reflections: [NO_SWEEPS, NO_SWEEPS],
            through: None,
            isolation: None,
            switch_terms: None,
            kit: jigwise_bench::ideal_kit(reference),
            known_as: NO_SWEEPS,
        }
    }

    /// Every sweep with what it is of.
    pub(crate) fn sweeps(&self) -> impl Iterator<Item = (Beside, &Sweep)> {
        let at_ports = Port::ALL.into_iter().zip(&self.reflections);
        let standards = at_ports.flat_map(|(port, trio)| {
            ReflectionStandard::ALL.map(|of| (Beside::Standard(of, port), of.of(trio)))
        });
        let of_both = [
            (Beside::Through, &self.through),
            (Beside::Isolation, &self.isolation),
            (Beside::SwitchTerms, &self.switch_terms),
        ];
        let known =
            ReflectionStandard::ALL.map(|of| (Beside::Definition(of), of.of(&self.known_as)));
        standards
            .chain(of_both)
            .chain(known)
            .filter_map(|(what, sweep)| Some((what, sweep.as_ref()?)))
    }

    /// The correction at one frequency; of a reflection at port 2 by what was measured there.
    pub(crate) fn correction(
        &self,
        method: Method,
        port: Port,
        freq_hz: f64,
        reference: ReferenceImpedance,
    ) -> Result<Correction, ReduceError> {
        self.correction_by(method, port, freq_hz, reference, Sweep::s)
    }

    /// The correction at one frequency; `reading` gives S(to, from) of a point of a sweep.
    pub(crate) fn correction_by(
        &self,
        method: Method,
        port: Port,
        freq_hz: f64,
        reference: ReferenceImpedance,
        reading: impl Fn(&Sweep, usize, usize, usize) -> Complex64,
    ) -> Result<Correction, ReduceError> {
        let at = |sweep: &Sweep, to, from| {
            point_at(sweep.frequency_hz(), freq_hz).map(|k| reading(sweep, k, to, from))
        };
        let trio = |sweeps: &Trio<Option<Sweep>>| {
            Trio::from_fn(|standard| {
                let sweep = standard.of(sweeps).as_ref();
                sweep.and_then(|sweep| at(sweep, 1, 1))
            })
        };
        let [one, two] = match (port, &self.reflections) {
            (Port::One, [one, two]) | (Port::Two, [two, one]) => [one, two],
        };
        let pair = |sweep: &Option<Sweep>| {
            let sweep = sweep.as_ref()?;
            Some((at(sweep, 2, 1)?, at(sweep, 1, 2)?))
        };
        let measured = MeasuredStandards {
            reflections: [trio(one), trio(two)],
            through: self.through.as_ref().and_then(|sweep| {
                Some(Scattering {
                    s11: at(sweep, 1, 1)?,
                    s12: at(sweep, 1, 2)?,
                    s21: at(sweep, 2, 1)?,
                    s22: at(sweep, 2, 2)?,
                })
            }),
            isolation: pair(&self.isolation)
                .map(|(forward, reverse)| Isolation { forward, reverse }),
            switch_terms: pair(&self.switch_terms)
                .map(|(forward, reverse)| SwitchTerms { forward, reverse }),
        };
        let mut taken = Definitions::of(&self.kit, freq_hz, reference)?;
        let known = trio(&self.known_as);
        for trio in &mut taken.reflections {
            *trio = Trio::from_fn(|standard| standard.of(&known).unwrap_or(*standard.of(trio)));
        }
        solve(method, &measured, &taken)
            .map_err(|error| ReduceError::Calibration { freq_hz, error })
    }

    /// What the method needs and no sweep gives.
    pub fn missing(&self) -> Vec<Beside> {
        let mut needed = Vec::new();
        let at = |port| ReflectionStandard::ALL.map(|of| Beside::Standard(of, port));
        if self.method.corrects_one_port() {
            needed.extend(at(Port::One));
        }
        if self.method.needs_both_directions() {
            needed.extend(at(Port::Two));
        }
        let needs_through = matches!(
            self.method,
            Method::EnhancedResponse | Method::OnePath | Method::Full | Method::UnknownThrough
        );
        if needs_through {
            needed.push(Beside::Through);
        }
        needed.retain(|what| self.sweeps().all(|(known, _)| known != *what));
        needed
    }
}

const NO_SWEEPS: Trio<Option<Sweep>> = Trio {
    open: None,
    short: None,
    load: None,
};
