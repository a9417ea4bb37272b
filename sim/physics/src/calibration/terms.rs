//! Two ports: six error terms for each direction.

use num_complex::Complex64;

use crate::{CalibrationError, OnePortTerms, Scattering};

/// The error terms with one port sending.
///
/// With the parameters seen from the sending port, D = 1 − e11·S11 − e22·S22 + e11·e22·det S:
/// m11 = e00 + e10e01·(S11 − e22·det S)/D, m21 = e30 + e10e32·S21/D.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DirectionTerms {
    /// The three terms of the sending port.
    pub one_port: OnePortTerms,
    /// e22, load match: the reflection of the receiving port.
    pub load_match: Complex64,
    /// e10e32, through tracking: the gain from the source to the other receiver.
    pub through_tracking: Complex64,
    /// e30, crosstalk: the leak from the source to the other receiver.
    pub crosstalk: Complex64,
}

impl DirectionTerms {
    /// A direction without errors.
    pub const NONE: Self = Self {
        one_port: OnePortTerms::NONE,
        load_match: Complex64::ZERO,
        through_tracking: Complex64::ONE,
        crosstalk: Complex64::ZERO,
    };

    /// The raw m11 and m21 of a network, its port 1 at the sending port.
    pub fn raw(&self, s: &Scattering) -> (Complex64, Complex64) {
        let det = s.determinant();
        let bottom = self.bottom(s);
        (
            self.one_port.directivity
                + (self.one_port.reflect_tracking * (s.s11 - self.load_match * det)) / bottom,
            self.crosstalk + (self.through_tracking * s.s21) / bottom,
        )
    }

    /// D of a network.
    pub(crate) fn bottom(&self, s: &Scattering) -> Complex64 {
        let (source, load) = (self.one_port.source_match, self.load_match);
        1.0 - source * s.s11 - load * s.s22 + source * load * s.determinant()
    }

    /// Load match and through tracking from the raw readings of a known through, flush or not,
    /// with the terms of the sending port and the crosstalk given:
    ///
    /// with Γ the corrected reflection of the through, e22 = (Γ − S11)/(S12·S21 + S22·(Γ − S11))
    /// and e10e32 = (m21 − e30)·D/S21. For a flush through e22 = Γ and D = 1 − e11·e22.
    ///
    /// # Errors
    /// [`CalibrationError::Singular`] where nothing passes.
    pub(super) fn from_through(
        one_port: OnePortTerms,
        crosstalk: Complex64,
        known: &Scattering,
        raw: (Complex64, Complex64),
    ) -> Result<Self, CalibrationError> {
        let above = one_port.correct(raw.0) - known.s11;
        let mut found = Self {
            one_port,
            load_match: above / (known.s12 * known.s21 + known.s22 * above),
            through_tracking: Complex64::ONE,
            crosstalk,
        };
        found.through_tracking = ((raw.1 - crosstalk) * found.bottom(known)) / known.s21;
        found.checked()
    }

    pub(crate) fn checked(self) -> Result<Self, CalibrationError> {
        let usable = |term: Complex64| term.re.is_finite() && term.im.is_finite();
        if !usable(self.load_match) {
            return Err(CalibrationError::Singular { term: "load match" });
        }
        if !usable(self.through_tracking) || self.through_tracking == Complex64::ZERO {
            return Err(CalibrationError::Singular {
                term: "through tracking",
            });
        }
        Ok(self)
    }

    /// N11 = (m11 − e00)/e10e01 and N21 = (m21 − e30)/e10e32.
    pub(crate) fn normal(&self, raw: (Complex64, Complex64)) -> (Complex64, Complex64) {
        (
            (raw.0 - self.one_port.directivity) / self.one_port.reflect_tracking,
            (raw.1 - self.crosstalk) / self.through_tracking,
        )
    }

    /// S11 and S21 from the readings of this direction alone, without regard to the load match:
    /// S11 = N11/(1 + e11·N11), S21 = N21/(1 + e11·N11).
    pub(super) fn correct_without_load_match(
        &self,
        raw: (Complex64, Complex64),
    ) -> (Complex64, Complex64) {
        let (n11, n21) = self.normal(raw);
        let bottom = 1.0 + self.one_port.source_match * n11;
        (n11 / bottom, n21 / bottom)
    }

    /// S11 and S21 from the readings of this direction alone, for a part that is symmetric and
    /// reciprocal, as one part in a shunt or series fixture is: exact, with N22 = N11 and
    /// N12 = N21 in [`TwelveTerms::correct`].
    pub(super) fn correct_symmetric(&self, raw: (Complex64, Complex64)) -> (Complex64, Complex64) {
        let both = TwelveTerms {
            forward: *self,
            reverse: *self,
        };
        let s = both.correct(&Scattering {
            s11: raw.0,
            s12: raw.1,
            s21: raw.1,
            s22: raw.0,
        });
        (s.s11, s.s21)
    }
}

/// Both directions of a two-port analyzer.
///
/// ```
/// use jigwise_physics::{Complex64, DirectionTerms, OnePortTerms, Scattering, TwelveTerms};
///
/// let direction = |size: f64| DirectionTerms {
///     one_port: OnePortTerms {
///         directivity: Complex64::new(size, 0.0),
///         source_match: Complex64::new(0.0, size),
///         reflect_tracking: Complex64::new(0.9, 0.0),
///     },
///     load_match: Complex64::new(size, size),
///     through_tracking: Complex64::new(0.0, 0.9),
///     crosstalk: Complex64::new(1e-4, 0.0),
/// };
/// let terms = TwelveTerms { forward: direction(0.1), reverse: direction(-0.05) };
/// let part = Scattering {
///     s11: Complex64::new(0.15, 0.0),
///     s12: Complex64::new(0.6, -0.6),
///     s21: Complex64::new(0.6, 0.6),
///     s22: Complex64::new(0.2, 0.0),
/// };
/// assert!(terms.correct(&terms.raw(&part)).distance(&part) < 1e-15);
/// assert!(terms.raw(&part).distance(&part) > 0.1);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwelveTerms {
    /// Port 1 sends.
    pub forward: DirectionTerms,
    /// Port 2 sends; seen from port 2.
    pub reverse: DirectionTerms,
}

impl TwelveTerms {
    /// An analyzer without errors.
    pub const NONE: Self = Self {
        forward: DirectionTerms::NONE,
        reverse: DirectionTerms::NONE,
    };

    /// The raw readings of a network.
    pub fn raw(&self, s: &Scattering) -> Scattering {
        let (s11, s21) = self.forward.raw(s);
        let (s22, s12) = self.reverse.raw(&s.flipped());
        Scattering { s11, s12, s21, s22 }
    }

    /// The network with the given raw readings.
    ///
    /// With s, l = e11, e22 and s', l' those of the reverse direction,
    /// E = (1 + N11·s)(1 + N22·s') − N21·N12·l·l':
    /// S11 = [N11·(1 + N22·s') − l·N21·N12]/E, S21 = N21·[1 + N22·(s' − l)]/E,
    /// S22 = [N22·(1 + N11·s) − l'·N21·N12]/E, S12 = N12·[1 + N11·(s − l')]/E.
    /// Not finite where E = 0, where nothing passive reads.
    pub fn correct(&self, raw: &Scattering) -> Scattering {
        let (n11, n21) = self.forward.normal((raw.s11, raw.s21));
        let (n22, n12) = self.reverse.normal((raw.s22, raw.s12));
        let (s, l) = (self.forward.one_port.source_match, self.forward.load_match);
        let (s_rev, l_rev) = (self.reverse.one_port.source_match, self.reverse.load_match);
        let both = n21 * n12;
        let (up1, up2) = (1.0 + n11 * s, 1.0 + n22 * s_rev);
        let e = up1 * up2 - both * l * l_rev;
        Scattering {
            s11: (n11 * up2 - l * both) / e,
            s12: (n12 * (1.0 + n11 * (s - l_rev))) / e,
            s21: (n21 * (1.0 + n22 * (s_rev - l))) / e,
            s22: (n22 * up1 - l_rev * both) / e,
        }
    }
}
