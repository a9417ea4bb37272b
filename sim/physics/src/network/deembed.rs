//! Taking strays out again: by their known values, or by blanks measured in the fixture.
//!
//! | fixture | blank | part |
//! | --- | --- | --- |
//! | series-through | the gap left empty, Yo | Y = Ym − Yo |
//! | shunt-through | the branch shorted, Zs | Z = Zm − Zs |
//! | reflect | open and short, Zo and Zs | Z = (Zm − Zs)/(1 − (Zm − Zs)·Yo'), Yo' = 1/(Zo − Zs) |
//!
//! The last is exact for an impedance in series followed by an admittance across the part.
//! Subtraction is exact where the stray lies across the part (gap) or in series with it (branch)
//! and nothing else does.
//!
//! What is left after a correction: 10 to 20 % of what was removed as uncertainty is common
//! practice, no source. [`LEFT_SHARE`] is the middle of that.

use num_complex::Complex64;

use crate::EntryError;
use crate::point::mobius::{Ratio, divide};
use crate::{
    BlankError, Fixture, Immittance, Mobius, Network, NumberError, ReferenceImpedance, Scattering,
    Strays,
};

/// Share of a correction that is left as its uncertainty (rms, k = 1): common practice, no
/// source, between 10 and 20 %.
pub const LEFT_SHARE: f64 = 0.15;

/// Open and short blanks closer than this, relative to the larger, say nothing about a part.
const MIN_DIFFERENCE: f64 = 1e-6;

/// A part with its strays taken out.
#[derive(Debug, Clone, Copy)]
pub struct Deembedded {
    /// The part.
    pub part: Immittance,
    /// Size of what was removed relative to the part: |Yo|/|Y| or |Zs|/|Z|, for a map of both
    /// kinds the larger of |δZ|/|Z| and |δY|/|Y|. Infinite for an open or short part.
    pub removed: f64,
}

impl Deembedded {
    /// rms |δZ|/|Z| that the correction leaves when `share` of it is uncertain; [`LEFT_SHARE`]
    /// where nothing better is known.
    ///
    /// ```
    /// use jigwise_physics::{Complex64, Immittance, LEFT_SHARE, without_shorted_branch};
    ///
    /// let ohm = |re, im| Immittance::from_impedance(Complex64::new(re, im)).unwrap();
    /// let found = without_shorted_branch(ohm(2.0, 0.4), ohm(0.0, 0.4))?;
    /// assert!((found.relative_uncertainty(LEFT_SHARE) - 0.03).abs() < 1e-12);
    /// # Ok::<(), jigwise_physics::BlankError>(())
    /// ```
    pub fn relative_uncertainty(&self, share: f64) -> f64 {
        if self.removed == 0.0 {
            return 0.0;
        }
        share * self.removed
    }
}

fn magnitude_ohm(device: Immittance) -> f64 {
    device.impedance().map_or(f64::INFINITY, |z| z.norm())
}

/// |numerator|/|denominator|, infinite where the denominator is zero and the numerator is not.
fn relative(top: Complex64, bottom: Complex64) -> f64 {
    if top == Complex64::ZERO {
        return 0.0;
    }
    if bottom == Complex64::ZERO {
        return f64::INFINITY;
    }
    divide(top, bottom).norm()
}

/// The device whose impedance has the opposite sign.
fn negated(device: Immittance) -> Immittance {
    Immittance::from_pair(-device.v(), device.i()).unwrap_or(device)
}

/// Y = Ym − Yo: the part in a series fixture whose empty gap reads `empty`.
///
/// ```
/// use jigwise_physics::{Complex64, Immittance, without_empty_gap};
///
/// let siemens = |g, b| Immittance::from_admittance(Complex64::new(g, b)).unwrap();
/// let part = without_empty_gap(siemens(1e-3, 4e-4), siemens(0.0, 4e-4))?.part;
/// assert!((part.impedance().unwrap().re - 1e3).abs() < 1e-9);
///
/// let too_wide = without_empty_gap(siemens(1e-4, 4e-4), siemens(0.0, 4e-4)).unwrap_err();
/// assert!(too_wide.to_string().starts_with("the empty gap reads 2500 Ω and the part 10000 Ω"));
/// # Ok::<(), jigwise_physics::BlankError>(())
/// ```
///
/// # Errors
/// [`BlankError`] where the blank reads a short, or its impedance is no larger than the part's.
pub fn without_empty_gap(
    measured: Immittance,
    empty: Immittance,
) -> Result<Deembedded, BlankError> {
    if empty.is_short() {
        return Err(BlankError::EmptyGapIsShort);
    }
    let part = measured.in_parallel_with(negated(empty));
    let removed = relative(empty.i() * part.v(), empty.v() * part.i());
    if removed >= 1.0 {
        return Err(BlankError::GapLikePart {
            gap_ohm: magnitude_ohm(empty),
            part_ohm: magnitude_ohm(part),
        });
    }
    Ok(Deembedded { part, removed })
}

/// Z = Zm − Zs: the part in a shunt fixture whose shorted branch reads `shorted`.
///
/// # Errors
/// [`BlankError`] where the blank reads an open, or its impedance is no smaller than the part's.
pub fn without_shorted_branch(
    measured: Immittance,
    shorted: Immittance,
) -> Result<Deembedded, BlankError> {
    if shorted.is_open() {
        return Err(BlankError::ShortedBranchIsOpen);
    }
    let part = measured.in_series_with(negated(shorted));
    let removed = relative(shorted.v() * part.i(), shorted.i() * part.v());
    if removed >= 1.0 {
        return Err(BlankError::BranchLikePart {
            branch_ohm: magnitude_ohm(shorted),
            part_ohm: magnitude_ohm(part),
        });
    }
    Ok(Deembedded { part, removed })
}

/// Open and short compensation of the reflect fixture, from its two blanks.
///
/// ```
/// use jigwise_physics::{Complex64, Immittance, OpenShort};
///
/// // 0.3 + 2j Ω in series, then 30 µS of capacitance across the part.
/// let ohm = |re, im| Immittance::from_impedance(Complex64::new(re, im)).unwrap();
/// let short = ohm(0.3, 2.0);
/// let open = ohm(0.3, 2.0 - 1.0 / 30e-6);
/// let blanks = OpenShort::new(open, short)?;
/// let part = blanks.part(ohm(119.975108, -43.369581)).part.impedance().unwrap();
/// assert!((part - Complex64::new(120.0, -45.0)).norm() < 1e-5);
/// # Ok::<(), jigwise_physics::BlankError>(())
/// ```
#[derive(Debug, Clone, Copy)]
pub struct OpenShort {
    map: Mobius,
}

impl OpenShort {
    /// The compensation from what the fixture reads when `open` (empty) and when `short`ed.
    ///
    /// # Errors
    /// [`BlankError`] where the short reads an open, both read the same, or they are exchanged.
    pub fn new(open: Immittance, short: Immittance) -> Result<Self, BlankError> {
        if short.is_open() {
            return Err(BlankError::ShortReadsOpen);
        }
        let (vo, io, vs, is) = (open.v(), open.i(), short.v(), short.i());
        let difference = vo * is - vs * io;
        let larger = (vo * is).norm().max((vs * io).norm());
        if difference.norm() <= MIN_DIFFERENCE * larger {
            return Err(BlankError::BlanksCoincide {
                ohm: magnitude_ohm(short),
            });
        }
        if (vo * is).norm() < (vs * io).norm() {
            return Err(BlankError::BlanksExchanged {
                open_ohm: magnitude_ohm(open),
                short_ohm: magnitude_ohm(short),
            });
        }
        let zs = divide(vs, is);
        // (Zo − Zs)(Zm − Zs)/(Zo − Zm), each blank as its pair: an exact open has Zo = ∞.
        let far = divide(difference, is);
        Ok(Self {
            map: Mobius::new([[far, -zs * far], [-io, vo]]),
        })
    }

    /// The map from the impedance at the port to that of the part.
    pub fn map(&self) -> Mobius {
        self.map
    }

    /// The part that reads `measured`.
    pub fn part(&self, measured: Immittance) -> Deembedded {
        let part = Immittance::from_ratio(self.map.apply(measured.ratio()));
        Deembedded {
            part,
            removed: removed_between(measured, part),
        }
    }

    /// What reads where the part is `part`: the inverse of [`Self::part`].
    pub fn measured(&self, part: Immittance) -> Immittance {
        Immittance::from_ratio(self.map.inverse().apply(part.ratio()))
    }
}

/// The larger of |Zm − Z|/|Z| and |Ym − Y|/|Y|.
fn removed_between(measured: Immittance, part: Immittance) -> f64 {
    let cross = measured.v() * part.i() - measured.i() * part.v();
    let impedance = relative(cross, measured.i() * part.v());
    let admittance = relative(cross, measured.v() * part.i());
    impedance.max(admittance)
}

impl Strays {
    /// The part that gives a reading through these strays: the inverse of [`Strays::map`].
    ///
    /// [`Deembedded::removed`] counts the strays at the part. The arms are lines of known length,
    /// whose uncertainty is that of the length and not a share of the whole turn.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn part(
        &self,
        fixture: Fixture,
        reading: Ratio,
        freq_hz: f64,
        z0: ReferenceImpedance,
    ) -> Result<Deembedded, EntryError> {
        let map = self.map(fixture, freq_hz, z0)?;
        let part = Immittance::from_ratio(map.inverse().apply(reading));
        let branch = self.branch(fixture, part, freq_hz)?;
        Ok(Deembedded {
            part,
            removed: removed_between(branch, part),
        })
    }

    /// A two-port measured at the planes with the arms taken off. `None` where an arm or the
    /// answer exceeds the range of numbers.
    ///
    /// # Errors
    /// [`EntryError`] for an entry or a frequency outside its range.
    pub fn without_arms(
        &self,
        measured: &Scattering,
        freq_hz: f64,
        z0: ReferenceImpedance,
    ) -> Result<Option<Scattering>, EntryError> {
        let before = self.before.network(freq_hz)?;
        let after = self.after.network(freq_hz)?;
        let inner = |measured: Result<Network, NumberError>| {
            measured.ok()?.between(&before, &after)?.scattering(z0)
        };
        Ok(inner(Network::from_scattering(measured, z0)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ohm(re: f64, im: f64) -> Immittance {
        Immittance::from_impedance(Complex64::new(re, im)).unwrap()
    }

    #[test]
    fn blanks_that_cannot_correct_say_what_to_measure() {
        let text = |error: BlankError| error.to_string();
        let gap = ohm(0.0, -16e3);
        let of_gap = |part, blank| without_empty_gap(part, blank).unwrap_err();
        assert!(text(of_gap(ohm(50.0, 0.0), Immittance::SHORT)).contains("measure it empty"));
        let same = of_gap(gap, gap);
        assert!(
            text(same).contains("16000 Ω and the part an open"),
            "{same}"
        );
        let of_branch = |part, blank| without_shorted_branch(part, blank).unwrap_err();
        let open = of_branch(ohm(50.0, 0.0), Immittance::OPEN);
        assert!(text(open).contains("put a short in place"));
        let same = of_branch(ohm(0.0, 0.63), ohm(0.0, 0.63));
        assert!(
            text(same).contains("0.630 Ω and the part a short"),
            "{same}"
        );
        let of_both = |open, short| OpenShort::new(open, short).unwrap_err();
        let (open, short) = (Immittance::OPEN, Immittance::SHORT);
        assert_eq!(of_both(open, open), BlankError::ShortReadsOpen);
        assert_eq!(
            of_both(short, short),
            BlankError::BlanksCoincide { ohm: 0.0 }
        );
        let swapped = of_both(ohm(0.3, 2.0), gap);
        assert!(text(swapped).contains("exchange them"), "{swapped}");
    }

    #[test]
    fn perfect_blanks_remove_nothing() {
        for part in [ohm(30.0, -4.0), Immittance::OPEN, Immittance::SHORT] {
            let z0 = ReferenceImpedance::FIFTY_OHM;
            let blanks = OpenShort::new(Immittance::OPEN, Immittance::SHORT).unwrap();
            let found = blanks.part(part);
            assert_eq!(found.part.chordal_distance(part, z0), 0.0);
            assert_eq!(found.relative_uncertainty(LEFT_SHARE), 0.0);
        }
        let gap = without_empty_gap(ohm(30.0, -4.0), Immittance::OPEN).unwrap();
        let branch = without_shorted_branch(ohm(30.0, -4.0), Immittance::SHORT).unwrap();
        assert_eq!((gap.removed, branch.removed), (0.0, 0.0));
    }
}
