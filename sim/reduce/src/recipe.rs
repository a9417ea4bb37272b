//! How a sweep is turned into ohms: standards, blanks, plane, instrument.

use std::sync::Arc;

use jigwise_physics::{BlankError, Deembedded, Fixture, Immittance};
use jigwise_physics::{
    Budget, Complex64, Correction, Definitions, Isolation, Kit, MeasuredStandards, Method,
    OpenShort, PortExtension, ReferenceImpedance, Scattering, SwitchTerms, Trio, solve,
    without_empty_gap, without_shorted_branch,
};
use jigwise_touchstone::Sweep;

use super::ReduceError;

/// How a sweep is turned into ohms. The default takes the file as corrected at the part.
#[derive(Debug, Clone, Default)]
pub struct Recipe {
    /// Raw sweeps of standards; the part's file is raw then, and so are the blanks. Several
    /// recipes may share them.
    pub standards: Option<Arc<StandardSweeps>>,
    /// How far the planes are moved towards the part, port 1 first.
    pub extension: [PortExtension; 2],
    /// The fixture without the part: for shunt-through shorted, for series-through empty, for
    /// reflect empty and then shorted.
    pub blanks: Vec<Sweep>,
    /// Share of what the blanks take away that is left as uncertainty (k = 1).
    pub blank_share: f64,
    /// The instrument's error budget, where uncertainty is asked for.
    pub budget: Option<Budget>,
}

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

    /// Every sweep with the name it goes by in messages.
    pub(crate) fn named(&self) -> Vec<(&'static str, &Sweep)> {
        let [one, two] = &self.reflections;
        [
            ("the open at port 1", &one.open),
            ("the short at port 1", &one.short),
            ("the load at port 1", &one.load),
            ("the open at port 2", &two.open),
            ("the short at port 2", &two.short),
            ("the load at port 2", &two.load),
            ("the through", &self.through),
            ("the isolation", &self.isolation),
            ("the switch terms", &self.switch_terms),
            ("the definition of the open", &self.known_as.open),
            ("the definition of the short", &self.known_as.short),
            ("the definition of the load", &self.known_as.load),
        ]
        .into_iter()
        .filter_map(|(name, sweep)| sweep.as_ref().map(|sweep| (name, sweep)))
        .collect()
    }

    /// The correction at one frequency.
    pub(super) fn correction(
        &self,
        method: Method,
        freq_hz: f64,
        reference: ReferenceImpedance,
    ) -> Result<Correction, ReduceError> {
        let at = |sweep: &Sweep, to, from| {
            point_at(sweep.frequency_hz(), freq_hz).map(|k| sweep.s(k, to, from))
        };
        let trio = |sweeps: &Trio<Option<Sweep>>| {
            let one = |sweep: &Option<Sweep>| sweep.as_ref().and_then(|sweep| at(sweep, 1, 1));
            Trio {
                open: one(&sweeps.open),
                short: one(&sweeps.short),
                load: one(&sweeps.load),
            }
        };
        let [one, two] = &self.reflections;
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
            let put = |slot: &mut Complex64, known: Option<Complex64>| {
                *slot = known.unwrap_or(*slot);
            };
            put(&mut trio.open, known.open);
            put(&mut trio.short, known.short);
            put(&mut trio.load, known.load);
        }
        solve(method, &measured, &taken)
            .map_err(|error| ReduceError::Calibration { freq_hz, error })
    }
}

const NO_SWEEPS: Trio<Option<Sweep>> = Trio {
    open: None,
    short: None,
    load: None,
};

/// Two frequencies that differ by no more than this part are one.
const SAME_FREQUENCY: f64 = 1e-9;

/// The point at a frequency, among rising ones.
pub(super) fn point_at(all: &[f64], freq_hz: f64) -> Option<usize> {
    let above = all.partition_point(|f| *f < freq_hz);
    [above.checked_sub(1), Some(above)]
        .into_iter()
        .flatten()
        .filter(|k| *k < all.len())
        .find(|k| (all[*k] - freq_hz).abs() <= SAME_FREQUENCY * freq_hz)
}

impl Recipe {
    /// Checks that everything beside the part was measured at each of the part's frequencies,
    /// on the same reference, with enough ports.
    pub(super) fn check(&self, part: &Sweep, fixture: Fixture) -> Result<(), ReduceError> {
        let mut beside = Vec::new();
        if let Some(standards) = &self.standards {
            beside.extend(standards.named());
        }
        let wanted = if fixture == Fixture::Reflect { 2 } else { 1 };
        if !self.blanks.is_empty() && self.blanks.len() != wanted {
            return Err(ReduceError::Blanks {
                fixture,
                found: self.blanks.len(),
            });
        }
        let names = blank_names(fixture);
        beside.extend(names.iter().copied().zip(&self.blanks));
        for (what, sweep) in beside {
            let needs_two = fixture != Fixture::Reflect && names.contains(&what)
                || ["the through", "the isolation", "the switch terms"].contains(&what);
            if needs_two && sweep.ports() < 2 {
                return Err(ReduceError::TooFewPorts { what });
            }
            if sweep.reference_ohm() != part.reference_ohm() {
                return Err(ReduceError::OtherReference {
                    what,
                    found_ohm: sweep.reference_ohm(),
                    expected_ohm: part.reference_ohm(),
                });
            }
            let missing = part
                .frequency_hz()
                .iter()
                .find(|freq_hz| point_at(sweep.frequency_hz(), **freq_hz).is_none());
            if let Some(&freq_hz) = missing {
                return Err(ReduceError::MissesFrequency { what, freq_hz });
            }
        }
        Ok(())
    }
}

/// What the blanks of a fixture are called, in the order in which a recipe takes them.
pub const fn blank_names(fixture: Fixture) -> &'static [&'static str] {
    match fixture {
        Fixture::Reflect => &["the empty fixture", "the shorted fixture"],
        Fixture::ShuntThrough => &["the shorted branch"],
        Fixture::SeriesThrough => &["the empty gap"],
    }
}

/// The part from what was read with and without it.
pub(super) fn without_blanks(
    fixture: Fixture,
    measured: Immittance,
    blanks: &[Immittance],
) -> Result<Deembedded, BlankError> {
    match (fixture, blanks) {
        (Fixture::Reflect, [empty, shorted]) => {
            Ok(OpenShort::new(*empty, *shorted)?.part(measured))
        }
        (Fixture::ShuntThrough, [shorted]) => without_shorted_branch(measured, *shorted),
        (Fixture::SeriesThrough, [empty]) => without_empty_gap(measured, *empty),
        _ => Ok(Deembedded {
            part: measured,
            removed: 0.0,
        }),
    }
}
