//! Raw sweeps of calibration standards, and the correction they give at a frequency.

use jigwise_physics::{
    Complex64, Correction, Definitions, Isolation, Kit, MeasuredStandards, Method, Port,
    RAW_STANDARD_READINGS, ReferenceImpedance, ReflectionStandard, Scattering, SwitchTerms, Trio,
    solve,
};
use jigwise_touchstone::Sweep;

use crate::frequency::point_near;
use crate::regrid::at_frequencies;
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
    /// E|δ|² of the readings that were found between two points, for each frequency of the sweeps;
    /// empty where all were measured.
    doubts: Vec<[f64; RAW_STANDARD_READINGS]>,
}

/// Standards at other frequencies, and which of them were found there with what largest doubt.
type Moved = (StandardSweeps, Vec<(Beside, f64)>);

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
            doubts: Vec::new(),
        }
    }

    /// The same at the frequencies of a part, and which of the sweeps were brought to them, with
    /// the largest doubt; `None` where all were measured there.
    pub(crate) fn at_frequencies(&self, freq_hz: &[f64]) -> Result<Option<Moved>, ReduceError> {
        let mut found = Vec::new();
        for (what, sweep) in self.sweeps() {
            let moved = at_frequencies(sweep, what, freq_hz)?;
            found.extend(moved.map(|moved| (what, moved)));
        }
        if found.is_empty() {
            return Ok(None);
        }
        let mut moved = self.clone();
        let mut told = Vec::new();
        let mut doubts = vec![[0.0; RAW_STANDARD_READINGS]; freq_hz.len()];
        for (what, found) in found {
            told.push((what, found.largest()));
            for (sum, doubt) in doubts.iter_mut().zip(&found.doubts) {
                for number in numbers_of(what) {
                    sum[number] += doubt * doubt;
                }
            }
            let mut sweeps = moved.sweeps_mut();
            if let Some((_, sweep)) = sweeps.find(|(own, _)| *own == what) {
                *sweep = found.sweep;
            }
        }
        moved.doubts = doubts;
        Ok(Some((moved, told)))
    }

    fn sweeps_mut(&mut self) -> impl Iterator<Item = (Beside, &mut Sweep)> {
        let [one, two] = &mut self.reflections;
        let one = named(one, |of| Beside::Standard(of, Port::One));
        let two = named(two, |of| Beside::Standard(of, Port::Two));
        let known = named(&mut self.known_as, Beside::Definition);
        let of_both = [
            (Beside::Through, &mut self.through),
            (Beside::Isolation, &mut self.isolation),
            (Beside::SwitchTerms, &mut self.switch_terms),
        ];
        one.into_iter()
            .chain(two)
            .chain(of_both)
            .chain(known)
            .filter_map(|(what, sweep)| Some((what, sweep.as_mut()?)))
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
        self.correction_by(method, port, (0, freq_hz), reference, Sweep::s)
    }

    /// The correction at one frequency, which is most likely that of the point `near` of every
    /// sweep; `reading` gives S(to, from) of a point of a sweep.
    pub(crate) fn correction_by(
        &self,
        method: Method,
        port: Port,
        (near, freq_hz): (usize, f64),
        reference: ReferenceImpedance,
        reading: impl Fn(&Sweep, usize, usize, usize) -> Complex64,
    ) -> Result<Correction, ReduceError> {
        let at = |sweep: &Sweep, to, from| {
            point_near(sweep.frequency_hz(), near, freq_hz).map(|k| reading(sweep, k, to, from))
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
        let solved = solve(method, &measured, &taken)
            .map_err(|error| ReduceError::Calibration { freq_hz, error })?;
        Ok(match self.doubts.get(near) {
            Some(doubts) => solved.in_doubt(match port {
                Port::One => *doubts,
                Port::Two => {
                    let [a, b, c, d, e, f, rest @ ..] = *doubts;
                    let mut swapped = [0.0; RAW_STANDARD_READINGS];
                    swapped[..6].copy_from_slice(&[d, e, f, a, b, c]);
                    swapped[6..].copy_from_slice(&rest);
                    swapped
                }
            }),
            None => solved,
        })
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
        if let Method::Scaled(by) = self.method {
            let of = by.reflection();
            needed.extend(of.map(|of| Beside::Standard(of, Port::One)));
        }
        let needs_through = match self.method {
            Method::Raw | Method::OnePort => false,
            Method::Scaled(by) => by.uses_through(),
            _ => true,
        };
        if needs_through {
            needed.push(Beside::Through);
        }
        needed.retain(|what| self.sweeps().all(|(known, _)| known != *what));
        needed
    }
}

/// The three of a trio, each with what it is of.
fn named(
    trio: &mut Trio<Option<Sweep>>,
    what: impl Fn(ReflectionStandard) -> Beside,
) -> [(Beside, &mut Option<Sweep>); 3] {
    let Trio { open, short, load } = trio;
    [
        (what(ReflectionStandard::Open), open),
        (what(ReflectionStandard::Short), short),
        (what(ReflectionStandard::Load), load),
    ]
}

/// The numbers of the raw readings that a sweep holds, as a correction counts them. A definition
/// that is in doubt moves what its standard reads by as much, at both ports.
fn numbers_of(what: Beside) -> Vec<usize> {
    match what {
        Beside::Standard(of, port) => vec![3 * port as usize + of as usize],
        Beside::Definition(of) => vec![of as usize, 3 + of as usize],
        Beside::Through => vec![6, 7, 8, 9],
        Beside::Isolation => vec![10, 11],
        // They are small, and what they leave in doubt is small beside them.
        Beside::SwitchTerms | Beside::Blank(_) => Vec::new(),
    }
}

const NO_SWEEPS: Trio<Option<Sweep>> = Trio {
    open: None,
    short: None,
    load: None,
};
