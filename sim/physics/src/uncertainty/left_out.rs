//! What a calibration leaves: its standards' residuals where the method uses them, and in full what
//! the method leaves out.
//!
//! An error term that a method does not find stays in the reading at its raw size. Its phase is not
//! known, so it counts as rms. To first order, with D directivity, R reflection tracking, s source
//! match, l load match, T through tracking and x crosstalk of the raw analyzer:
//!
//! | method | reflect | through fixtures |
//! | --- | --- | --- |
//! | raw | D + (R − 1)·S + s·S² | (T − 1)·S21 + S21·(s·S11 + l·S22) + x |
//! | open, short, or either and through | D/R·(1 ∓ S) + s·S·(S ∓ 1), − by an open | S21·(s·S11 + l·S22) |
//! | through only | as raw | as open and through |
//! | one port | – | as raw |
//! | one port and through | – | S21·l·S22 |
//! | one direction | – | S21·l·(S22 − S11) |
//! | both directions, through known or not | – | – |
//!
//! Where isolation was not measured, the corrected methods of the through fixtures keep
//! x/T·(1 − S21). Own derivation from the error models of [`crate::Method`].
//!
//! What has no through in its name leaves S21 as raw does.
//!
//! The residuals of standards act as on the calibration of both directions, except: where nothing is
//! corrected no standard counts; a division by one standard takes it for the scale, δS = ∓δ·S; one
//! port and through corrects the sending port alone.

use num_complex::Complex64;

use crate::uncertainty::cause::Effect;
use crate::uncertainty::lines::Product;
use crate::{Cause, Fixture, Method, ReflectionStandard, Trio, TwelveTerms};

/// A calibration as it was made, at one frequency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CalibrationMade {
    /// What is made of the raw readings.
    pub method: Method,
    /// False where isolation was not measured.
    pub has_isolation: bool,
    /// False where the through was not measured.
    pub has_through: bool,
    /// The error terms of the analyzer before any correction.
    pub terms: TwelveTerms,
    /// By how much what was connected differs from what it is taken for: Γ less the Γ taken.
    pub reflections_off: Trio<Complex64>,
    /// S21 of the through less the S21 it is taken for, as a part of that.
    pub through_off: Complex64,
}

impl CalibrationMade {
    /// A calibration by `method` with good standards, nothing left out that the method finds.
    pub fn good(method: Method, terms: TwelveTerms) -> Self {
        let zero = Complex64::ZERO;
        Self {
            method,
            has_isolation: true,
            has_through: true,
            terms,
            reflections_off: Trio {
                open: zero,
                short: zero,
                load: zero,
            },
            through_off: zero,
        }
    }
}

/// An error term that stays at its raw size: its cause, what a unit of it does, and |term|².
pub(crate) type RawTerm = (Cause, Product, f64);

/// The most terms that any method leaves out of one reading.
pub(crate) const MAX_LEFT_OUT: usize = 6;

/// How the readings were corrected, and what stayed in them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LeftOut {
    method: Method,
    reflect: [Option<RawTerm>; MAX_LEFT_OUT],
    through: [Option<RawTerm>; MAX_LEFT_OUT],
}

impl LeftOut {
    /// A calibration of both directions leaves nothing out.
    pub(crate) const NOTHING: Self = Self {
        method: Method::BothDirections,
        reflect: [None; MAX_LEFT_OUT],
        through: [None; MAX_LEFT_OUT],
    };

    /// What a calibration leaves of the terms of a raw analyzer.
    pub(crate) fn of(made: &CalibrationMade) -> Self {
        Self {
            method: made.method,
            reflect: listed(reflect_terms(made)),
            through: listed(through_terms(made)),
        }
    }

    /// The terms that stayed in the reading of a fixture.
    pub(crate) fn terms(&self, fixture: Fixture) -> impl Iterator<Item = RawTerm> {
        let terms = match fixture {
            Fixture::Reflect => self.reflect,
            Fixture::ShuntThrough | Fixture::SeriesThrough => self.through,
        };
        terms.into_iter().flatten()
    }

    /// True where nothing but the residuals of a calibration of both directions is left.
    pub(crate) fn is_nothing(&self) -> bool {
        Fixture::ALL
            .into_iter()
            .all(|fixture| self.terms(fixture).next().is_none())
            && matches!(self.method, Method::BothDirections | Method::UnknownThrough)
    }

    /// True where the terms that stayed are so small that the first order, in which they are counted,
    /// leaves out less than 2 % of u: a Monte Carlo twin passes 2 % at these rms of the source and
    /// load match, times what a raw tracking multiplies them by (`tests/oracle/make_bench.py`).
    pub(crate) fn is_first_order(&self, fixture: Fixture) -> bool {
        const MAX_IN_REFLECT: f64 = 0.16;
        const MAX_IN_THROUGH: f64 = 0.12;
        let (mut matches, mut count, mut tracking) = (0.0, 0.0, 1.0);
        for (_, product, square) in self.terms(fixture) {
            match product {
                Product::Of(Effect::Relative) => tracking += square,
                Product::ScaleAtSource
                | Product::ScaleAtLoad
                | Product::Of(Effect::Square)
                | Product::SquareBesideOpen
                | Product::SquareBesideShort => {
                    matches += square;
                    count += 1.0;
                }
                _ => {}
            }
        }
        let most = if fixture == Fixture::Reflect {
            MAX_IN_REFLECT
        } else {
            MAX_IN_THROUGH
        };
        count == 0.0 || matches / count * tracking <= most * most
    }

    /// True where the residuals act as after one of both directions, raw match included.
    pub(crate) fn products_hold(&self, fixture: Fixture) -> bool {
        fixture == Fixture::Reflect
            || matches!(
                self.method,
                Method::BothDirections | Method::UnknownThrough | Method::OneDirection
            )
    }

    /// What a unit of a cause does after this calibration, and its real factor; `None` where it
    /// does nothing.
    pub(crate) fn product(&self, cause: Cause, fixture: Fixture) -> Option<(Product, f64)> {
        if !cause.is_of_calibration() {
            return cause
                .effect(fixture)
                .map(|(effect, factor)| (Product::Of(effect), factor));
        }
        if fixture == Fixture::Reflect {
            return self.product_in_reflect(cause);
        }
        // The leak with the part in place is there with any calibration.
        if cause == Cause::Crosstalk {
            return Some((Product::Of(Effect::Absolute), 1.0));
        }
        let (effect, factor) = cause.effect(fixture)?;
        match self.method {
            Method::Raw | Method::OnePort => None,
            Method::Scaled(by) => (by.uses_through() && cause == Cause::ThroughTracking)
                .then_some((Product::Of(effect), factor)),
            Method::OnePortAndThrough => match cause {
                Cause::Load => Some((Product::ScaleAtSource, 0.5 * factor)),
                Cause::LoadMatch => None,
                _ => Some((at_source(cause, effect), factor)),
            },
            // The receiving port is taken for the sending one.
            Method::OneDirection => match effect {
                Effect::Scale => Some((Product::ScaleAtSource, factor)),
                _ => Some((Product::Of(effect), factor)),
            },
            Method::BothDirections | Method::UnknownThrough => {
                Some((at_source(cause, effect), factor))
            }
        }
    }

    fn product_in_reflect(&self, cause: Cause) -> Option<(Product, f64)> {
        let of_scale = |standard: Cause, factor: f64| {
            (cause == standard).then_some((Product::Of(Effect::Relative), factor))
        };
        match self.method {
            Method::Raw => None,
            Method::Scaled(by) => match by.reflection()? {
                ReflectionStandard::Open => of_scale(Cause::Open, -1.0),
                ReflectionStandard::Short => of_scale(Cause::Short, 1.0),
                ReflectionStandard::Load => None,
            },
            _ => cause
                .effect(Fixture::Reflect)
                .map(|(effect, factor)| (Product::Of(effect), factor)),
        }
    }
}

fn listed<const N: usize>(terms: [Option<RawTerm>; N]) -> [Option<RawTerm>; MAX_LEFT_OUT] {
    let mut list = [None; MAX_LEFT_OUT];
    for (slot, term) in list.iter_mut().zip(terms.into_iter().flatten()) {
        *slot = Some(term);
    }
    list
}

fn reflect_terms(made: &CalibrationMade) -> [Option<RawTerm>; 3] {
    let one = made.terms.forward.one_port;
    let source = one.source_match.norm_sqr();
    let scaled_beside = |beside, square| {
        let directivity = (one.directivity / one.reflect_tracking).norm_sqr();
        [
            Some((Cause::Directivity, beside, directivity)),
            Some((Cause::SourceMatch, square, source)),
            None,
        ]
    };
    let scaled_by = match made.method {
        Method::Raw => None,
        Method::Scaled(by) => by.reflection(),
        _ => return [None; 3],
    };
    match scaled_by {
        Some(ReflectionStandard::Open) => {
            scaled_beside(Product::BesideOpen, Product::SquareBesideOpen)
        }
        Some(ReflectionStandard::Short) => {
            scaled_beside(Product::BesideShort, Product::SquareBesideShort)
        }
        Some(ReflectionStandard::Load) | None => [
            Some((
                Cause::Directivity,
                Product::Of(Effect::Absolute),
                one.directivity.norm_sqr(),
            )),
            Some((
                Cause::ReflectTracking,
                Product::Of(Effect::Relative),
                (one.reflect_tracking - Complex64::ONE).norm_sqr(),
            )),
            Some((Cause::SourceMatch, Product::Of(Effect::Square), source)),
        ],
    }
}

fn through_terms(made: &CalibrationMade) -> [Option<RawTerm>; 6] {
    let forward = made.terms.forward;
    let load = forward.load_match.norm_sqr();
    let source = forward.one_port.source_match.norm_sqr();
    let (through, leak) = (forward.through_tracking, forward.crosstalk);
    let raw_tracking = (
        Cause::ThroughTracking,
        Product::Of(Effect::Relative),
        (through - Complex64::ONE).norm_sqr(),
    );
    let by_source = Some((Cause::SourceMatch, Product::ScaleAtSource, source));
    let by_load = Some((Cause::LoadMatch, Product::ScaleAtLoad, load));
    let unisolated = (!made.has_isolation).then_some((
        Cause::Crosstalk,
        Product::BesideOpen,
        (leak / through).norm_sqr(),
    ));
    // Without a through neither the tracking nor the load match is found.
    let no_through = (!made.has_through).then_some(raw_tracking);
    let no_load_match = by_load.filter(|_| !made.has_through);
    let is_scaled = matches!(made.method, Method::Scaled(by) if by.uses_through());
    match made.method {
        Method::Scaled(_) if is_scaled => [by_source, by_load, unisolated, no_through, None, None],
        Method::Raw | Method::Scaled(_) | Method::OnePort => {
            let raw_leak = Product::Of(Effect::Absolute);
            [
                Some(raw_tracking),
                by_source,
                by_load,
                Some((Cause::Crosstalk, raw_leak, leak.norm_sqr())),
                None,
                None,
            ]
        }
        Method::OnePortAndThrough => [by_load, unisolated, no_through, None, None, None],
        Method::OneDirection => {
            let asymmetry = Some((Cause::LoadMatch, Product::Asymmetry, load));
            [asymmetry, unisolated, no_through, no_load_match, None, None]
        }
        Method::BothDirections | Method::UnknownThrough => {
            [unisolated, no_through, no_load_match, None, None, None]
        }
    }
}

/// A wrong scale by a residual: at which port it sits. The load acts at both.
fn at_source(cause: Cause, effect: Effect) -> Product {
    match cause {
        Cause::Open | Cause::Short | Cause::SourceMatch => Product::ScaleAtSource,
        Cause::LoadMatch => Product::ScaleAtLoad,
        _ => Product::Of(effect),
    }
}

/// What the products of a residual with the raw source and load match do in a through fixture,
/// per unit of each.
pub(crate) fn by_match(cause: Cause) -> [Option<Product>; 2] {
    match cause {
        Cause::Open => [None, Some(Product::OpenAtLoad)],
        Cause::Short => [None, Some(Product::ShortAtLoad)],
        Cause::LoadMatch => [None, Some(Product::MatchAtLoad)],
        Cause::ThroughTracking => [None, Some(Product::TrackingAtLoad)],
        Cause::Crosstalk => [Some(Product::LeakAtSource), Some(Product::LeakAtLoad)],
        _ => [None; 2],
    }
}
