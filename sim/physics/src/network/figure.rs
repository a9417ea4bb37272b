//! The figures of strays and lines: what each is called, what range it has, and where it is kept.
//! Whatever reads, writes, shows or checks them goes by this table.

use crate::number::within;
use crate::{EntryError, Line, Strays};

/// One figure of `T`, which is [`Strays`] or [`Line`].
///
/// ```
/// use jigwise_physics::{Figure, Strays};
///
/// let mut strays = Strays::NONE;
/// Figure::GAP.set(&mut strays, 0.1e-12)?;
/// assert_eq!(Figure::GAP.get(&strays), 0.1e-12);
/// assert!(Figure::GAP.set(&mut strays, 1.0).is_err());
/// # Ok::<(), jigwise_physics::EntryError>(())
/// ```
#[derive(Debug, Clone, Copy)]
pub struct Figure<T: 'static> {
    /// The figure in words, as errors name it.
    pub words: &'static str,
    /// The least value allowed.
    pub least: f64,
    /// The greatest value allowed.
    pub most: f64,
    /// The unit of the value; empty for a ratio.
    pub unit: &'static str,
    field: fn(&mut T) -> &mut f64,
}

impl<T: Copy> Figure<T> {
    const fn new(
        words: &'static str,
        (least, most, unit): (f64, f64, &'static str),
        field: fn(&mut T) -> &mut f64,
    ) -> Self {
        Self {
            words,
            least,
            most,
            unit,
            field,
        }
    }

    /// The value.
    pub fn get(&self, of: &T) -> f64 {
        // Copied, so that one accessor serves reading and writing.
        *(self.field)(&mut { *of })
    }

    /// Changes the value.
    ///
    /// # Errors
    /// [`EntryError`] for a value outside the range, NaN included; nothing is changed then.
    pub fn set(&self, of: &mut T, value: f64) -> Result<(), EntryError> {
        *(self.field)(of) = within(self.words, value, self.least, self.most, self.unit)?;
        Ok(())
    }

    /// Checks the value against the range.
    pub(super) fn check(&self, of: &T) -> Result<(), EntryError> {
        within(self.words, self.get(of), self.least, self.most, self.unit).map(drop)
    }
}

macro_rules! figures {
    ($of:ty, $($name:ident: $words:literal, $range:expr, $field:expr;)*) => {
        impl Figure<$of> {
            $(
                #[doc = concat!("The ", $words, ".")]
                pub const $name: Self = Self::new($words, $range, $field);
            )*
            /// All figures, in the order in which they are checked.
            pub const ALL: &[Self] = &[$(Self::$name),*];
        }
    };
}

figures! { Strays,
    GAP: "gap capacitance", (0.0, 1e-6, "F"), |s| &mut s.gap_f;
    GROUND: "ground inductance", (0.0, 1e-3, "H"), |s| &mut s.ground_h;
    PIN: "pin capacitance", (0.0, 1e-6, "F"), |s| &mut s.pin_f;
    CONTACT: "contact resistance", (0.0, 1e3, "Ω"), |s| &mut s.contact_ohm;
    BRAID: "braid resistance", (0.0, 1e3, "Ω"), |s| &mut s.braid_ohm;
    BRAID_LOOP: "inductance of the braid loop", (0.0, 10.0, "H"), |s| &mut s.braid_loop_h;
}

figures! { Line,
    LENGTH: "length of a line", (0.0, 1e3, "m"), |l| &mut l.length_m;
    VELOCITY: "velocity factor", (0.01, 1.0, ""), |l| &mut l.velocity_factor;
    IMPEDANCE: "characteristic impedance of a line", (0.1, 1e4, "Ω"), |l| &mut l.zc_ohm;
    CONDUCTOR_LOSS: "conductor loss at 1 GHz", (0.0, 1e3, "dB/m"),
        |l| &mut l.conductor_db_per_m_at_1ghz;
    DIELECTRIC_LOSS: "dielectric loss at 1 GHz", (0.0, 1e3, "dB/m"),
        |l| &mut l.dielectric_db_per_m_at_1ghz;
}
