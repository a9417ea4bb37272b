//! Points as they go by, thinned to what a page shows.

use jigwise_physics::{Complex64, Fixture, ReferenceImpedance, StandingCaution, Trust};

use crate::{Ensemble, PartPoint, ROUNDING};
use jigwise_bench::scene::SweepAxis;

/// Columns over the frequency axis of which each keeps its lowest and highest |Z|.
const COLUMNS: usize = 480;
/// Rows of the table.
const ROWS: usize = 36;

/// One point as figures and table show it.
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
    /// The circle of the exact 95 % region and whether the part lies inside it.
    pub region: Option<(Complex64, f64, bool)>,
    /// The fixture that knows the part best.
    pub fixture: Fixture,
    /// Agreement of the fixtures, where they were blended.
    pub p: Option<f64>,
    /// True where a blend was refused.
    pub is_refused: bool,
}

/// What one fixture's identities came to.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct FixtureTally {
    pub(super) points: usize,
    pub(super) identity: Largest,
    pub(super) reciprocity: Largest,
    pub(super) power: Largest,
    pub(super) beyond: usize,
    /// Points beyond one whose R is below zero by more than two uncertainties.
    pub(super) clearly_beyond: usize,
}

/// The largest of some numbers, where it was, and their sum.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Largest {
    pub(super) count: usize,
    pub(super) value: f64,
    pub(super) freq_hz: f64,
    pub(super) sum: f64,
}

impl Largest {
    fn add(&mut self, value: f64, freq_hz: f64) {
        if self.count == 0 || value > self.value {
            (self.value, self.freq_hz) = (value, freq_hz);
        }
        self.count += 1;
        self.sum += value;
    }
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
    pub rows: Vec<PlotPoint>,
    /// Stretches of one chosen fixture, Hz.
    pub runs: Vec<(f64, f64, Fixture)>,
    /// Points for which each fixture was chosen.
    pub chosen: [usize; 3],
    /// Which fixtures were measured.
    pub measured: [bool; 3],
    /// Points by the statement of uncertainty that holds, in the order of [`Trust`].
    pub trusts: [usize; 4],
    /// Points blended, and those of them with p below 0.05.
    pub blended: usize,
    /// Blends that are doubtful.
    pub doubtful: usize,
    /// The least p and where it was, Hz.
    pub least_p: Option<(f64, f64)>,
    /// Why points were not blended: reason, how many, and the first frequency, Hz.
    pub not_blended: Vec<(String, usize, f64)>,
    /// Largest ratio of the levels at which the fixtures drive the part.
    pub level_ratio: f64,
    /// Points with R below zero, and those below by more than two uncertainties.
    pub negative: usize,
    /// Points clearly below zero.
    pub clearly_negative: usize,
    /// The lowest R in its uncertainties, or in ohms without an instrument, and where.
    pub lowest: Option<(f64, f64)>,
    pub(super) tallies: [FixtureTally; 3],
}

/// Takes the points of one ensemble, in order.
#[derive(Debug)]
pub struct Gatherer {
    gathered: Gathered,
    reference: ReferenceImpedance,
    axis: SweepAxis,
    len: usize,
    index: usize,
    freq_hz: Vec<f64>,
    column: Option<(usize, PlotPoint, PlotPoint)>,
}

impl Gathered {
    /// True where an instrument is behind the points.
    pub fn is_known(&self) -> bool {
        self.trusts.iter().sum::<usize>() > 0
    }
}

impl Gatherer {
    /// For the points of `ensemble`.
    pub fn new(ensemble: &Ensemble<'_>) -> Self {
        let all = ensemble.freq_hz();
        let (first_hz, last_hz) = (all[0], all[all.len() - 1]);
        let len = all.len();
        let rows = len.min(ROWS);
        let freq_hz = (0..rows)
            .map(|row| {
                if len <= ROWS {
                    all[row]
                } else {
                    all[row * (len - 1) / (ROWS - 1)]
                }
            })
            .collect();
        let mut measured = [false; 3];
        for sweep in ensemble.sweeps() {
            measured[sweep.fixture() as usize] = true;
        }
        Self {
            gathered: Gathered {
                span_hz: (first_hz, last_hz),
                measured,
                ..Gathered::default()
            },
            reference: ensemble.reference(),
            axis: SweepAxis { first_hz, last_hz },
            len,
            index: 0,
            freq_hz,
            column: None,
        }
    }

    /// Takes the next point.
    pub fn take(&mut self, point: &PartPoint) {
        let plot = PlotPoint::of(point);
        self.count(point, &plot);
        let next = self.freq_hz.get(self.index);
        if next.is_some_and(|freq_hz| point.freq_hz >= *freq_hz) {
            self.gathered.rows.push(plot);
            while self
                .freq_hz
                .get(self.index)
                .is_some_and(|freq_hz| point.freq_hz >= *freq_hz)
            {
                self.index += 1;
            }
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
        match plot.z_ohm {
            None => all.opens += 1,
            Some(z) => {
                let u = plot.u_ohm.map(|u| u.0);
                let measure = z.re / u.filter(|u| *u > 0.0).unwrap_or(1.0);
                if all.lowest.is_none_or(|(lowest, _)| measure < lowest) {
                    all.lowest = Some((measure, hz));
                }
                let is_negative = point
                    .as_reduced()
                    .is_some_and(|p| p.has_negative_resistance(point.chosen, self.reference));
                all.negative += usize::from(is_negative);
                let is_clear = is_negative && z.re < -2.0 * u.unwrap_or(0.0);
                all.clearly_negative += usize::from(is_clear);
            }
        }
        match &point.blend {
            None => {}
            Some(Ok(blend)) => {
                all.blended += 1;
                all.doubtful += usize::from(blend.is_doubtful);
                if all.least_p.is_none_or(|(p, _)| blend.p < p) {
                    all.least_p = Some((blend.p, hz));
                }
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
        for (seen, tally) in point.seen.iter().zip(&mut all.tallies) {
            let Some(seen) = seen else { continue };
            tally.points += 1;
            tally.power.add(seen.power_out, hz);
            if seen.power_out > 1.0 + ROUNDING {
                tally.beyond += 1;
                let r = seen.device.impedance().map_or(0.0, |z| z.re);
                let u = seen.uncertainty_ohm().map_or(0.0, |(u_r, _)| u_r);
                tally.clearly_beyond += usize::from(r < -2.0 * u);
            }
            if let Some(miss) = seen.consistency {
                tally.identity.add(miss, hz);
            }
            if let Some(miss) = seen.reciprocity {
                tally.reciprocity.add(miss, hz);
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
fn refusal(error: &jigwise_physics::BlendError) -> String {
    use jigwise_physics::BlendError;
    match error {
        BlendError::TooFew { usable } => format!(
            "{usable} of the fixtures {} the part well enough there (6σ from the pole of the \
             inverse), and a blend takes two",
            if *usable == 1 { "sees" } else { "see" }
        ),
        BlendError::Contradiction { .. } => {
            "the fixtures contradict each other within their uncertainty (p below 0.001): a \
             stray, a wrong fixture or too small a budget"
                .to_owned()
        }
        BlendError::NoEstimate => "no impedance fits the readings".to_owned(),
        other => other.to_string(),
    }
}

impl PlotPoint {
    fn of(point: &PartPoint) -> Self {
        use jigwise_physics::DiscImage;
        let z_ohm = point.device().impedance();
        let covariance = point.covariance();
        let knowledge = point.best().and_then(|best| best.knowledge);
        let region = knowledge
            .filter(|_| point.blended().is_none())
            .and_then(|known| match known.region? {
                DiscImage::Inside { center, radius } => Some((center, radius, true)),
                DiscImage::Outside { center, radius } => Some((center, radius, false)),
                DiscImage::HalfPlane => None,
            });
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
            region,
            fixture: point.chosen,
            p: point.blended().map(|blend| blend.p),
            is_refused: matches!(point.blend, Some(Err(_))),
        }
    }
}
