//! What a reduced sweep says of the part: a circuit's values, its self-resonance, its values at
//! single frequencies, or why there are none.

use jigwise_physics::{
    CALIBRATION_RESIDUAL, ExtractError, Extracted, ImpedanceSweep, LineEnd, LowEnd, Model,
    ModelChoice, Quantity, ROUNDING_RESIDUAL, Reactive, Value,
};

use crate::{COVERAGE_FACTOR, FitInput};
use jigwise_quantity::{fixed, rounded, with_spread};

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

/// The circuit that is looked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Wanted {
    /// Whichever follows the readings best.
    Automatic,
    /// One of these, the first that follows.
    OneOf(Vec<Model>),
}

/// What is assumed where the p-value of a fit is told.
pub const RESIDUALS_ARE_CONSTANT: &str = "A residual of the calibration is taken as one constant \
     over the sweep, scaled by the instrument's figures in each band: one that changes otherwise \
     with frequency counts as a misfit. Of readings corrected elsewhere the noise is known no better than the front end, and p counts with that.";

/// How the part behaves at the low end of the sweep, in a sentence.
fn low_end_words(low_end: LowEnd) -> &'static str {
    match low_end {
        LowEnd::Capacitive => "It begins as a capacitor at the low end of the sweep",
        LowEnd::Inductive => "It begins as a coil at the low end of the sweep",
        LowEnd::Resistive => "It begins as a resistor at the low end of the sweep",
    }
}

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
    /// [`ExtractError`] where there is no point to look at.
    pub fn of(input: &FitInput, wanted: &Wanted) -> Result<Self, ExtractError> {
        let sweep = input.sweep()?;
        let has_budget = sweep.has_random_scatter();
        if !input.soundness.stands() {
            return Ok(Self {
                tried: Vec::new(),
                chosen: None,
                why: input.soundness.to_string(),
                resonance: Err(ExtractError::OhmsDoNotStand),
                spots: Vec::new(),
                has_budget,
            });
        }
        let choice = match wanted {
            Wanted::OneOf(models) => sweep.choose_model_among(&[models]),
            Wanted::Automatic => sweep.choose_model(),
        };
        let ModelChoice { tried, chosen } = choice;
        let why = match (wanted, chosen) {
            (Wanted::OneOf(_), Some(at)) => format!(
                "Described as {}, as asked for.{}",
                tried[at].0.words(),
                missed(&tried[at].1)
            ),
            (Wanted::OneOf(_), None) => why(&tried, None, has_budget),
            (Wanted::Automatic, _) => format!(
                "{}. {}",
                low_end_words(sweep.low_end()),
                why(&tried, chosen, has_budget)
            ),
        };
        let resonance = resonance(&sweep, wanted, &tried, chosen);
        let spots = spots(&sweep, &resonance)
            .into_iter()
            .map(|freq_hz| {
                let found = match resonance {
                    Ok(_) => sweep.point_values(freq_hz),
                    Err(_) => sweep.point_values_of_one_kind(freq_hz),
                };
                (freq_hz, found)
            })
            .collect();
        Ok(Self {
            tried,
            chosen,
            why,
            resonance,
            spots,
            has_budget,
        })
    }

    /// The self-resonance, where X crosses zero: that of the circuit where one describes the part
    /// and tells it, otherwise that of the readings.
    pub fn self_resonance(&self) -> Option<Value> {
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
        let at = value_words(&hz, false);
        Some(format!(
            "Above its self-resonance at {at}, where X reads zero, the part is no {noun}: it is {}, \
             and has no {quantity} to report there.",
            named(is, false).0
        ))
    }
}

/// A value with its ± as everything here prints it, and where the interval holds zero the bound
/// below which it is with 95 % probability. Without a budget there is no bound: what the
/// calibration leaves is not in u.
///
/// ```
/// use jigwise_physics::{Quantity, Value};
/// use jigwise_reduce::value_words;
///
/// let esr = Value { quantity: Quantity::Esr, value: -0.1, u: 0.2 };
/// assert_eq!(
///     value_words(&esr, true),
///     "(−100 ± 400)\u{202f}mΩ, below 332\u{202f}mΩ at 95\u{202f}%"
/// );
/// ```
pub fn value_words(value: &Value, has_budget: bool) -> String {
    let unit = value.quantity.unit();
    let mut words = with_spread(value.value, COVERAGE_FACTOR * value.u, unit);
    if let Some(bound) = upper_bound(value, has_budget) {
        words.push_str(&format!(
            ", below {} at 95\u{202f}%",
            rounded(bound, unit, 2)
        ));
    }
    words
}

/// [`Value::upper_bound`] where the printed interval holds zero and a budget is behind it.
pub fn upper_bound(value: &Value, has_budget: bool) -> Option<f64> {
    (has_budget && value.holds_zero(COVERAGE_FACTOR)).then(|| value.upper_bound())
}

/// Values that are refused, a sentence each; a reason that several share is told once.
pub fn not_told(found: &Extracted) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for refused in &found.refused {
        let symbol = refused.quantity.symbol();
        let why = refused.why.to_string();
        match said.iter_mut().find(|s| s.ends_with(&format!(": {why}."))) {
            Some(line) => line.insert_str(0, &format!("{symbol}, ")),
            None => said.push(format!("{symbol}: {why}.")),
        }
    }
    said
}

/// Circuits that have no values, a sentence each; a reason that several share is told once. `name`
/// gives the word for a circuit.
pub fn not_fitted(findings: &Findings, name: impl Fn(Model) -> String) -> Vec<String> {
    let mut said: Vec<(String, String)> = Vec::new();
    for (model, found) in &findings.tried {
        let Err(error) = found else { continue };
        let (name, why) = (name(*model), error.to_string());
        match said.iter_mut().find(|(_, known)| *known == why) {
            Some((names, _)) => names.push_str(&format!(", {name}")),
            None => said.push((name, why)),
        }
    }
    let sentences = said
        .into_iter()
        .map(|(names, why)| format!("{names}: {why}"));
    sentences.collect()
}

/// Where X of the readings crosses zero, unless a circuit that follows them says that it does not:
/// then what crosses is noise, or what the calibration left. The circuit is one chosen among all,
/// whichever was asked for. Where none follows, |X| must be above |R| somewhere below the zero:
/// a part that stays a resistor has no kind to change.
fn resonance(
    sweep: &ImpedanceSweep<'_>,
    wanted: &Wanted,
    tried: &Tried,
    chosen: Option<usize>,
) -> Result<Extracted, ExtractError> {
    let found = sweep.self_resonance()?;
    let of_all = match wanted {
        Wanted::Automatic => None,
        Wanted::OneOf(_) => Some(sweep.choose_model()),
    };
    let (tried, chosen) = of_all
        .as_ref()
        .map_or((tried, chosen), |choice| (&choice.tried, choice.chosen));
    let freq_hz = sweep.freq_hz();
    let resonates = match chosen.and_then(|at| tried[at].1.as_ref().ok()) {
        Some(circuit) => circuit.crosses_zero(freq_hz),
        None => {
            let zero = found.value(Quantity::SelfResonance);
            let below = freq_hz.partition_point(|hz| zero.is_some_and(|zero| *hz < zero.value));
            sweep.z_ohm()[..below]
                .iter()
                .any(|z| z.im.abs() > z.re.abs())
        }
    };
    if resonates {
        return Ok(found);
    }
    Err(ExtractError::NoResonance {
        span_hz: (freq_hz[0], freq_hz[freq_hz.len() - 1]),
        kind: None,
    })
}

type Tried = Vec<(Model, Result<Extracted, ExtractError>)>;

fn missed(found: &Result<Extracted, ExtractError>) -> String {
    match found.as_ref().ok().and_then(Extracted::relative_residual) {
        Some(miss) if miss < ROUNDING_RESIDUAL => {
            " It follows the readings to the last digits.".to_owned()
        }
        Some(miss) => format!(
            " It misses the readings by {}\u{202f}% of |Z|, rms.",
            fixed(100.0 * miss, if miss < 0.01 { 3 } else { 1 })
        ),
        None => String::new(),
    }
}

fn why(tried: &Tried, chosen: Option<usize>, has_budget: bool) -> String {
    let Some(at) = chosen else {
        let poor = tried.iter().filter_map(|(model, found)| {
            let miss = found.as_ref().ok()?.relative_residual()?;
            Some((*model, miss))
        });
        let nearest = poor.min_by(|a, b| a.1.total_cmp(&b.1));
        return match nearest {
            Some((model, miss)) => format!(
                "No circuit follows the readings; the nearest, {}, misses them by \
                 {}\u{202f}% of |Z|, rms. The ohms stand, values of a circuit would mislead.",
                model.words(),
                fixed(100.0 * miss, 0)
            ),
            None => "No circuit describes the part over this sweep. The ohms stand; each \
                     circuit tried says below why it does not fit."
                .to_owned(),
        };
    };
    let (model, found) = &tried[at];
    let others = tried.iter().filter(|(_, found)| found.is_ok()).count() - 1;
    let miss = |found: &Result<Extracted, _>| found.as_ref().ok()?.relative_residual();
    let is_nearest = tried.iter().all(|(_, other)| {
        miss(other)
            .zip(miss(found))
            .is_none_or(|(other, own)| own <= other)
    });
    let against = match (others, has_budget) {
        (_, false) if *model == Model::Resistor && !is_nearest => format!(
            "it misses the readings by no more than the {}\u{202f}% of |Z| that a calibration may \
             leave",
            fixed(100.0 * CALIBRATION_RESIDUAL, 0)
        ),
        (0, _) => "none of the others follows the readings".to_owned(),
        (_, true) => {
            "it follows the readings within their uncertainty with the fewest values".to_owned()
        }
        (_, false) => "it follows the readings best for the number of its values".to_owned(),
    };
    format!(
        "Described as {}: {against}.{}",
        model.words(),
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
