use nalgebra::DMatrix;
use num_complex::Complex64;

use super::ExtractError;
use super::form::{Form, MAX_VALUES};

/// The quantity that a value is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Quantity {
    /// Ls = X/ω.
    SeriesInductance,
    /// Cs = −1/(ωX).
    SeriesCapacitance,
    /// Rs = Re Z.
    SeriesResistance,
    /// Lp = −1/(ω·Im Y).
    ParallelInductance,
    /// Cp = Im Y/ω.
    ParallelCapacitance,
    /// Rp = 1/Re Y.
    ParallelResistance,
    /// Q = |X|/R.
    Q,
    /// D = R/|X|.
    Dissipation,
    /// R of a part or a model.
    Resistance,
    /// L of a part or a model.
    Inductance,
    /// C of a part or a model.
    Capacitance,
    /// Resistance in series with a capacitance.
    Esr,
    /// Inductance in series with a capacitance.
    Esl,
    /// Capacitance across a resistor or a winding.
    WindingCapacitance,
    /// Resistance of a winding that grows with √f, at the highest frequency of the sweep.
    SkinResistance,
    /// Where X crosses zero. B crosses zero there too.
    SelfResonance,
    /// 1/(2π√(LC)), which losses move away from where X crosses zero.
    LcResonance,
    /// Width of a resonance, f0/Q.
    Width,
    /// Series resonance fs.
    SeriesResonance,
    /// Parallel resonance fp.
    ParallelResonance,
    /// Zero-phase frequency fr of a crystal.
    ZeroPhase,
    /// R1 of a crystal.
    MotionalResistance,
    /// L1 of a crystal.
    MotionalInductance,
    /// C1 of a crystal.
    MotionalCapacitance,
    /// C0 of a crystal.
    HolderCapacitance,
    /// L0 of a choke.
    LowFrequencyInductance,
    /// Relaxation frequency of a core.
    Relaxation,
    /// Zc of a line.
    CharacteristicImpedance,
    /// Delay of a line, one way.
    Delay,
    /// Loss of a line, one way, at the highest frequency of the sweep.
    Loss,
}

impl Quantity {
    /// Symbol and unit; the unit is empty for a ratio.
    fn face(self) -> (&'static str, &'static str) {
        match self {
            Self::SeriesInductance => ("Ls", "H"),
            Self::SeriesCapacitance => ("Cs", "F"),
            Self::SeriesResistance => ("Rs", "Ω"),
            Self::ParallelInductance => ("Lp", "H"),
            Self::ParallelCapacitance => ("Cp", "F"),
            Self::ParallelResistance => ("Rp", "Ω"),
            Self::Q => ("Q", ""),
            Self::Dissipation => ("D", ""),
            Self::Resistance => ("R", "Ω"),
            Self::Inductance => ("L", "H"),
            Self::Capacitance => ("C", "F"),
            Self::Esr => ("ESR", "Ω"),
            Self::Esl => ("ESL", "H"),
            Self::WindingCapacitance => ("C across", "F"),
            Self::SkinResistance => ("R skin", "Ω"),
            Self::SelfResonance => ("self-resonance (X = 0)", "Hz"),
            Self::LcResonance => ("1/(2π√(LC))", "Hz"),
            Self::Width => ("width", "Hz"),
            Self::SeriesResonance => ("fs", "Hz"),
            Self::ParallelResonance => ("fp", "Hz"),
            Self::ZeroPhase => ("fr", "Hz"),
            Self::MotionalResistance => ("R1", "Ω"),
            Self::MotionalInductance => ("L1", "H"),
            Self::MotionalCapacitance => ("C1", "F"),
            Self::HolderCapacitance => ("C0", "F"),
            Self::LowFrequencyInductance => ("L0", "H"),
            Self::Relaxation => ("relaxation", "Hz"),
            Self::CharacteristicImpedance => ("Zc", "Ω"),
            Self::Delay => ("delay", "s"),
            Self::Loss => ("loss", "Np"),
        }
    }

    /// The symbol of the trade.
    pub fn symbol(self) -> &'static str {
        self.face().0
    }

    /// SI unit; empty for a ratio.
    pub fn unit(self) -> &'static str {
        self.face().1
    }

    pub(crate) fn is_resistance(self) -> bool {
        matches!(
            self,
            Self::Resistance | Self::Esr | Self::SkinResistance | Self::MotionalResistance
        )
    }
}

/// A value with its standard uncertainty (k = 1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Value {
    /// The quantity.
    pub quantity: Quantity,
    /// In the SI unit of the quantity.
    pub value: f64,
    /// Standard uncertainty in the same unit.
    pub u: f64,
}

impl Value {
    /// True where value ± `coverage_factor`·u does not lie above zero, so that the value alone
    /// can mislead: it is printed with its [`Self::upper_bound`].
    pub fn holds_zero(&self, coverage_factor: f64) -> bool {
        self.u > 0.0 && self.value <= coverage_factor * self.u
    }

    /// The value below which a quantity that can't be negative lies with 95 % probability,
    /// v + u·Φ⁻¹(1 − 0.05·Φ(v/u)), in the unit of the quantity.
    ///
    /// Source: a Gaussian of mean v and standard deviation u, cut off below zero; its 95 %
    /// quantile. 1.645·u above v where v is far above zero.
    ///
    /// ```
    /// use jigwise_physics::{Quantity, Value};
    ///
    /// let esr = Value { quantity: Quantity::Esr, value: 0.0, u: 1.0 };
    /// assert!(esr.holds_zero(2.0));
    /// // Half of the Gaussian is left, so the quantile is that of 97.5 %.
    /// assert!((esr.upper_bound() - 1.959964).abs() < 1e-6);
    /// ```
    pub fn upper_bound(&self) -> f64 {
        if self.u <= 0.0 {
            return self.value;
        }
        self.value + self.u * upper_quantile(0.05, self.value / self.u)
    }
}

/// z with Q(z) = `share`·Φ(at), Q = 1 − Φ, for a share of at most 0.05.
fn upper_quantile(share: f64, at: f64) -> f64 {
    // Beyond this Q leaves the range of the numbers, and Q(z) ≈ e^(−z²/2)/z falls by the share
    // over −ln(share)/z.
    const FAR: f64 = 30.0;
    if at < -FAR {
        return -at - share.ln() / -at;
    }
    let upper_tail = |z: f64| 0.5 * libm::erfc(z * std::f64::consts::FRAC_1_SQRT_2);
    let wanted = share * upper_tail(-at);
    // ln Q is concave, so Newton's method comes down from above without a turn.
    let mut z = (-2.0 * wanted.ln()).sqrt();
    for _ in 0..50 {
        let tail = upper_tail(z);
        let density = (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt();
        let step = (tail / wanted).ln() * tail / density;
        z += step;
        if step.abs() <= 1e-14 * z {
            break;
        }
    }
    z
}

/// A quantity that this sweep can't tell, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// The quantity.
    pub quantity: Quantity,
    /// Why the sweep doesn't tell it.
    pub why: ExtractError,
}

/// How well a model follows the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Goodness {
    /// χ². Without any random scatter given, the sum of the squares of the relative residuals.
    pub chi_square: f64,
    /// 2N − p for N points and p fitted values.
    pub degrees_of_freedom: u32,
    /// p-value of χ²; `None` where no random scatter was given.
    pub p: Option<f64>,
    /// Where the largest residual is, Hz.
    pub worst_hz: f64,
    /// The largest residual |ΔZ|, Ω, in the measure of the weights.
    pub worst_ohm: f64,
    /// The same in standard deviations of the random scatter of its point.
    pub worst_in_sigma: f64,
}

/// Values with their joint covariance.
#[derive(Debug, Clone, PartialEq)]
pub struct Extracted {
    /// Independent values first, those derived from them after. A value refused is not here. One
    /// that [holds zero](Value::holds_zero) is.
    pub values: Vec<Value>,
    /// The quantities that the sweep can't tell.
    pub refused: Vec<Refused>,
    /// How well the model fits; `None` for values of one point.
    pub goodness: Option<Goodness>,
    /// Number of points left out because they are too near an open.
    pub left_out: usize,
    pub(super) covariance: DMatrix<f64>,
    /// The circuit as fitted, with all of its values.
    pub(super) fitted: Option<(Form, [f64; MAX_VALUES])>,
    /// ln det V where the covariance V of the readings is that of this circuit's impedance; zero
    /// where all circuits share one.
    pub(super) ln_determinant: f64,
}

impl Extracted {
    /// The values, one for each: Rs and the ESR of a capacitor are one.
    pub fn distinct(&self) -> impl Iterator<Item = &Value> {
        let is_new = |at: usize| {
            let value = &self.values[at];
            let is_other =
                |v: &Value| v.value != value.value || v.quantity.unit() != value.quantity.unit();
            self.values[..at].iter().all(is_other)
        };
        (0..self.values.len())
            .filter(move |at| is_new(*at))
            .map(|at| &self.values[at])
    }

    /// From values and their covariance; values in `refused` are left out of both.
    pub(super) fn new(
        named: &[(Quantity, f64)],
        covariance: &DMatrix<f64>,
        refused: Vec<Refused>,
        goodness: Option<Goodness>,
    ) -> Self {
        let kept: Vec<usize> = (0..named.len())
            .filter(|&k| refused.iter().all(|r| r.quantity != named[k].0))
            .collect();
        Self {
            values: kept
                .iter()
                .map(|&k| Value {
                    quantity: named[k].0,
                    value: named[k].1,
                    u: covariance[(k, k)].max(0.0).sqrt(),
                })
                .collect(),
            covariance: covariance.select_rows(&kept).select_columns(&kept),
            refused,
            goodness,
            left_out: 0,
            fitted: None,
            ln_determinant: 0.0,
        }
    }

    /// Leaves 1/(2π√(LC)) out where the zero of X says the same: where they differ by less than
    /// the larger 95 % uncertainty of the two, or by less than 0.1 %.
    pub(super) fn drop_lossless_resonance(&mut self) {
        const MIN_RELATIVE_DIFFERENCE: f64 = 1e-3;
        // Refused with the zero of X, for the same reason.
        self.refused
            .retain(|refused| refused.quantity != Quantity::LcResonance);
        let Some(at) = self.index(Quantity::LcResonance) else {
            return;
        };
        let Some(zero) = self.value(Quantity::SelfResonance) else {
            return;
        };
        let lossless = self.values[at];
        let difference = (lossless.value - zero.value).abs();
        if difference <= MIN_RELATIVE_DIFFERENCE * zero.value
            || difference <= 2.0 * lossless.u.max(zero.u)
        {
            self.values.remove(at);
            let covariance = std::mem::replace(&mut self.covariance, DMatrix::zeros(0, 0));
            self.covariance = covariance.remove_row(at).remove_column(at);
        }
    }

    /// True where L or C of a resistor is clearly below zero.
    pub(super) fn has_wrong_sign(&self) -> bool {
        let is_wrong = |quantity| {
            self.value(quantity)
                .is_some_and(|value| value.value < -3.0 * value.u)
        };
        is_wrong(Quantity::Inductance) || is_wrong(Quantity::WindingCapacitance)
    }

    /// Z(f) of the circuit that was fitted, Ω, at `freq_hz` above zero; `None` for values of one
    /// point. Refused values count with what the fit found for them: this is the circuit that
    /// [`Self::goodness`] describes.
    pub fn impedance_ohm(&self, freq_hz: f64) -> Option<Complex64> {
        let (form, values) = &self.fitted?;
        Some(form.impedance_ohm(values, freq_hz)).filter(|z| freq_hz > 0.0 && z.is_finite())
    }

    /// True where X of the fitted circuit changes its sign between two of these frequencies.
    /// False for values of one point.
    pub fn crosses_zero(&self, freq_hz: &[f64]) -> bool {
        let mut last = 0.0;
        freq_hz.iter().any(|&hz| {
            let x = self.impedance_ohm(hz).map_or(0.0, |z| z.im);
            let crosses = x * last < 0.0;
            if x != 0.0 {
                last = x.signum();
            }
            crosses
        })
    }

    /// How many values were fitted, refused ones included; `None` for values of one point.
    pub(super) fn fitted_values(&self) -> Option<usize> {
        self.fitted.map(|(form, _)| form.quantities().len())
    }

    fn index(&self, quantity: Quantity) -> Option<usize> {
        self.values.iter().position(|v| v.quantity == quantity)
    }

    /// The value of a quantity; `None` where it was refused or is not of this part.
    pub fn value(&self, quantity: Quantity) -> Option<Value> {
        self.index(quantity).map(|k| self.values[k])
    }

    /// Why a quantity was refused; `None` where it was not.
    pub fn refusal(&self, quantity: Quantity) -> Option<&ExtractError> {
        let refused = self.refused.iter().find(|r| r.quantity == quantity);
        refused.map(|r| &r.why)
    }

    /// Covariance of two values, in the product of their units.
    pub fn covariance(&self, a: Quantity, b: Quantity) -> Option<f64> {
        Some(self.covariance[(self.index(a)?, self.index(b)?)])
    }

    /// Correlation of two values, −1 to 1; `None` where one has no uncertainty.
    pub fn correlation(&self, a: Quantity, b: Quantity) -> Option<f64> {
        let size = self.value(a)?.u * self.value(b)?.u;
        let covariance = self.covariance(a, b)?;
        (size > 0.0).then(|| (covariance / size).clamp(-1.0, 1.0))
    }
}
