//! Points as they go by, thinned to what a page shows.

use jigwise_bench::scene::SweepAxis;
use jigwise_physics::{
    Agreement, BlendError, Complex64, Fixture, MIN_T0_IN_SIGMA, REFUSED_P, ReferenceImpedance,
    StandingCaution, Trust,
};

use crate::laws::{LawTally, ResistanceTally};
use crate::{Columns, Ensemble, PartPoint, Region, evenly};

/// Columns over the frequency axis of which each keeps its lowest and highest |Z|.
const COLUMNS: usize = 480;
/// Rows of the table.
const ROWS: usize = 36;

/// One point as the figures show it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlotPoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Z, Ω; `None` for an open.
    pub z_ohm: Option<Complex64>,
    /// Standard uncertainties of R and X, Ω.
    pub u_ohm: Option<(f64, f64)>,
    /// Standard uncertainties along Z and across it, Ω.
    pub u_polar_ohm: Option<(f64, f64)>,
    /// Which statement of uncertainty holds.
    pub trust: Option<Trust>,
    /// The exact 95 % region.
    pub region: Option<Region>,
    /// The fixture that knows the part best.
    pub fixture: Fixture,
}

/// What all points told.
#[derive(Debug, Clone, Default)]
pub struct Gathered {
    /// First and last frequency of the sweep, Hz.
    pub span_hz: (f64, f64),
    /// How many points were told.
    pub points: usize,
    /// How many of them are an open.
    pub opens: usize,
    /// The points of the figures.
    pub plot: Vec<PlotPoint>,
    /// The rows of the table.
    pub rows: Vec<PartPoint>,
    /// Each frequency that was asked for, Hz, with the nearest point that could be told.
    pub asked: Vec<(f64, Option<PartPoint>)>,
    /// Stretches of one chosen fixture, Hz.
    pub runs: Vec<(f64, f64, Fixture)>,
    /// Points for which each fixture was chosen.
    pub chosen: [usize; 3],
    /// Which fixtures were measured.
    pub measured: [bool; 3],
    /// Points by the statement of uncertainty that holds, in the order of [`Trust`].
    pub trusts: [usize; 4],
    /// Points blended.
    pub blended: usize,
    /// Whether the fixtures tell of one part, where that can be judged.
    pub agreement: Option<Agreement>,
    /// Why points were not blended: reason, how many, and the first frequency, Hz.
    pub not_blended: Vec<(String, usize, f64)>,
    /// Largest ratio of the levels at which the fixtures drive the part.
    pub level_ratio: f64,
    /// The part's resistance against R ≥ 0.
    pub(super) resistance: ResistanceTally,
    /// Each fixture's readings against all laws.
    pub(super) laws: [LawTally; 3],
}

/// Takes the points of one ensemble, in order.
#[derive(Debug)]
pub struct Gatherer<'a> {
    gathered: Gathered,
    /// The frequencies of the sweep, Hz, and how many of them have been passed.
    all: &'a [f64],
    passed: usize,
    reference: ReferenceImpedance,
    axis: SweepAxis,
    len: usize,
    /// The frequencies of the table's rows, Hz, and how many of them have been passed.
    row_hz: Vec<f64>,
    rows_passed: usize,
    column: Option<(usize, PlotPoint, PlotPoint)>,
}

impl Gathered {
    /// True where an instrument is behind the points.
    pub fn is_known(&self) -> bool {
        self.trusts.iter().sum::<usize>() > 0
    }

    /// True where the part was measured in several fixtures.
    pub fn is_several(&self) -> bool {
        self.measured.iter().filter(|measured| **measured).count() > 1
    }

    /// The columns of the table.
    pub fn columns(&self) -> Columns {
        Columns {
            has_instrument: self.is_known(),
            is_several: self.is_several(),
        }
    }
}

impl<'a> Gatherer<'a> {
    /// For the points of `ensemble`.
    pub fn new(ensemble: &'a Ensemble<'_>) -> Self {
        let all = ensemble.freq_hz();
        let (first_hz, last_hz) = (all[0], all[all.len() - 1]);
        let len = all.len();
        let mut measured = [false; 3];
        for sweep in ensemble.sweeps() {
            measured[sweep.fixture() as usize] = true;
        }
        Self {
            gathered: Gathered {
                span_hz: (first_hz, last_hz),
                measured,
                agreement: ensemble.agreement(),
                ..Gathered::default()
            },
            all,
            passed: 0,
            reference: ensemble.reference(),
            axis: SweepAxis { first_hz, last_hz },
            len,
            row_hz: evenly(len, ROWS).map(|index| all[index]).collect(),
            rows_passed: 0,
            column: None,
        }
    }

    /// Takes the next point.
    pub fn take(&mut self, point: &PartPoint) {
        let plot = PlotPoint::of(point);
        self.mark_gap(point);
        self.count(point, &plot);
        let left = self.row_hz[self.rows_passed..].iter();
        let passed = left.take_while(|hz| point.freq_hz >= **hz).count();
        if passed > 0 {
            self.gathered.rows.push(point.clone());
            self.rows_passed += passed;
        }
        if self.len <= 2 * COLUMNS {
            self.gathered.plot.push(plot);
            return;
        }
        let share = self.axis.share(point.freq_hz);
        let at = (share * COLUMNS as f64) as usize;
        let size = |p: &PlotPoint| p.z_ohm.map_or(f64::INFINITY, Complex64::norm);
        match &mut self.column {
            Some((column, low, high)) if *column == at => {
                if size(&plot) < size(low) {
                    *low = plot;
                }
                if size(&plot) > size(high) {
                    *high = plot;
                }
            }
            _ => {
                self.close_column();
                self.column = Some((at, plot, plot));
            }
        }
    }

    /// A frequency that was asked for, and the nearest point that can be told.
    pub fn asked(&mut self, freq_hz: f64, point: Option<PartPoint>) {
        self.gathered.asked.push((freq_hz, point));
    }

    /// Where points were left out before this one, no line goes across.
    fn mark_gap(&mut self, point: &PartPoint) {
        let left_out = self.all[self.passed..]
            .iter()
            .take_while(|hz| **hz < point.freq_hz)
            .count();
        if left_out > 0 && self.passed > 0 {
            let freq_hz = self.all[self.passed];
            self.close_column();
            self.gathered
                .plot
                .push(PlotPoint::gap(freq_hz, point.chosen));
        }
        self.passed = (self.passed + left_out + 1).min(self.all.len());
    }

    fn close_column(&mut self) {
        let Some((_, low, high)) = self.column.take() else {
            return;
        };
        let (first, second) = if low.freq_hz <= high.freq_hz {
            (low, high)
        } else {
            (high, low)
        };
        self.gathered.plot.push(first);
        if second != first {
            self.gathered.plot.push(second);
        }
    }

    fn count(&mut self, point: &PartPoint, plot: &PlotPoint) {
        let hz = point.freq_hz;
        let all = &mut self.gathered;
        all.points += 1;
        all.chosen[point.chosen as usize] += 1;
        match all.runs.last_mut() {
            Some((_, to_hz, fixture)) if *fixture == point.chosen => *to_hz = hz,
            Some((_, to_hz, _)) => {
                *to_hz = hz;
                all.runs.push((hz, hz, point.chosen));
            }
            None => all.runs.push((hz, hz, point.chosen)),
        }
        if let Some(trust) = plot.trust {
            all.trusts[trust as usize] += 1;
        }
        all.opens += usize::from(plot.z_ohm.is_none());
        if let Some(part) = point.as_reduced() {
            let u_r_ohm = plot.u_ohm.map(|(u_r, _)| u_r);
            all.resistance
                .add(&part, u_r_ohm, point.chosen, self.reference);
        }
        for (fixture, laws) in Fixture::ALL.into_iter().zip(&mut all.laws) {
            if let Some(seen) = &point.seen[fixture as usize] {
                laws.add(seen, fixture, self.reference);
            }
        }
        self.count_blend(point);
    }

    fn count_blend(&mut self, point: &PartPoint) {
        let hz = point.freq_hz;
        let all = &mut self.gathered;
        match &point.blend {
            None => {}
            Some(Ok(blend)) => {
                all.blended += 1;
                for caution in blend.cautions {
                    if let StandingCaution::Level { ratio } = caution {
                        all.level_ratio = all.level_ratio.max(ratio);
                    }
                }
            }
            Some(Err(error)) => {
                let reason = refusal(error);
                match all
                    .not_blended
                    .iter_mut()
                    .find(|(known, ..)| *known == reason)
                {
                    Some((_, count, _)) => *count += 1,
                    None => all.not_blended.push((reason, 1, hz)),
                }
            }
        }
    }

    /// What was gathered.
    pub fn finish(mut self) -> Gathered {
        self.close_column();
        self.gathered
    }
}

/// A refusal without the numbers that differ from point to point, so that it can be counted.
fn refusal(error: &BlendError) -> String {
    match error {
        BlendError::TooFew { usable } => format!(
            "{usable} of the fixtures {} the part well enough there ({MIN_T0_IN_SIGMA}σ from \
             the pole of the inverse, and not bent by it), and a blend takes two",
            if *usable == 1 { "sees" } else { "see" }
        ),
        BlendError::Contradiction { .. } => format!(
            "the fixtures contradict each other within their uncertainty (p below {REFUSED_P}): a \
             stray, a wrong fixture or too small a budget"
        ),
        BlendError::NoEstimate => "no impedance fits the readings".to_owned(),
        other => other.to_string(),
    }
}

impl PlotPoint {
    /// A frequency without a point.
    fn gap(freq_hz: f64, fixture: Fixture) -> Self {
        Self {
            freq_hz,
            z_ohm: None,
            u_ohm: None,
            u_polar_ohm: None,
            trust: None,
            region: None,
            fixture,
        }
    }

    fn of(point: &PartPoint) -> Self {
        Self {
            freq_hz: point.freq_hz,
            z_ohm: point.device().impedance(),
            u_ohm: point.uncertainty_ohm(),
            u_polar_ohm: point.polar_uncertainty_ohm(),
            trust: point.trust(),
            region: point.region(),
            fixture: point.chosen,
        }
    }
}
