//! A sweep ready to be reduced, point by point and on all cores.

use std::borrow::Cow;
use std::ops::Range;

use jigwise_bench::Blank;
use jigwise_physics::{Complex64, Fixture, Method, NoiseScale, Port, ReferenceImpedance};
use jigwise_touchstone::Sweep;

use crate::cores::on_all_cores;
use crate::laws::{LawTally, through_like};
use crate::point_reducer::PointReducer;
use crate::regrid::{Regridded, at_frequencies};
use crate::{Beside, Recipe, ReduceError, ReducedPoint, Remark, StandardSweeps};

/// A sweep that fits its fixture and recipe.
#[derive(Debug)]
pub struct Reducer<'a> {
    sweep: Cow<'a, Sweep>,
    fixture: Fixture,
    reference: ReferenceImpedance,
    recipe: &'a Recipe,
    /// The standards, where they were brought to the part's frequencies.
    standards: Option<StandardSweeps>,
    /// The blanks likewise, each with its doubts; `None` for one that was measured there.
    blanks: Vec<Option<Regridded>>,
    /// What was brought there, and the largest doubt of it.
    regridded: Vec<(Beside, f64)>,
    method: Method,
    is_two_way: bool,
}

impl<'a> Reducer<'a> {
    /// Checks that the sweep holds what the fixture needs and that standards and blanks fit it.
    ///
    /// A through reading of one direction (S12 = S22 = 0) is corrected by the method of one direction
    /// where one was asked for that needs both.
    ///
    /// # Errors
    /// [`ReduceError`] as for [`crate::reduce_with`], but for what shows only point by point.
    pub fn new(
        sweep: &'a Sweep,
        fixture: Fixture,
        recipe: &'a Recipe,
    ) -> Result<Self, ReduceError> {
        let sweep = ready(sweep, fixture)?;
        recipe.check(&sweep, fixture)?;
        let through = fixture != Fixture::Reflect;
        let one_way = through && sweep.is_one_direction();
        let asked = recipe
            .standards
            .as_ref()
            .map_or(Method::Raw, |standards| standards.method);
        let method = match recipe.port {
            // What a reflection at port 2 needs is the three terms of that port.
            Port::Two if !through && asked.corrects_one_port() => Method::OnePort,
            _ if one_way && asked.needs_both_directions() => Method::OneDirection,
            _ => asked,
        };
        let is_two_way =
            through && !one_way && (recipe.standards.is_none() || method.needs_both_directions());
        let freq_hz = sweep.frequency_hz();
        let moved = match &recipe.standards {
            Some(standards) => standards.at_frequencies(freq_hz)?,
            None => None,
        };
        let (standards, mut regridded) = match moved {
            Some((moved, told)) => (Some(moved), told),
            None => (None, Vec::new()),
        };
        let mut blanks = Vec::with_capacity(recipe.blanks.len());
        for (blank, sweep) in Blank::of(fixture).iter().zip(&recipe.blanks) {
            let what = Beside::Blank(*blank);
            let found = at_frequencies(sweep, what, freq_hz)?;
            regridded.extend(found.as_ref().map(|found| (what, found.largest())));
            blanks.push(found);
        }
        Ok(Self {
            standards,
            blanks,
            regridded,
            reference: ReferenceImpedance::new(sweep.references_ohm()[0])?,
            sweep,
            fixture,
            recipe,
            method,
            is_two_way,
        })
    }

    /// How it is reduced.
    pub fn recipe(&self) -> &Recipe {
        self.recipe
    }

    /// The standards, at the part's frequencies.
    fn standards(&self) -> Option<&StandardSweeps> {
        self.standards.as_ref().or(self.recipe.standards.as_deref())
    }

    /// The fixture.
    pub fn fixture(&self) -> Fixture {
        self.fixture
    }

    /// The reference of the readings.
    pub fn reference(&self) -> ReferenceImpedance {
        self.reference
    }

    /// What is made of the standards; [`Method::Raw`] where there are none.
    pub fn method(&self) -> Method {
        self.method
    }

    /// The frequencies, Hz, rising.
    pub fn freq_hz(&self) -> &[f64] {
        self.sweep.frequency_hz()
    }

    /// Number of frequencies, at least one.
    #[expect(
        clippy::len_without_is_empty,
        reason = "a sweep has at least one point"
    )]
    pub fn len(&self) -> usize {
        self.sweep.len()
    }

    pub(crate) fn has_budget(&self) -> bool {
        self.recipe.budget.is_some()
    }

    pub(crate) fn points(&self, with_budget: bool) -> PointReducer<'_> {
        PointReducer {
            sweep: &self.sweep,
            fixture: self.fixture,
            reference: self.reference,
            recipe: self.recipe,
            standards: self.standards(),
            blanks: &self.blanks,
            budgets: self.recipe.budget.as_ref().filter(|_| with_budget),
            method: self.method,
            is_two_way: self.is_two_way,
        }
    }

    /// One point.
    ///
    /// # Errors
    /// [`ReduceError`] where the standards can't be solved or the blanks can't correct it.
    ///
    /// # Panics
    /// Where the point does not exist.
    pub fn point(&self, index: usize) -> Result<ReducedPoint, ReduceError> {
        self.points(true).point(index, None)
    }

    /// A run of points, in order, computed on all cores.
    ///
    /// # Panics
    /// Where a point does not exist.
    pub fn run(&self, points: Range<usize>) -> Vec<Result<ReducedPoint, ReduceError>> {
        on_all_cores(points, |index| self.point(index)).collect()
    }

    /// Goes through the whole sweep once without its uncertainty, and finds everything that can
    /// be wrong with it.
    ///
    /// # Errors
    /// The first refusal other than that of a blank; and that one where no point is left.
    pub fn survey(&self) -> Result<Survey, ReduceError> {
        const RUN: usize = 8_192;
        self.check_reflection()?;
        let mut tally = LawTally::default();
        let mut left_out = 0;
        let mut first_left_out = None;
        for start in (0..self.len()).step_by(RUN) {
            let run = start..(start + RUN).min(self.len());
            let found = on_all_cores(run, |index| self.points(false).point(index, None));
            for found in found {
                match found {
                    Ok(point) => tally.add(&point, self.fixture, self.reference),
                    Err(error @ ReduceError::Blank { .. }) => {
                        left_out += 1;
                        first_left_out.get_or_insert(error);
                    }
                    Err(error) => return Err(error),
                }
            }
        }
        if left_out == self.len()
            && let Some(error) = first_left_out
        {
            return Err(error);
        }
        let mut remarks = Vec::new();
        let asked = self.recipe.standards.as_ref().map(|s| s.method);
        let is_one_direction = self.method == Method::OneDirection;
        let one_way = asked.filter(|asked| is_one_direction && *asked != self.method);
        remarks.extend(one_way.map(|asked| Remark::OneWay { asked }));
        if asked.is_some() && !self.is_whole() {
            remarks.push(Remark::LeftRaw {
                method: self.method,
            });
        }
        remarks.extend(self.active_port()?);
        let found_between = self.regridded.iter();
        remarks.extend(found_between.map(|(what, doubt)| Remark::FoundBetween {
            what: *what,
            doubt: *doubt,
        }));
        if let Some(budget) = &self.recipe.budget
            && asked.is_none()
            && self.fixture != Fixture::Reflect
        {
            remarks.extend(Remark::unknown_front_end(budget, self.freq_hz()));
        }
        remarks.extend(tally.remarks(self.fixture));
        if self.fixture == Fixture::Reflect {
            let like = through_like(&self.sweep, self.recipe.port);
            remarks.extend(like.map(|through| Remark::LikeThrough { through }));
            let is_corrected = self.method.corrects_one_port();
            remarks.extend(is_corrected.then_some(Remark::OpenShort));
        }
        Ok(Survey {
            remarks,
            left_out,
            first_left_out,
        })
    }
}

impl Reducer<'_> {
    /// Refuses a two-port file in reflect whose reflection at the chosen port is exactly zero all
    /// over the sweep: an export that left it out, and no match.
    fn check_reflection(&self) -> Result<(), ReduceError> {
        let port = self.recipe.port;
        let at = port.number();
        let is_zero = |k| self.sweep.s(k, at, at) == Complex64::ZERO;
        if self.fixture == Fixture::Reflect
            && self.sweep.ports() == 2
            && (0..self.len()).all(is_zero)
        {
            return Err(ReduceError::NoReflection { port });
        }
        Ok(())
    }

    /// How well the noise of its readings is known.
    pub(crate) fn noise_scale(&self) -> NoiseScale {
        const LOOKED_AT: usize = 8;
        let points = self.points(false);
        let all = (0..self.len()).step_by(self.len().div_ceil(LOOKED_AT));
        let looked_at: Vec<_> = all.filter_map(|k| points.noise_point(k)).collect();
        // That of the middle stands for all of them.
        let middle = looked_at.get(looked_at.len() / 2);
        middle
            .and_then(|point| self.recipe.budget.as_ref()?.at(point.freq_hz))
            .map_or(NoiseScale::KNOWN, |budget| budget.noise_scale(&looked_at))
    }

    /// True where S11 and S21 are both corrected, and S11 was measured.
    pub(crate) fn has_identity(&self) -> bool {
        let is_corrected = self.recipe.standards.is_none() || self.is_whole();
        let is_measured = (0..self.len()).any(|k| self.sweep.s(k, 1, 1) != Complex64::ZERO);
        is_corrected && is_measured
    }

    /// True where the method corrects everything in the fixture's reading of one part.
    fn is_whole(&self) -> bool {
        match self.method {
            Method::Raw | Method::Scaled(_) => false,
            Method::OnePort | Method::OnePortAndThrough => self.fixture == Fixture::Reflect,
            Method::OneDirection | Method::BothDirections | Method::UnknownThrough => true,
        }
    }

    /// The worst source match above one that the standards lead to, looked for at some of the
    /// points: standards that were exchanged are so all over the sweep.
    fn active_port(&self) -> Result<Option<Remark>, ReduceError> {
        const LOOKED_AT: usize = 64;
        let Some(standards) = self.standards() else {
            return Ok(None);
        };
        let mut worst: Option<(u8, f64, f64)> = None;
        for freq_hz in self
            .freq_hz()
            .iter()
            .step_by(self.len().div_ceil(LOOKED_AT))
        {
            let found =
                standards.correction(self.method, self.recipe.port, *freq_hz, self.reference)?;
            let two = found.twelve_terms().map(|terms| terms.reverse.one_port);
            let own = self.recipe.port.number() as u8;
            for (port, terms) in [(own, found.one_port()), (2, two)] {
                let size = terms.map_or(0.0, |terms| terms.source_match.norm());
                if size > worst.map_or(1.0, |(_, worst, _)| worst) {
                    worst = Some((port, size, *freq_hz));
                }
            }
        }
        Ok(
            worst.map(|(port, source_match, freq_hz)| Remark::ActivePort {
                port,
                source_match,
                freq_hz,
            }),
        )
    }
}

/// What a first walk through a sweep found.
#[derive(Debug, Clone, PartialEq)]
pub struct Survey {
    /// What should be said beside the numbers.
    pub remarks: Vec<Remark>,
    /// How many points the blanks can't correct.
    pub left_out: usize,
    /// Why the first of them can't be corrected.
    pub first_left_out: Option<ReduceError>,
}

/// The sweep with what the fixture needs, on one reference.
fn ready(sweep: &Sweep, fixture: Fixture) -> Result<Cow<'_, Sweep>, ReduceError> {
    if sweep.ports() > 2 {
        return Err(ReduceError::ManyPorts {
            ports: sweep.ports(),
        });
    }
    if !sweep.modes().is_empty() {
        return Err(ReduceError::MixedMode);
    }
    let first_ohm = sweep.references_ohm()[0];
    let through = fixture != Fixture::Reflect;
    if through && sweep.ports() < 2 {
        return Err(ReduceError::OnePort { fixture });
    }
    if through && (0..sweep.len()).all(|k| sweep.s(k, 2, 1) == Complex64::ZERO) {
        return Err(ReduceError::NoThrough { fixture });
    }
    if through && sweep.reference_ohm().is_nan() {
        let moved = sweep.renormalised(&[first_ohm]);
        return moved.map(Cow::Owned).map_err(ReduceError::References);
    }
    Ok(Cow::Borrowed(sweep))
}
