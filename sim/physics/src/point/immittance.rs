//! What is measured: a device, and the impedance the analyzer's ports refer to.

use num_complex::Complex64;

use crate::point::mobius::{Ratio, divide};
use crate::{Mobius, NumberError};

/// The real, positive impedance that S-parameters refer to, in ohms.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct ReferenceImpedance(f64);

impl ReferenceImpedance {
    /// 50 Ω, what nearly every analyzer has.
    pub const FIFTY_OHM: Self = Self(50.0);

    /// A reference of `ohm`.
    ///
    /// # Errors
    /// [`NumberError`] unless `ohm` is finite and above zero.
    pub fn new(ohm: f64) -> Result<Self, NumberError> {
        const WHAT: &str = "reference impedance in ohms";
        if !ohm.is_finite() {
            return Err(NumberError::NotFinite {
                what: WHAT,
                value: ohm,
            });
        }
        if ohm <= 0.0 {
            return Err(NumberError::NotPositive {
                what: WHAT,
                value: ohm,
            });
        }
        Ok(Self(ohm))
    }

    /// The value in ohms.
    pub const fn ohm(self) -> f64 {
        self.0
    }
}

impl Default for ReferenceImpedance {
    fn default() -> Self {
        Self::FIFTY_OHM
    }
}

/// A device as the pair (v, i) of its voltage and current, up to a common factor: Z = v/i.
///
/// ```
/// use jigwise_physics::{Complex64, Immittance};
///
/// let part = Immittance::from_impedance(Complex64::new(3.0, -40.0))?;
/// assert_eq!(part.impedance(), Some(Complex64::new(3.0, -40.0)));
/// assert_eq!(Immittance::OPEN.impedance(), None);
/// assert_eq!(Immittance::OPEN.admittance(), Some(Complex64::new(0.0, 0.0)));
/// # Ok::<(), jigwise_physics::NumberError>(())
/// ```
///
/// `==` compares as for [`Ratio`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Immittance(Ratio);

impl Immittance {
    /// Nothing connected: no current at any voltage.
    pub const OPEN: Self = Self(Ratio::of_parts(Complex64::ONE, Complex64::ZERO));
    /// A perfect link: no voltage at any current.
    pub const SHORT: Self = Self(Ratio::of_parts(Complex64::ZERO, Complex64::ONE));

    /// The device with impedance `ohm` = R + jX.
    ///
    /// # Errors
    /// [`NumberError::NotFinite`] for NaN or infinity; an open is [`Immittance::OPEN`].
    pub fn from_impedance(ohm: Complex64) -> Result<Self, NumberError> {
        let ohm = crate::number::finite("impedance in ohms", ohm)?;
        Ratio::new(ohm, Complex64::ONE).map(Self)
    }

    /// The device with admittance `siemens` = G + jB.
    ///
    /// # Errors
    /// [`NumberError::NotFinite`] for NaN or infinity; a short is [`Immittance::SHORT`].
    pub fn from_admittance(siemens: Complex64) -> Result<Self, NumberError> {
        let siemens = crate::number::finite("admittance in siemens", siemens)?;
        Ratio::new(Complex64::ONE, siemens).map(Self)
    }

    /// The device whose voltage and current phasors are in the ratio v : i (V/A).
    ///
    /// # Errors
    /// [`NumberError`] for parts that are not finite and for 0 : 0.
    pub fn from_pair(v: Complex64, i: Complex64) -> Result<Self, NumberError> {
        Ratio::new(v, i).map(Self)
    }

    pub(crate) fn from_ratio(ratio: Ratio) -> Self {
        Self(ratio)
    }

    /// The pair as a point, for use with [`crate::Mobius`].
    pub fn ratio(self) -> Ratio {
        self.0
    }

    /// v, up to the common factor.
    pub fn v(self) -> Complex64 {
        self.0.num()
    }

    /// i, up to the common factor.
    pub fn i(self) -> Complex64 {
        self.0.den()
    }

    /// Z = v/i in ohms; `None` for an open.
    pub fn impedance(self) -> Option<Complex64> {
        self.0.value()
    }

    /// Y = i/v in siemens; `None` for a short.
    pub fn admittance(self) -> Option<Complex64> {
        if self.is_short() {
            return None;
        }
        let value = divide(self.i(), self.v());
        (value.re.is_finite() && value.im.is_finite()).then_some(value)
    }

    /// True where no current flows.
    pub fn is_open(self) -> bool {
        self.i() == Complex64::ZERO
    }

    /// True where no voltage appears.
    pub fn is_short(self) -> bool {
        self.v() == Complex64::ZERO
    }

    /// Re(v·i*), proportional to the power taken in.
    pub(crate) fn power_product(self) -> f64 {
        self.v().re * self.i().re + self.v().im * self.i().im
    }

    /// The two devices one after the other: Z1 + Z2. Two opens in series are an open.
    pub fn in_series_with(self, other: Self) -> Self {
        let lower = self.i() * other.i();
        let upper = self.v() * other.i() + other.v() * self.i();
        if lower == Complex64::ZERO && upper == Complex64::ZERO {
            return Self::OPEN;
        }
        Ratio::new(upper, lower).map_or(Self::OPEN, Self)
    }

    /// The two devices side by side: Y1 + Y2. Two shorts in parallel are a short.
    pub fn in_parallel_with(self, other: Self) -> Self {
        self.swapped().in_series_with(other.swapped()).swapped()
    }

    fn swapped(self) -> Self {
        Self(Ratio::of_parts(self.i(), self.v()))
    }

    /// Chordal distance from `other` on the sphere of z = Z/Z0, 0 to 1.
    pub fn chordal_distance(self, other: Self, z0: ReferenceImpedance) -> f64 {
        let normalised = Mobius::from_real([[1.0, 0.0], [0.0, z0.ohm()]]);
        normalised
            .apply(self.0)
            .chordal_distance(normalised.apply(other.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ohms(r: f64, x: f64) -> Immittance {
        Immittance::from_impedance(Complex64::new(r, x)).unwrap()
    }

    #[test]
    fn series_and_parallel_hold_with_open_and_short() {
        let part = ohms(30.0, 40.0);
        let z0 = ReferenceImpedance::FIFTY_OHM;
        let same = |a: Immittance, b: Immittance| assert!(a.chordal_distance(b, z0) < 1e-15);
        same(part.in_series_with(Immittance::SHORT), part);
        same(part.in_series_with(Immittance::OPEN), Immittance::OPEN);
        same(part.in_parallel_with(Immittance::OPEN), part);
        same(part.in_parallel_with(Immittance::SHORT), Immittance::SHORT);
        same(
            Immittance::OPEN.in_series_with(Immittance::OPEN),
            Immittance::OPEN,
        );
        same(part.in_series_with(part), ohms(60.0, 80.0));
        same(part.in_parallel_with(part), ohms(15.0, 20.0));
    }

    #[test]
    fn reference_must_be_positive() {
        assert!(ReferenceImpedance::new(0.0).unwrap_err().is_not_positive());
        assert!(
            ReferenceImpedance::new(-50.0)
                .unwrap_err()
                .is_not_positive()
        );
        assert!(
            ReferenceImpedance::new(f64::NAN)
                .unwrap_err()
                .is_not_finite()
        );
    }
}
