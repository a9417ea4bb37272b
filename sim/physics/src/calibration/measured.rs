//! What a calibration is made of: the standards, what they are taken for, what they read.

use num_complex::Complex64;

use crate::{
    Cause, NumberError, ReferenceImpedance, Residuals, Scattering, Standard, ThroughStandard, Trio,
};

/// A port of the analyzer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub enum Port {
    /// The port that sends in the forward direction.
    #[default]
    One,
    /// The port that sends in the reverse direction.
    Two,
}

impl Port {
    /// Both.
    pub const ALL: [Self; 2] = [Self::One, Self::Two];

    /// 1 or 2.
    pub const fn number(self) -> usize {
        match self {
            Self::One => 1,
            Self::Two => 2,
        }
    }
}

impl std::fmt::Display for Port {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::One => "1",
            Self::Two => "2",
        })
    }
}

impl Trio<Option<Complex64>> {
    /// Nothing measured.
    pub const NONE: Self = Self {
        open: None,
        short: None,
        load: None,
    };
}

/// A set of calibration standards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kit {
    /// The reflection standards, the same for both ports; where port 2 has others, change
    /// [`Definitions::reflections`].
    pub reflections: Trio<Standard>,
    /// The through.
    pub through: ThroughStandard,
}

impl Kit {
    /// Ideal flush standards on 50 Ω.
    pub const IDEAL: Self = Self {
        reflections: Trio {
            open: Standard::OPEN,
            short: Standard::SHORT,
            load: Standard::LOAD,
        },
        through: ThroughStandard::FLUSH,
    };
}

/// The reflections and transmissions of the standards at one frequency: as they are defined, or
/// as they truly are. The difference of the two is the error of the calibration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Definitions {
    /// Reflections at port 1 and port 2.
    pub reflections: [Trio<Complex64>; 2],
    /// The through, port 1 first.
    pub through: Scattering,
    /// S21 and S12 of what is connected for the isolation reading: 0 unless something leaks
    /// past the terminated ports that will not be there later.
    pub isolation: Complex64,
    /// The frequency in hertz, for messages; `None` where it is not known.
    pub freq_hz: Option<f64>,
}

impl Definitions {
    /// Γ = 1, −1 and 0, a flush through, nothing that leaks.
    pub const IDEAL: Self = {
        let ideal = Trio {
            open: Complex64::ONE,
            short: Complex64::new(-1.0, 0.0),
            load: Complex64::ZERO,
        };
        Self {
            reflections: [ideal; 2],
            through: Scattering::THROUGH,
            isolation: Complex64::ZERO,
            freq_hz: None,
        }
    };

    /// The standards of a kit at a frequency.
    ///
    /// # Errors
    /// As [`Standard::reflection`] and [`ThroughStandard::scattering`].
    pub fn of(kit: &Kit, freq_hz: f64, z0: ReferenceImpedance) -> Result<Self, NumberError> {
        let reflections = Trio {
            open: kit.reflections.open.reflection(freq_hz, z0)?,
            short: kit.reflections.short.reflection(freq_hz, z0)?,
            load: kit.reflections.load.reflection(freq_hz, z0)?,
        };
        Ok(Self {
            reflections: [reflections; 2],
            through: kit.through.scattering(freq_hz, z0)?,
            isolation: Complex64::ZERO,
            freq_hz: Some(freq_hz),
        })
    }

    /// What the standards truly are where they are taken for these and the residuals are left:
    /// δL, δO and δS added to the reflections of both ports; the through with S11 and S22 less
    /// by λ and S21 and S12 divided by 1 + δT, so that a true flush connection reads larger;
    /// through and isolation less by δX, a leak that is there with the part and was with
    /// neither of them.
    ///
    /// To first order in the residuals and with small raw match a calibration with such
    /// standards moves readings by [`crate::Budget::calibration_shift`]. An isolation reading
    /// that was left out is another thing than δX: its crosstalk x was there with the through
    /// too and moves S21 by x·(1 − S21).
    ///
    /// Residuals of data sheets (directivity, reflection tracking, source match) belong to no
    /// standard and are left out.
    #[must_use]
    pub fn with_residuals(&self, residuals: &Residuals) -> Self {
        let load_match = residuals.of(Cause::LoadMatch);
        let tracking = 1.0 + residuals.of(Cause::ThroughTracking);
        let leak = residuals.of(Cause::Crosstalk);
        Self {
            reflections: self.reflections.map(|taken| Trio {
                open: taken.open + residuals.of(Cause::Open),
                short: taken.short + residuals.of(Cause::Short),
                load: taken.load + residuals.of(Cause::Load),
            }),
            through: Scattering {
                s11: self.through.s11 - load_match,
                s12: self.through.s12 / tracking - leak,
                s21: self.through.s21 / tracking - leak,
                s22: self.through.s22 - load_match,
            },
            isolation: self.isolation - leak,
            ..*self
        }
    }

    /// The network that is connected for the isolation reading: the loads with what leaks.
    pub(crate) fn isolated(&self) -> Scattering {
        let [one, two] = self.reflections;
        Scattering {
            s11: one.load,
            s12: self.isolation,
            s21: self.isolation,
            s22: two.load,
        }
    }
}

/// Raw transmissions with both ports terminated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Isolation {
    /// Raw S21.
    pub forward: Complex64,
    /// Raw S12.
    pub reverse: Complex64,
}

/// What the receiving port reflects by its switch and receiver, as its own receivers see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SwitchTerms {
    /// a2/b2 while port 1 sends.
    pub forward: Complex64,
    /// a1/b1 while port 2 sends.
    pub reverse: Complex64,
}

impl SwitchTerms {
    /// Their name as keys and file names have it.
    pub const NAME: &str = "switch";
}

/// Raw readings of the standards; `None` for what was not measured.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MeasuredStandards {
    /// Raw reflections of the standards at port 1 and port 2.
    pub reflections: [Trio<Option<Complex64>>; 2],
    /// Raw readings of the through. Of a calibration with one direction S12 and S22 are not
    /// looked at.
    pub through: Option<Scattering>,
    /// Raw transmissions of the terminated ports; without them the crosstalk is taken for zero.
    pub isolation: Option<Isolation>,
    /// Switch terms, for the unknown through; without them they are taken for zero.
    pub switch_terms: Option<SwitchTerms>,
}
