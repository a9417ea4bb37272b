//! One stray at a time, as a doubt: how far it moves the impedance that is got back from a
//! reading as if the fixture were ideal.
//!
//! With M the map from Z to the reading with this stray alone and F that of the ideal fixture,
//! T = F⁻¹·M is the map from Z to the impedance got back. Scaled to (a + d)/2 = 1,
//!
//! δZ = b + (a − d)·Z − c·Z²
//!
//! to first order in the stray: jωL for an inductance in the branch, −Z²·jωC for a capacitance
//! across the part, γl·(Zc − Z²/Zc) for the arm of the reflect fixture.

use num_complex::Complex64;

use super::Strays;
use crate::{EntryError, Fixture, Immittance, ReferenceImpedance};

/// One stray of a fixture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Stray {
    /// The capacitance across the gap.
    Gap,
    /// The inductance to ground.
    Ground,
    /// The capacitance of the pin.
    Pin,
    /// The contacts, all of them together.
    Contact,
    /// The ground loop of the cable braids.
    Braid,
    /// The line from port 1 to the part.
    FirstArm,
    /// The line from the part to port 2.
    SecondArm,
}

impl Stray {
    /// All of them.
    pub const ALL: [Self; 7] = [
        Self::Gap,
        Self::Ground,
        Self::Pin,
        Self::Contact,
        Self::Braid,
        Self::FirstArm,
        Self::SecondArm,
    ];
}

impl Strays {
    /// What a fixture adds that nobody described: a gap of 0.1 pF, 1 nH to ground, a pin of
    /// 50 fF. Common practice, no source.
    pub const TYPICAL: Self = Self {
        gap_f: 0.1e-12,
        ground_h: 1e-9,
        pin_f: 50e-15,
        ..Self::NONE
    };

    /// One of these strays without the others.
    #[must_use]
    pub fn alone(&self, stray: Stray) -> Self {
        Stray::ALL
            .into_iter()
            .filter(|&other| other != stray)
            .fold(*self, |strays, other| strays.scaled(other, 0.0))
    }

    /// These strays with one of them `factor` times as large.
    #[must_use]
    pub fn scaled(&self, stray: Stray, factor: f64) -> Self {
        let mut scaled = *self;
        match stray {
            Stray::Gap => scaled.gap_f *= factor,
            Stray::Ground => scaled.ground_h *= factor,
            Stray::Pin => scaled.pin_f *= factor,
            Stray::Contact => scaled.contact_ohm *= factor,
            Stray::Braid => {
                scaled.braid_ohm *= factor;
                scaled.braid_loop_h *= factor;
            }
            Stray::FirstArm => scaled.before.length_m *= factor,
            Stray::SecondArm => scaled.after.length_m *= factor,
        }
        scaled
    }

    /// True where nothing is added: no stray has a size.
    pub fn are_none(&self) -> bool {
        let sizes = [
            self.gap_f,
            self.ground_h,
            self.pin_f,
            self.contact_ohm,
            self.braid_ohm,
            self.before.length_m,
            self.after.length_m,
        ];
        sizes == [0.0; 7]
    }

    /// The change by one of the strays, at full size, of the impedance that is got back from a
    /// reading of `device` as if the fixture were ideal, Ω, to first order. `None` for an open,
    /// and for a stray that has no size.
    ///
    /// ```
    /// use jigwise_physics::{Complex64, Fixture, Immittance, ReferenceImpedance, Stray, Strays};
    ///
    /// // 0.1 pF across 1 kΩ at 10 MHz: −(1 kΩ)²·jωC = −j6.2832 Ω.
    /// let part = Immittance::from_impedance(Complex64::new(1e3, 0.0)).unwrap();
    /// let z0 = ReferenceImpedance::FIFTY_OHM;
    /// let step = Strays::TYPICAL.step_ohm(Stray::Gap, Fixture::SeriesThrough, part, 10e6, z0)?;
    /// assert!((step.unwrap() - Complex64::new(0.0, -6.283_185)).norm() < 1e-5);
    /// # Ok::<(), jigwise_physics::EntryError>(())
    /// ```
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn step_ohm(
        &self,
        stray: Stray,
        fixture: Fixture,
        device: Immittance,
        freq_hz: f64,
        z0: ReferenceImpedance,
    ) -> Result<Option<Complex64>, EntryError> {
        let alone = self.alone(stray);
        let z = match device.impedance() {
            Some(z) if !alone.are_none() => z,
            _ => return Ok(None),
        };
        let got_back = fixture
            .map(z0)
            .inverse()
            .after(&alone.map(fixture, freq_hz, z0)?);
        let [[a, b], [c, d]] = got_back.rows();
        Ok(Some((b + (a - d) * z - c * z * z) / (0.5 * (a + d))))
    }
}
