//! What the raw match of the ports does to the residuals of a calibration in the through fixtures.
//!
//! Raw match is what a port reflects before any correction: source match s of the sending port,
//! load match l of the receiving one, and s′, l′ of the reverse direction. The part reflects ρ and
//! passes t, z = Z/Z0. Standards that are not what they are taken for make the calibration find a
//! wrong load match and a wrong source match, and each of these acts in proportion to l or s. The
//! twelve-term equations with the standards of [`crate::Definitions::with_residuals`], solved for
//! the part and differentiated by each residual at zero, give for any raw match, as a part of Z,
//!
//! | cause | shunt-through | series-through |
//! | --- | --- | --- |
//! | δO | ½ | ½ − h |
//! | δS | ½ + g | ½ |
//! | λ | −1 + g | −1 − h |
//! | δT | 2z + 1 − g | −(z + 2)/z − h |
//!
//! g = 2l·(1 + l′ + 2z)/((1 + l)(1 + l′) + 2z·(1 − l·l′)),
//! h = 2l·(z·(1 − l′) + 2)/(z·(1 − l)(1 − l′) + 2·(1 − l·l′)).
//!
//! To first order g = h = 2l, whatever the part is: a wrong scale of Z. δL gains nothing. A leak
//! δX moves S21 by 1 − s·ρ + l·ρ·(t ± ρ) to first order, + in shunt-through, and by
//! [`leak`] exactly.
//!
//! Where only the rms m of the raw match is known, s and l are independent, circular and of unknown
//! phase, and so is each product with a residual. Its mean square adds to the budget:
//! 4m²·E|δ|² for each product of scale, m²·|ρ|²·(1 + |t ± ρ|²)·E|δX|² for those of the leak.

use num_complex::Complex64;

use crate::uncertainty::cause::Effect;
use crate::uncertainty::port_match::RawMatch;
use crate::uncertainty::view::View;
use crate::{Budget, Cause, Covariance, Fixture, TwelveTerms};

impl RawMatch {
    /// What it adds to the sensitivity coefficient of a cause, exactly; zero in reflect.
    ///
    /// To first order in the match where the fixture has arms.
    pub(crate) fn added(&self, cause: Cause, view: &View<'_>) -> Complex64 {
        if let Some(placed) = &view.placed {
            if !placed.left_out.products_hold(view.fixture) {
                return Complex64::ZERO;
            }
            if placed.lines.has_arms {
                let [source, load] = by_match(cause, view);
                return source * self.source[0] + load * self.load[0];
            }
        }
        match products(cause, view.fixture) {
            Products::None => Complex64::ZERO,
            Products::Scale(sign) => self.wrong_scale(view) * view.scale() * sign,
            Products::Leak => self.leak(view) - 1.0,
        }
    }

    /// g in shunt-through, h in series-through.
    fn wrong_scale(&self, view: &View<'_>) -> Complex64 {
        let [l, back] = self.load;
        let (v, y) = view.pair();
        let (top, bottom) = if view.fixture == Fixture::ShuntThrough {
            (
                y * (1.0 + back) + 2.0 * v,
                y * (1.0 + l) * (1.0 + back) + 2.0 * v * (1.0 - l * back),
            )
        } else {
            (
                v * (1.0 - back) + 2.0 * y,
                v * (1.0 - l) * (1.0 - back) + 2.0 * y * (1.0 - l * back),
            )
        };
        2.0 * l * top / bottom
    }

    /// dS21/dδX. The leak adds to both raw transmissions of the part and is neither in the through
    /// nor in the isolation, so the calibration finds e10e32·(1 − s·l·δX) and l·(1 − 2δX), with N
    /// and E as in [`TwelveTerms::correct`].
    fn leak(&self, view: &View<'_>) -> Complex64 {
        let (rho, t) = (view.port_reflection(), view.s);
        let det = rho * rho - t * t;
        let [(n11, n21), (n22, n12)] = [0, 1].map(|k| {
            let (s, l) = (self.source[k], self.load[k]);
            let bottom = 1.0 - (s + l) * rho + s * l * det;
            ((rho - l * det) / bottom, t / bottom)
        });
        let ([s, s_back], [l, l_back]) = (self.source, self.load);
        let (both, loads) = (n21 * n12, l * l_back);
        let e = (1.0 + n11 * s) * (1.0 + n22 * s_back) - both * loads;
        let up = (1.0 + n22 * (s_back - l)) / e;
        let there = up * (1.0 + both * loads / e) * (1.0 + n21 * s * l);
        let back = t * n21 * loads / e * (1.0 + n12 * s_back * l_back);
        let by_load = n21 * n22 / e * l - 2.0 * t * both * loads / e;
        there + back + 2.0 * by_load
    }
}

impl View<'_> {
    /// What a unit residual of a cause does to the reading, sign and phase kept; exactly where the
    /// front end is known, else without its raw match.
    pub(crate) fn sensitivity_to(&self, cause: Cause) -> Complex64 {
        let plain = match &self.placed {
            None => cause
                .effect(self.fixture)
                .map(|(effect, factor)| self.sensitivity(effect) * factor),
            Some(placed) => placed
                .left_out
                .product(cause, self.fixture)
                .map(|(product, factor)| self.of_product(placed, product) * factor),
        };
        let plain = plain.unwrap_or(Complex64::ZERO);
        match &self.known_match {
            Some(known) => plain + known.added(cause, self),
            None => plain,
        }
    }
}

/// What of a residual's effect is in proportion to the raw match.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Products {
    None,
    /// The sign of g, or of h, in δZ/Z.
    Scale(f64),
    Leak,
}

const fn products(cause: Cause, fixture: Fixture) -> Products {
    match (fixture, cause) {
        (Fixture::Reflect, _) => Products::None,
        (Fixture::ShuntThrough, Cause::Short | Cause::LoadMatch) => Products::Scale(1.0),
        (Fixture::SeriesThrough, Cause::Open | Cause::LoadMatch) => Products::Scale(-1.0),
        (_, Cause::ThroughTracking) => Products::Scale(-1.0),
        (_, Cause::Crosstalk) => Products::Leak,
        _ => Products::None,
    }
}

/// First derivatives of a sensitivity coefficient by source and load match, at none.
fn by_match(cause: Cause, view: &View<'_>) -> [Complex64; 2] {
    if let Some(found) = view.by_match(cause) {
        return found;
    }
    match products(cause, view.fixture) {
        Products::None => [Complex64::ZERO; 2],
        Products::Scale(sign) => [Complex64::ZERO, view.slope * (2.0 * sign)],
        Products::Leak => {
            let rho = view.port_reflection();
            [-rho, rho * view.mirrored(rho)]
        }
    }
}

impl Cause {
    /// The effect of the products of this residual with the raw match on a reading, and their
    /// real factor; `None` where there are none.
    pub(crate) fn effect_with_raw_match(self, fixture: Fixture) -> Option<(Effect, f64)> {
        match products(self, fixture) {
            Products::None => None,
            Products::Scale(sign) => Some((Effect::Scale, 2.0 * sign)),
            Products::Leak => Some((Effect::MatchedLeak, 1.0)),
        }
    }
}

/// Shift by the products of the residual `delta` with the source and load match given.
pub(crate) fn shift(
    cause: Cause,
    delta: Complex64,
    of: [Complex64; 2],
    view: &View<'_>,
) -> Complex64 {
    let [source, load] = by_match(cause, view);
    delta * (source * of[0] + load * of[1])
}

impl Budget {
    /// The same budget where the front end is known, with its error terms at the frequency in
    /// question: [`Cause::RawMatch`] adds nothing, and the sensitivity coefficients of the through
    /// fixtures are exact, those of [`crate::Correction::shift`].
    ///
    /// [`crate::Merits`] of it are those of an analyzer without raw match: a map has no front
    /// end.
    ///
    /// ```
    /// use jigwise_physics::*;
    ///
    /// let part = Immittance::from_impedance(Complex64::new(5.0, 0.0)).unwrap();
    /// let budget = Budget::new(&Instrument::HANDHELD, ReferenceImpedance::FIFTY_OHM, 0)?;
    /// let known = budget.with_front_end(&RawAnalyzer::new(1).terms(7e6));
    /// let short = |of: &Budget| of.sensitivity(Cause::Short, Fixture::ShuntThrough, part);
    /// assert_ne!(short(&known), short(&budget));
    /// let match_itself = known.contribution(Cause::RawMatch, Fixture::ShuntThrough, part);
    /// assert_eq!(match_itself, Some(Covariance::ZERO));
    /// # Ok::<(), EntryError>(())
    /// ```
    #[must_use]
    pub fn with_front_end(&self, terms: &TwelveTerms) -> Self {
        let mut known = self.without_raw_match();
        known.known_match = Some(RawMatch::of(terms));
        known
    }

    /// The rms raw match that this budget counts with; 0 where the front end is known or the
    /// instrument is described by a data sheet.
    pub fn raw_match(&self) -> f64 {
        self.mean_square(Cause::RawMatch, Fixture::ShuntThrough)
            .sqrt()
    }

    /// Scatter of the reading by all products of residuals with a raw match of which only the rms
    /// is known.
    pub(crate) fn by_raw_match(&self, view: &View<'_>) -> Covariance {
        let sensitivity = self.sensitivity_to_raw_match(view);
        let square = self.mean_square(Cause::RawMatch, view.fixture);
        Covariance::circular(0.5 * square * sensitivity.norm_sqr())
    }

    /// The sensitivity coefficient of [`Cause::RawMatch`]: the root of the mean square of the
    /// products per unit of it, along D, since nearly all of it is a wrong scale of Z.
    pub(crate) fn sensitivity_to_raw_match(&self, view: &View<'_>) -> Complex64 {
        if view.fixture == Fixture::Reflect {
            return Complex64::ZERO;
        }
        let square: f64 = Cause::OF_CALIBRATION
            .iter()
            .map(|&cause| {
                let [source, load] = by_match(cause, view);
                self.mean_square(cause, view.fixture) * (source.norm_sqr() + load.norm_sqr())
            })
            .sum();
        let size = view.slope.norm();
        let along = if size > 0.0 {
            view.slope / size
        } else {
            Complex64::ONE
        };
        along * square.sqrt()
    }

    /// What one standard deviation of each product of a residual with the source and with the load
    /// match does to a reading. Fixtures measured with one front end share these products, so their
    /// order is the same in each; the squares add up to [`Self::by_raw_match`].
    pub(crate) fn raw_match_steps(&self, view: &View<'_>) -> impl Iterator<Item = Complex64> {
        let square = self.mean_square(Cause::RawMatch, view.fixture);
        Cause::OF_CALIBRATION.iter().flat_map(move |&cause| {
            let sigma = (0.5 * square * self.mean_square(cause, view.fixture)).sqrt();
            by_match(cause, view).map(|derivative| derivative * sigma)
        })
    }
}
