//! What a reduced sweep says of the part: a circuit's values, its self-resonance, its values at
//! single frequencies, or why there are none.

use jigwise_physics::{
    ExtractError, Extracted, ImpedanceSweep, LineEnd, Model, Quantity, Reactive,
};

use crate::{COVERAGE_FACTOR, FitInput};
use jigwise_quantity::{engineering, fixed};

/// The circuits by their names in commands.
pub const MODELS: [(&str, Model); 10] = [
    ("resistor", Model::Resistor),
    ("capacitor", Model::Capacitor),
    ("inductor", Model::Inductor),
    ("inductor-with-skin", Model::InductorWithSkin),
    ("series-rlc", Model::SeriesRlc),
    ("parallel-rlc", Model::ParallelRlc),
    ("crystal", Model::Crystal),
    ("choke", Model::Choke),
    ("open-stub", Model::Stub(LineEnd::Open)),
    ("shorted-stub", Model::Stub(LineEnd::Short)),
];

/// A circuit's name in commands.
pub fn model_key(model: Model) -> &'static str {
    MODELS
        .iter()
        .find(|(_, known)| *known == model)
        .map_or("circuit", |(key, _)| key)
}

/// A circuit in a few words.
pub fn model_words(model: Model) -> &'static str {
    match model {
        Model::Resistor => "a resistor with its parasitics",
        Model::Capacitor => "a capacitor with ESR and ESL",
        Model::Inductor => "a coil with series resistance and winding capacitance",
        Model::InductorWithSkin => "a coil with skin loss and winding capacitance",
        Model::SeriesRlc => "R, L and C in series",
        Model::ParallelRlc => "R, L and C in parallel",
        Model::Crystal => "a crystal",
        Model::Choke => "a choke on a lossy core",
        Model::Stub(LineEnd::Open) => "a line with an open end",
        Model::Stub(LineEnd::Short) => "a line with a shorted end",
        _ => "a circuit",
    }
}

/// The circuit that is looked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wanted {
    /// Whichever follows the readings best.
    Automatic,
    /// One of these, the first that follows.
    OneOf(Vec<Model>),
}

/// How the part begins, at the low end of the sweep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Beginning {
    Capacitive,
    Inductive,
    Resistive,
}

impl Beginning {
    /// By the middle angle of the first twentieth of the points: beyond 45° the reactance is
    /// the larger.
    fn of(z_ohm: &[jigwise_physics::Complex64]) -> Self {
        let first = &z_ohm[..z_ohm.len().div_ceil(20)];
        let mut angles: Vec<f64> = first.iter().map(|z| z.im.atan2(z.re.abs())).collect();
        angles.sort_by(f64::total_cmp);
        match angles[angles.len() / 2] {
            angle if angle > std::f64::consts::FRAC_PI_4 => Self::Inductive,
            angle if angle < -std::f64::consts::FRAC_PI_4 => Self::Capacitive,
            _ => Self::Resistive,
        }
    }

    /// What is tried first, and what only where none of these follows the readings.
    fn candidates(self) -> [&'static [Model]; 2] {
        match self {
            Self::Capacitive => [
                &[Model::Capacitor],
                &[Model::SeriesRlc, Model::Crystal, Model::Stub(LineEnd::Open)],
            ],
            Self::Inductive => [
                &[
                    Model::Inductor,
                    Model::InductorWithSkin,
                    Model::Choke,
                    Model::ParallelRlc,
                ],
                &[Model::Stub(LineEnd::Short)],
            ],
            Self::Resistive => [
                &[Model::Resistor, Model::Inductor, Model::Capacitor],
                &[
                    Model::InductorWithSkin,
                    Model::Choke,
                    Model::SeriesRlc,
                    Model::ParallelRlc,
                ],
            ],
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::Capacitive => "It begins as a capacitor at the low end of the sweep",
            Self::Inductive => "It begins as a coil at the low end of the sweep",
            Self::Resistive => "It begins as a resistor at the low end of the sweep",
        }
    }
}

/// Where every circuit is refused because the readings miss it by a little more than the budget
/// says, up to this ratio of χ² to its degrees of freedom, all uncertainties are widened to what
/// is seen. Common practice (Birge ratio), no source for the limit.
const MOST_WIDENED: f64 = 4.0;

/// By how much the measure −2·ln(likelihood) + p·ln(2N) of another circuit must be less to count
/// as better: a factor of twenty in likelihood. Common practice, no source.
const CLEARLY_BETTER: f64 = 6.0;
/// Without an instrument a circuit that misses the readings by more than this, rms and relative
/// to |Z|, is not taken for the part.
const MOST_MISSED: f64 = 0.1;

/// What a calibration may leave of |Z| in the readings, the same all over the sweep, where no
/// instrument tells how much it is: a resistor that is missed by no more is one, whatever other
/// circuit takes that error for a part. Common practice, no source.
const LEFT_BY_CALIBRATION: f64 = 0.02;
/// A miss of |Z| below this is that of the digits.
const LAST_DIGITS: f64 = 1e-6;

/// What a sweep says of the part.
#[derive(Debug, Clone)]
pub struct Findings {
    /// Every circuit tried, with its values or why it has none.
    pub tried: Vec<(Model, Result<Extracted, ExtractError>)>,
    /// Which of them describes the part.
    pub chosen: Option<usize>,
    /// Why that one, or why none, in a sentence.
    pub why: String,
    /// The self-resonance, or why there is none.
    pub resonance: Result<Extracted, ExtractError>,
    /// Values at single frequencies, lowest first: where the part is still of one kind, and at
    /// the upper end of the sweep.
    pub spots: Vec<(f64, Result<Extracted, ExtractError>)>,
    /// True where an instrument's budget is behind the uncertainties.
    pub has_budget: bool,
    /// By which factor the budget was widened to what is seen.
    pub widened: Option<f64>,
}

impl Findings {
    /// The values of the circuit that describes the part.
    pub fn values(&self) -> Option<(Model, &Extracted)> {
        let (model, found) = &self.tried[self.chosen?];
        found.as_ref().ok().map(|found| (*model, found))
    }

    /// Finds circuit values, self-resonance and values at single frequencies in a reduced sweep.
    ///
    /// # Errors
    /// [`ExtractError`] where the sweep has no point.
    pub fn of(input: &FitInput, wanted: &Wanted) -> Result<Self, ExtractError> {
        let sweep =
            ImpedanceSweep::new(&input.freq_hz, &input.z_ohm, &input.random, &input.shifts)?;
        let has_budget = input.random.iter().any(|scatter| scatter.trace() > 0.0);
        let rounds: Vec<&[Model]> = match wanted {
            Wanted::OneOf(models) => vec![models],
            Wanted::Automatic => Beginning::of(&input.z_ohm).candidates().to_vec(),
        };
        let (mut tried, mut chosen) = try_all(&sweep, &rounds, has_budget);
        let mut widened = None;
        if let (None, Some(ratio)) = (chosen, excess(&tried)) {
            let random: Vec<_> = input
                .random
                .iter()
                .map(|scatter| *scatter * ratio)
                .collect();
            let factor = ratio.sqrt();
            let mut shifts = input.shifts.clone();
            shifts.iter_mut().flatten().for_each(|step| *step *= factor);
            let wider = ImpedanceSweep::new(&input.freq_hz, &input.z_ohm, &random, &shifts)?;
            let (again, found) = try_all(&wider, &rounds, has_budget);
            if found.is_some() {
                (tried, chosen, widened) = (again, found, Some(factor));
            }
        }
        let mut why = match (wanted, chosen) {
            (Wanted::OneOf(_), Some(at)) => format!(
                "Described as {}, as asked for.{}",
                model_words(tried[at].0),
                missed(&tried[at].1)
            ),
            (Wanted::OneOf(_), None) => why(&tried, None, has_budget),
            (Wanted::Automatic, _) => format!(
                "{}. {}",
                Beginning::of(&input.z_ohm).words(),
                why(&tried, chosen, has_budget)
            ),
        };
        if let Some(ratio) = widened {
            why.push_str(&format!(
                " The readings keep {} times as far from it as the budget says, as readings do \
                 that were corrected elsewhere and hold the noise of the standards; the \
                 uncertainties of these values are widened by that.",
                fixed(ratio, 2)
            ));
        }
        let resonance = sweep.self_resonance();
        let spots = spots(&sweep, &resonance)
            .into_iter()
            .map(|freq_hz| (freq_hz, sweep.point_values(freq_hz)))
            .collect();
        Ok(Self {
            tried,
            chosen,
            why,
            resonance,
            spots,
            has_budget,
            widened,
        })
    }

    /// The self-resonance: that of the circuit where one describes the part, otherwise where the
    /// reactance or susceptance of the readings crosses zero.
    pub fn self_resonance(&self) -> Option<jigwise_physics::Value> {
        let of_circuit = self
            .values()
            .and_then(|(_, values)| values.value(Quantity::SelfResonance));
        let crossing = || self.resonance.as_ref().ok()?.value(Quantity::SelfResonance);
        of_circuit.or_else(crossing)
    }

    /// What has to be said about the part changing kind, where it does.
    pub fn change_of_kind(&self) -> Option<String> {
        let hz = self.self_resonance()?;
        let (_, top) = self.spots.last()?;
        let Err(ExtractError::ChangedKind { was, is, .. }) = top else {
            return None;
        };
        let named = |kind: &Reactive, before: bool| match (kind, before) {
            (Reactive::Inductive, true) => ("coil", "inductance"),
            (Reactive::Capacitive, true) => ("capacitor", "capacitance"),
            (Reactive::Inductive, false) => ("inductive", ""),
            (Reactive::Capacitive, false) => ("capacitive", ""),
        };
        let (noun, quantity) = named(was, true);
        // It need not be the one of the circuit: this one is read, with its own uncertainty.
        let mut at = engineering(hz.value, "Hz", 5);
        if hz.u > 1e-9 * hz.value {
            at.push_str(&format!(
                " ± {}",
                engineering(COVERAGE_FACTOR * hz.u, "Hz", 2)
            ));
        }
        Some(format!(
            "Above its self-resonance at {}, where X reads zero, the part is no {noun}: it is {}, \
             and has no {quantity} to report there.",
            at,
            named(is, false).0
        ))
    }
}

type Tried = Vec<(Model, Result<Extracted, ExtractError>)>;

/// Tries one round of circuits after the other until one follows the readings.
fn try_all(
    sweep: &ImpedanceSweep<'_>,
    rounds: &[&[Model]],
    has_budget: bool,
) -> (Tried, Option<usize>) {
    let mut tried = Tried::new();
    for round in rounds {
        tried.extend(round.iter().map(|model| (*model, sweep.fit(*model))));
        let chosen = best(&tried, sweep.points(), has_budget);
        if chosen.is_some() {
            return (tried, chosen);
        }
    }
    (tried, None)
}

/// The least χ² over its degrees of freedom among refused circuits, where it is no more than a
/// little too large.
fn excess(tried: &Tried) -> Option<f64> {
    tried
        .iter()
        .filter_map(|(_, found)| match found {
            Err(ExtractError::Misfit {
                chi_square,
                degrees_of_freedom,
                ..
            }) => Some(chi_square / f64::from(*degrees_of_freedom)),
            _ => None,
        })
        .min_by(f64::total_cmp)
        .filter(|ratio| *ratio <= MOST_WIDENED)
}

/// rms of the relative residuals, where the scatter was taken from them.
fn relative_miss(found: &Extracted) -> Option<f64> {
    let goodness = found.goodness.filter(|goodness| goodness.p.is_none())?;
    Some((goodness.chi_square / f64::from(goodness.degrees_of_freedom.max(1))).sqrt())
}

fn missed(found: &Result<Extracted, ExtractError>) -> String {
    match found.as_ref().ok().and_then(relative_miss) {
        Some(miss) if miss < LAST_DIGITS => {
            " It follows the readings to the last digits.".to_owned()
        }
        Some(miss) => format!(
            " It misses the readings by {}\u{202f}% of |Z|, rms.",
            fixed(100.0 * miss, if miss < 0.01 { 3 } else { 1 })
        ),
        None => String::new(),
    }
}

/// The circuit with the least −2·ln(likelihood) + p·ln(2N); the earlier one unless the later is
/// clearly better.
fn best(tried: &Tried, points: usize, has_budget: bool) -> Option<usize> {
    let n = 2.0 * points as f64;
    let score = |found: &Extracted| {
        let goodness = found.goodness?;
        let values = n - f64::from(goodness.degrees_of_freedom);
        let misfit = if has_budget {
            goodness.chi_square
        } else if relative_miss(found)? > MOST_MISSED {
            return None;
        } else {
            // Below 1e-9 relative it is the digits of the numbers that are left.
            n * (goodness.chi_square / n).max(1e-18).ln()
        };
        Some(misfit + values * n.ln())
    };
    let mut best: Option<(usize, f64)> = None;
    for (at, (_, found)) in tried.iter().enumerate() {
        let Some(score) = found.as_ref().ok().and_then(score) else {
            continue;
        };
        if best.is_none_or(|(_, least)| score < least - CLEARLY_BETTER) {
            best = Some((at, score));
        }
    }
    let at = best?.0;
    let miss = |at: usize| relative_miss(tried[at].1.as_ref().ok()?);
    let is_plain_resistor = tried[0].0 == Model::Resistor
        && miss(0).is_some_and(|miss| miss <= LEFT_BY_CALIBRATION)
        && miss(at).is_some_and(|miss| miss >= LAST_DIGITS);
    Some(if is_plain_resistor { 0 } else { at })
}

fn why(tried: &Tried, chosen: Option<usize>, has_budget: bool) -> String {
    let Some(at) = chosen else {
        let poor = tried.iter().filter_map(|(model, found)| {
            let miss = relative_miss(found.as_ref().ok()?)?;
            Some((*model, miss))
        });
        let nearest = poor.min_by(|a, b| a.1.total_cmp(&b.1));
        return match nearest {
            Some((model, miss)) => format!(
                "No circuit follows the readings; the nearest, {}, misses them by \
                 {}\u{202f}% of |Z|, rms. The ohms stand, values of a circuit would mislead.",
                model_words(model),
                fixed(100.0 * miss, 0)
            ),
            None => "No circuit describes the part over this sweep. The ohms stand; each \
                     circuit tried says below why it does not fit."
                .to_owned(),
        };
    };
    let (model, found) = &tried[at];
    let others = tried.iter().filter(|(_, found)| found.is_ok()).count() - 1;
    let miss = |found: &Result<Extracted, _>| relative_miss(found.as_ref().ok()?);
    let is_nearest = tried.iter().all(|(_, other)| {
        miss(other)
            .zip(miss(found))
            .is_none_or(|(other, own)| own <= other)
    });
    let against = match (others, has_budget) {
        (_, false) if *model == Model::Resistor && !is_nearest => format!(
            "it misses the readings by no more than the {}\u{202f}% of |Z| that a calibration may \
             leave",
            fixed(100.0 * LEFT_BY_CALIBRATION, 0)
        ),
        (0, _) => "none of the others follows the readings".to_owned(),
        (_, true) => {
            "it follows the readings within their uncertainty with the fewest values".to_owned()
        }
        (_, false) => "it follows the readings best for the number of its values".to_owned(),
    };
    format!(
        "Described as {}: {against}.{}",
        model_words(*model),
        missed(found)
    )
}

/// A frequency where the part is still of one kind, and the upper end.
fn spots(sweep: &ImpedanceSweep<'_>, resonance: &Result<Extracted, ExtractError>) -> Vec<f64> {
    let all = sweep.freq_hz();
    let (first, last) = (all[0], all[all.len() - 1]);
    let resonance_hz = resonance
        .as_ref()
        .ok()
        .and_then(|found| found.value(Quantity::SelfResonance))
        .map(|value| value.value);
    let below = match resonance_hz {
        // A third of it: there C or L is 10 % off by the other one.
        Some(hz) => (hz / 10.0).max(first),
        None => (first * last).sqrt(),
    };
    let mut spots = vec![all[sweep.nearest(below)], last];
    spots.dedup();
    spots
}

#[cfg(test)]
mod tests {
    use super::*;
    use jigwise_physics::{Complex64, Covariance};

    fn found(z_ohm: impl Fn(f64) -> Complex64) -> Findings {
        let freq_hz: Vec<f64> = (1..=60).map(|k| 5e5 * f64::from(k)).collect();
        let input = FitInput {
            z_ohm: freq_hz.iter().map(|hz| z_ohm(*hz)).collect(),
            random: vec![Covariance::ZERO; freq_hz.len()],
            freq_hz,
            ..FitInput::default()
        };
        Findings::of(&input, &Wanted::Automatic).unwrap()
    }

    /// 100 Ω with what a calibration leaves, 1.6 % and −1.2 Ω all over the sweep, is no capacitor
    /// of 60 nF, which follows the −1.2 Ω a little better than a resistor does.
    #[test]
    fn an_error_of_the_calibration_makes_no_capacitor() {
        let ripple = |hz: f64| 0.25 * Complex64::cis(hz / 1e6 * 2.4);
        let findings = found(|hz| Complex64::new(101.6, -1.2) + ripple(hz));
        let (model, _) = findings.values().unwrap();
        assert_eq!(model, Model::Resistor, "{}", findings.why);
        assert!(findings.why.contains("may leave"), "{}", findings.why);
    }

    #[test]
    fn a_capacitor_that_shows_is_told() {
        let reactance = |hz: f64| -1.0 / (std::f64::consts::TAU * hz * 60e-9);
        // Exact readings tell a reactance of a percent, rough ones a large one.
        let exact = found(|hz| Complex64::new(100.0, reactance(hz)));
        assert_eq!(exact.values().unwrap().0, Model::Capacitor, "{}", exact.why);
        let rough = found(|hz| {
            Complex64::new(100.0, 10.0 * reactance(hz)) + 0.25 * Complex64::cis(hz / 1e6 * 2.4)
        });
        assert_eq!(rough.values().unwrap().0, Model::Capacitor, "{}", rough.why);
    }
}
