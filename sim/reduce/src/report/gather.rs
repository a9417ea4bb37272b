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
pub struct Gatherer {
    gathered: Gathered,
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

impl Gatherer {
    /// For the points of `ensemble`.
    pub fn new(ensemble: &Ensemble<'_>) -> Self {
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
    fn of(point: &PartPoint) -> Self {
        let z_ohm = point.device().impedance();
        let covariance = point.covariance();
        let polar = |z: Complex64| {
            let turned = covariance?.through(z.conj() / z.norm());
            Some((turned.re.sqrt(), turned.im.sqrt()))
        };
        Self {
            freq_hz: point.freq_hz,
            z_ohm,
            u_ohm: point.uncertainty_ohm(),
            u_polar_ohm: z_ohm.filter(|z| z.norm() > 0.0).and_then(polar),
            trust: point.trust(),
            region: point.region(),
            fixture: point.chosen,
        }
    }
}
