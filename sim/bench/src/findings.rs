//! What a reduced sweep says of the part: a circuit's values, its self-resonance, its values at
//! single frequencies, or why there are none.

use jigwise_physics::{
    ExtractError, Extracted, ImpedanceSweep, LineEnd, Model, Quantity, Reactive,
};

use crate::reduce::Judged;
use crate::show::{engineering, fixed};

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

/// What is looked for first, and what only where none of these follows the readings.
const USUAL: [Model; 5] = [
    Model::Resistor,
    Model::Capacitor,
    Model::Inductor,
    Model::InductorWithSkin,
    Model::Choke,
];
const SPECIAL: [Model; 5] = [
    Model::SeriesRlc,
    Model::ParallelRlc,
    Model::Crystal,
    Model::Stub(LineEnd::Open),
    Model::Stub(LineEnd::Short),
];

/// By how much the measure −2·ln(likelihood) + p·ln(2N) of another circuit must be less to count
/// as better: a factor of twenty in likelihood. Common practice, no source.
const CLEARLY_BETTER: f64 = 6.0;
/// Without an instrument a circuit that misses the readings by more than this, rms and relative
/// to |Z|, is not taken for the part.
const MOST_MISSED: f64 = 0.1;

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

    /// Looks at a sweep.
    ///
    /// # Errors
    /// [`ExtractError`] where there is no point to look at.
    pub fn of(judged: &Judged, wanted: &Wanted) -> Result<Self, ExtractError> {
        let sweep = ImpedanceSweep::new(
            &judged.freq_hz,
            &judged.z_ohm,
            &judged.random,
            &judged.shifts,
        )?;
        let has_budget = judged.random.iter().any(|scatter| scatter.trace() > 0.0);
        let mut tried = Vec::new();
        let (chosen, why) = match wanted {
            Wanted::OneOf(models) => asked_for(&sweep, models, has_budget, &mut tried),
            Wanted::Automatic => {
                tried.extend(USUAL.map(|model| (model, sweep.fit(model))));
                let mut chosen = best(&tried, sweep.points(), has_budget);
                if chosen.is_none() {
                    tried.extend(SPECIAL.map(|model| (model, sweep.fit(model))));
                    chosen = best(&tried, sweep.points(), has_budget);
                }
                let why = why(&tried, chosen, has_budget);
                (chosen, why)
            }
        };
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
        })
    }

    /// What has to be said about the part changing kind, where it does.
    pub fn change_of_kind(&self) -> Option<String> {
        let hz = self
            .resonance
            .as_ref()
            .ok()?
            .value(Quantity::SelfResonance)?;
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
        Some(format!(
            "Above its self-resonance at {} the part is no {noun}: it is {}, and has no \
             {quantity} to report there.",
            engineering(hz.value, "Hz", 5),
            named(is, false).0
        ))
    }
}

fn asked_for(
    sweep: &ImpedanceSweep<'_>,
    models: &[Model],
    has_budget: bool,
    tried: &mut Vec<(Model, Result<Extracted, ExtractError>)>,
) -> (Option<usize>, String) {
    tried.extend(models.iter().map(|model| (*model, sweep.fit(*model))));
    let chosen = best(tried, sweep.points(), has_budget);
    let why = match chosen {
        Some(at) => format!(
            "Described as {}, as asked for.{}",
            model_words(tried[at].0),
            missed(&tried[at].1)
        ),
        None => why(tried, None, has_budget),
    };
    (chosen, why)
}

/// rms of the relative residuals, where the scatter was taken from them.
fn relative_miss(found: &Extracted) -> Option<f64> {
    let goodness = found.goodness.filter(|goodness| goodness.p.is_none())?;
    Some((goodness.chi_square / f64::from(goodness.degrees_of_freedom.max(1))).sqrt())
}

fn missed(found: &Result<Extracted, ExtractError>) -> String {
    match found.as_ref().ok().and_then(relative_miss) {
        Some(miss) if miss < 1e-6 => " It follows the readings to the last digits.".to_owned(),
        Some(miss) => format!(
            " It misses the readings by {}\u{202f}% of |Z|, rms.",
            fixed(100.0 * miss, if miss < 0.01 { 3 } else { 1 })
        ),
        None => String::new(),
    }
}

/// The circuit with the least −2·ln(likelihood) + p·ln(2N); the earlier one unless the later is
/// clearly better.
fn best(
    tried: &[(Model, Result<Extracted, ExtractError>)],
    points: usize,
    has_budget: bool,
) -> Option<usize> {
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
    best.map(|(at, _)| at)
}

fn why(
    tried: &[(Model, Result<Extracted, ExtractError>)],
    chosen: Option<usize>,
    has_budget: bool,
) -> String {
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
    let against = match (others, has_budget) {
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
