//! Strays: what a real fixture adds around the part.
//!
//! With Rc one contact and γl the arms (lines between reference plane and part):
//!
//! | fixture | what the ports see in place of Z |
//! | --- | --- |
//! | reflect | ((Z + Rc) ∥ 1/(jωCpin)) + jωLground, behind one arm |
//! | shunt-through | Z + Rc + jωLground + Zbraid, between two arms |
//! | series-through | (Z + 2·Rc) ∥ 1/(jωCgap), between two arms |
//!
//! **Ground loop.** In the shunt fixture the current of the part returns to the analyzer by both
//! cable braids, R1 and R2, whose inductances with any common-mode choke are L1 and L2. A coaxial
//! cable couples braid and inner conductor by the whole inductance of the braid, so the second
//! braid carries I·R1/(R1 + R2 + jω(L1 + L2)) and the receiver sees that current times R2: a
//! transfer impedance Zbraid = R/(1 + jf/fc), R = R1 ∥ R2, fc = (R1 + R2)/(2π(L1 + L2)). A short
//! then reads about R/(Z0/2) below fc. For two like braids R1 + R2 = 4R. Derived here from the
//! mesh equations of the two braids; that a choke cures it is common practice, no source. The
//! change of each cable's own series resistance, at most 2R of Z0, is left out.
//!
//! Everything is linear in the pair (v, i) of the part, so a fixture with its strays is again a
//! [`Mobius`] map and has an exact inverse and derivative.

use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::network::line::{Line, frequency};
use crate::number::EntryError;
use crate::point::mobius::Ratio;
use crate::{Figure, Fixture, Immittance, Mobius, Network, ReferenceImpedance, Scattering, Stray};

/// Residuals of the three fixtures. The default is the ideal fixture: all zero, no arms.
///
/// ```
/// use jigwise_physics::{Fixture, Immittance, ReferenceImpedance, Strays};
///
/// // An empty series fixture with a gap of 0.1 pF lets −44.04 dB through at 100 MHz.
/// let strays = Strays { gap_f: 0.1e-12, ..Strays::NONE };
/// let z0 = ReferenceImpedance::FIFTY_OHM;
/// let empty = strays.reading(Fixture::SeriesThrough, Immittance::OPEN, 100e6, z0)?;
/// let db = 20.0 * empty.value().unwrap().norm().log10();
/// assert!((db + 44.04).abs() < 5e-3);
/// # Ok::<(), jigwise_physics::EntryError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Strays {
    /// Capacitance across the gap of the series fixture, F; 0 to 1e-6.
    pub gap_f: f64,
    /// Inductance to ground, H; 0 to 1e-3: in the branch of the shunt fixture, in series with the
    /// pin of the reflect fixture.
    pub ground_h: f64,
    /// Capacitance of the pin of the reflect fixture, across the part, F; 0 to 1e-6.
    pub pin_f: f64,
    /// Resistance of one contact, Ω; 0 to 1000. How many there are: [`Fixture::contacts`].
    pub contact_ohm: f64,
    /// The two cable braids side by side, Ω; 0 to 1000. Shunt fixture only.
    pub braid_ohm: f64,
    /// Inductance round the loop of both braids, with any common-mode choke, H; 0 to 10. Zero
    /// leaves the ground loop at every frequency.
    pub braid_loop_h: f64,
    /// Line from the plane of port 1 to the part.
    pub before: Line,
    /// Line from the part to the plane of port 2. The reflect fixture has none.
    pub after: Line,
}

impl Strays {
    /// The ideal fixture.
    pub const NONE: Self = Self {
        gap_f: 0.0,
        ground_h: 0.0,
        pin_f: 0.0,
        contact_ohm: 0.0,
        braid_ohm: 0.0,
        braid_loop_h: 0.0,
        before: Line::NONE,
        after: Line::NONE,
    };

    /// Checks every entry against the range in its documentation.
    ///
    /// # Errors
    /// [`EntryError`] for the first entry outside its range, NaN included.
    pub fn validate(&self) -> Result<(), EntryError> {
        Figure::<Self>::ALL
            .iter()
            .try_for_each(|figure| figure.check(self))?;
        self.before.validate()?;
        self.after.validate()
    }

    /// The ground loop as an impedance in the branch of the shunt fixture, Ω.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn ground_loop(&self, freq_hz: f64) -> Result<Complex64, EntryError> {
        self.validate()?;
        let omega = TAU * frequency(freq_hz)?;
        if self.braid_ohm == 0.0 {
            return Ok(Complex64::ZERO);
        }
        let fading = omega * self.braid_loop_h / (4.0 * self.braid_ohm);
        Ok(self.braid_ohm / Complex64::new(1.0, fading))
    }

    /// What the arms are connected to: the part with the strays that sit at it.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn branch(
        &self,
        fixture: Fixture,
        device: Immittance,
        freq_hz: f64,
    ) -> Result<Immittance, EntryError> {
        // One after the other, so that no product of two strays is formed.
        let mut point = device.ratio();
        for step in self.steps(fixture, freq_hz)? {
            point = step.apply(point);
        }
        Ok(Immittance::from_ratio(point))
    }

    /// The two-port between the planes of a through fixture. For reflect, the arm followed by the
    /// part to ground.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn network(
        &self,
        fixture: Fixture,
        device: Immittance,
        freq_hz: f64,
    ) -> Result<Network, EntryError> {
        let branch = self.branch(fixture, device, freq_hz)?;
        let before = self.before.network(freq_hz)?;
        Ok(match fixture {
            Fixture::Reflect => before.then(&Network::shunt(branch)),
            Fixture::ShuntThrough => before
                .then(&Network::shunt(branch))
                .then(&self.after.network(freq_hz)?),
            Fixture::SeriesThrough => before
                .then(&Network::series(branch))
                .then(&self.after.network(freq_hz)?),
        })
    }

    /// The impedance at the plane of the reflect fixture.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn port(&self, device: Immittance, freq_hz: f64) -> Result<Immittance, EntryError> {
        let branch = self.branch(Fixture::Reflect, device, freq_hz)?;
        let arm = self.before.network(freq_hz)?.map();
        Ok(Immittance::from_ratio(arm.apply(branch.ratio())))
    }

    /// All four parameters of a through fixture; `None` at the pole of an active part, and for
    /// reflect, which has one port.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn scattering(
        &self,
        fixture: Fixture,
        device: Immittance,
        freq_hz: f64,
        z0: ReferenceImpedance,
    ) -> Result<Option<Scattering>, EntryError> {
        if fixture == Fixture::Reflect {
            self.validate()?;
            return Ok(None);
        }
        Ok(self.network(fixture, device, freq_hz)?.scattering(z0))
    }

    /// The reading: S11 for reflect, S21 for the through fixtures. Infinite only at the pole of
    /// an active part.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn reading(
        &self,
        fixture: Fixture,
        device: Immittance,
        freq_hz: f64,
        z0: ReferenceImpedance,
    ) -> Result<Ratio, EntryError> {
        let branch = self.branch(fixture, device, freq_hz)?;
        Ok(self.branch_map(fixture, freq_hz, z0)?.apply(branch.ratio()))
    }

    /// The map from Z of the part (in ohms) to the reading, with every stray and both arms. Its
    /// inverse removes known strays, its derivative carries an error of the reading to ohms.
    /// [`Fixture::map`] up to a common factor where all strays are zero.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn map(
        &self,
        fixture: Fixture,
        freq_hz: f64,
        z0: ReferenceImpedance,
    ) -> Result<Mobius, EntryError> {
        let mut map = self.branch_map(fixture, freq_hz, z0)?;
        for step in self.steps(fixture, freq_hz)?.iter().rev() {
            map = map.after(step);
        }
        Ok(map)
    }

    /// K = |dZ/dS|/|Z| through the strays; infinite for an open and a short, zero at the pole of
    /// an active part. [`Fixture::relative_sensitivity`] where all strays are zero.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn relative_sensitivity(
        &self,
        fixture: Fixture,
        device: Immittance,
        freq_hz: f64,
        z0: ReferenceImpedance,
    ) -> Result<f64, EntryError> {
        let map = self.map(fixture, freq_hz, z0)?;
        let [_, [c, d]] = map.rows();
        let (v, i) = (device.v(), device.i());
        let size = map.determinant().norm() * v.norm() * i.norm();
        if size == 0.0 {
            return Ok(f64::INFINITY);
        }
        Ok((c * v + d * i).norm_sqr() / size)
    }

    /// The strays at the part, in the order in which they are met from the part outwards.
    fn steps(&self, fixture: Fixture, freq_hz: f64) -> Result<[Mobius; 3], EntryError> {
        Ok(self.steps_of(fixture, freq_hz)?.map(|(_, step)| step))
    }

    /// [`Strays::steps`] with the stray that each belongs to.
    pub(crate) fn steps_of(
        &self,
        fixture: Fixture,
        freq_hz: f64,
    ) -> Result<[(Stray, Mobius); 3], EntryError> {
        self.validate()?;
        let omega = TAU * frequency(freq_hz)?;
        let ohm = |re, im| Complex64::new(re, im);
        let ground = (Stray::Ground, in_series(ohm(0.0, omega * self.ground_h)));
        let contacts = ohm(f64::from(fixture.contacts()) * self.contact_ohm, 0.0);
        let contacts = (Stray::Contact, in_series(contacts));
        let across = |farad: f64| in_parallel(ohm(0.0, omega * farad));
        let none = in_series(Complex64::ZERO);
        Ok(match fixture {
            Fixture::Reflect => [contacts, (Stray::Pin, across(self.pin_f)), ground],
            Fixture::ShuntThrough => [
                contacts,
                ground,
                (Stray::Braid, in_series(self.ground_loop(freq_hz)?)),
            ],
            Fixture::SeriesThrough => [
                contacts,
                (Stray::Gap, across(self.gap_f)),
                (Stray::Ground, none),
            ],
        })
    }

    /// The map from what the arms are connected to, to the reading.
    ///
    /// With the arms' chain matrices, l = (A + C·Z0, B + D·Z0) of the first and
    /// r = (A·Z0 + B, C·Z0 + D) of the second, S21 = 2·Z0/(l·M·r) for the part's ABCD matrix M.
    fn branch_map(
        &self,
        fixture: Fixture,
        freq_hz: f64,
        z0: ReferenceImpedance,
    ) -> Result<Mobius, EntryError> {
        let before = self.before.network(freq_hz)?.map();
        if fixture == Fixture::Reflect {
            return Ok(fixture.map(z0).after(&before));
        }
        let z0 = z0.ohm();
        let [[a, b], [c, d]] = before.rows();
        let l = [a + c * z0, b + d * z0];
        let [[a, b], [c, d]] = self.after.network(freq_hz)?.map().rows();
        let r = [a * z0 + b, c * z0 + d];
        let both = l[0] * r[0] + l[1] * r[1];
        let top = Complex64::new(2.0 * z0, 0.0);
        Ok(Mobius::new(if fixture == Fixture::ShuntThrough {
            [[top, Complex64::ZERO], [both, l[1] * r[0]]]
        } else {
            [[Complex64::ZERO, top], [l[0] * r[1], both]]
        }))
    }
}

/// Z + `ohm`.
fn in_series(ohm: Complex64) -> Mobius {
    Mobius::new([[Complex64::ONE, ohm], [Complex64::ZERO, Complex64::ONE]])
}

/// Z ∥ 1/`siemens`.
fn in_parallel(siemens: Complex64) -> Mobius {
    Mobius::new([[Complex64::ONE, Complex64::ZERO], [siemens, Complex64::ONE]])
}
