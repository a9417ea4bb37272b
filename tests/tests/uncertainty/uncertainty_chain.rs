//! The first-order residuals of the budget against a simulated twelve-term chain: imperfect
//! standards are measured through random raw error terms, the calibration solved as if they
//! were ideal, and the part corrected with it. The oracle is built here and knows nothing of
//! the budget.
//!
//! Sources: the one-port and twelve-term error models, Rumiantsev & Ridler, IEEE Microw. Mag.
//! 9(3) 86–99, 2008 (bibliographic data seen, equations recomputed). Both directions have error
//! terms of their own; the same standards calibrate both ports.

use jigwise_physics::{
    Budget, Cause, Complex64, Draws, Fixture, Immittance, Instrument, Residuals,
};
use jigwise_tests::raw_chain::{STANDARDS, Z0};
use jigwise_tests::seed::seed;

const ONE: Complex64 = Complex64::ONE;

/// Raw error terms of the forward direction.
#[derive(Clone, Copy)]
struct Chain {
    directivity: Complex64,
    source_match: Complex64,
    reflect_tracking: Complex64,
    load_match: Complex64,
    through_tracking: Complex64,
    crosstalk: Complex64,
}

impl Chain {
    fn random(draws: &mut Draws, source_match: f64, load_match: f64) -> Self {
        let mut turned =
            |size: f64| Complex64::from_polar(size, std::f64::consts::TAU * draws.uniform());
        Self {
            directivity: turned(source_match),
            source_match: turned(source_match),
            reflect_tracking: turned(0.9),
            load_match: turned(load_match),
            through_tracking: turned(0.85),
            crosstalk: turned(1e-3),
        }
    }

    /// What the receivers show with one port on a reflection.
    fn one_port(&self, gamma: Complex64) -> Complex64 {
        self.directivity + self.reflect_tracking * gamma / (1.0 - self.source_match * gamma)
    }

    /// What they show with a symmetric, reciprocal two-port in between.
    fn two_port(&self, s11: Complex64, s21: Complex64) -> (Complex64, Complex64) {
        let det = s11 * s11 - s21 * s21;
        let (s, l) = (self.source_match, self.load_match);
        let d = 1.0 - s * s11 - l * s11 + s * l * det;
        (
            self.directivity + self.reflect_tracking * (s11 - l * det) / d,
            self.crosstalk + self.through_tracking * s21 / d,
        )
    }

    fn correct_one_port(&self, raw: Complex64) -> Complex64 {
        let moved = raw - self.directivity;
        moved / (self.reflect_tracking + self.source_match * moved)
    }

    /// Corrected S21 of one direction, `forward` with the raw (S11, S21), `reverse` with the raw
    /// (S22, S12).
    fn correct_transmission(
        forward: (&Self, (Complex64, Complex64)),
        reverse: (&Self, (Complex64, Complex64)),
    ) -> Complex64 {
        let normal = |(chain, (raw11, raw21)): (&Self, (Complex64, Complex64))| {
            (
                (raw11 - chain.directivity) / chain.reflect_tracking,
                (raw21 - chain.crosstalk) / chain.through_tracking,
            )
        };
        let ((n11, n21), (n22, n12)) = (normal(forward), normal(reverse));
        let (f, r) = (forward.0, reverse.0);
        let e = (1.0 + n11 * f.source_match) * (1.0 + n22 * r.source_match)
            - n21 * n12 * f.load_match * r.load_match;
        n21 * (1.0 + n22 * (r.source_match - f.load_match)) / e
    }

    /// The terms that the reflection standards give when they are taken for ideal.
    fn one_port_calibrated(&self, of: &Residuals) -> Self {
        let open = self.one_port(ONE + of.of(Cause::Open));
        let short = self.one_port(-ONE + of.of(Cause::Short));
        let load = self.one_port(of.of(Cause::Load));
        // With Γ = 1, −1, 0: open = e00 + t/(1 − s), short = e00 − t/(1 + s), load = e00.
        let (up, down) = (open - load, load - short);
        let source_match = (up - down) / (up + down);
        Self {
            directivity: load,
            source_match,
            reflect_tracking: up * (1.0 - source_match),
            ..*self
        }
    }
}

/// Both directions of an analyzer.
#[derive(Clone, Copy)]
struct Analyzer([Chain; 2]);

impl Analyzer {
    fn random(draws: &mut Draws, source_match: f64, load_match: f64) -> Self {
        Self([(); 2].map(|()| Chain::random(draws, source_match, load_match)))
    }

    /// The terms that a calibration finds which takes its standards for ideal.
    fn calibrated(&self, of: &Residuals) -> Self {
        let raw = self.0.map(|chain| chain.two_port(Complex64::ZERO, ONE));
        let mut found = self.0.map(|chain| chain.one_port_calibrated(of));
        for ((found, chain), (raw11, raw21)) in found.iter_mut().zip(&self.0).zip(raw) {
            // The flush through shows the load match; λ is what that misses.
            found.load_match = found.correct_one_port(raw11) - of.of(Cause::LoadMatch);
            found.through_tracking =
                (raw21 - chain.crosstalk) * (1.0 - found.source_match * found.load_match);
            found.crosstalk = chain.crosstalk - of.of(Cause::Crosstalk) * chain.through_tracking;
        }
        // δT is what the corrected through reads beside 1, δX counted apart.
        for _ in 0..8 {
            let through = [0, 1].map(|k| {
                let other = 1 - k;
                Chain::correct_transmission((&found[k], raw[k]), (&found[other], raw[other]))
                    - of.of(Cause::Crosstalk)
            });
            for (found, through) in found.iter_mut().zip(through) {
                found.through_tracking *= through / (1.0 + of.of(Cause::ThroughTracking));
            }
        }
        Self(found)
    }

    /// The corrected reading of a part.
    fn reading(&self, found: &Self, fixture: Fixture, part: Immittance) -> Complex64 {
        let s11 = fixture.port_reflection(part, Z0).value().unwrap();
        let [forward, reverse] = &self.0;
        if fixture == Fixture::Reflect {
            return found.0[0].correct_one_port(forward.one_port(s11));
        }
        let s21 = fixture.reading(part, Z0).value().unwrap();
        Chain::correct_transmission(
            (&found.0[0], forward.two_port(s11, s21)),
            (&found.0[1], reverse.two_port(s11, s21)),
        )
    }

    /// The relative error of the ohms got back.
    fn relative_error(&self, of: &Residuals, fixture: Fixture, part: Immittance) -> Complex64 {
        let reading = self.reading(&self.calibrated(of), fixture, part);
        let back = fixture
            .immittance(reading, Z0)
            .unwrap()
            .impedance()
            .unwrap();
        back / part.impedance().unwrap() - 1.0
    }
}

fn random_part(draws: &mut Draws) -> Immittance {
    let size = 50.0 * 10f64.powf(3.0 * draws.uniform() - 1.5);
    let angle = std::f64::consts::PI * (draws.uniform() - 0.5);
    Immittance::from_impedance(Complex64::from_polar(size, angle)).unwrap()
}

/// The relative error per unit residual that the budget works with.
fn budgeted(cause: Cause, fixture: Fixture, part: Immittance) -> Complex64 {
    let budget = Budget::new(&Instrument::HANDHELD, Z0, 0).unwrap();
    let unit = Residuals::NONE.with(cause, ONE);
    let shift = budget.calibration_shift(&unit, fixture, part).unwrap();
    fixture.ohm_per_reading(part, Z0).unwrap() * shift / part.impedance().unwrap()
}

/// First derivative of the simulated error by one residual, both directions of the plane.
fn simulated(chain: &Analyzer, cause: Cause, fixture: Fixture, part: Immittance) -> Complex64 {
    const STEP: f64 = 1e-5;
    let error = |delta| chain.relative_error(&Residuals::NONE.with(cause, delta), fixture, part);
    (error(Complex64::new(STEP, 0.0)) - error(Complex64::new(-STEP, 0.0))) / (2.0 * STEP)
}

/// A chain with a perfect calibration gives the part back, so that the oracle is one.
#[test]
fn the_oracle_gives_the_part_back() {
    let mut draws = Draws::new(seed());
    for _ in 0..200 {
        let chain = Analyzer::random(&mut draws, 0.2, 0.2);
        let part = random_part(&mut draws);
        for fixture in Fixture::ALL {
            assert!(chain.relative_error(&Residuals::NONE, fixture, part).norm() < 1e-11);
        }
    }
}

/// With no raw match the budget's amplitudes are the first order of the chain, all of them.
#[test]
fn without_raw_match_every_residual_is_as_budgeted() {
    let mut draws = Draws::new(seed());
    for _ in 0..100 {
        let chain = Analyzer::random(&mut draws, 0.0, 0.0);
        let part = random_part(&mut draws);
        for fixture in Fixture::ALL {
            for cause in STANDARDS {
                let want = budgeted(cause, fixture, part);
                let got = simulated(&chain, cause, fixture, part);
                assert!(
                    (got - want).norm() < 1e-6 * (1.0 + want.norm()),
                    "seed {} {cause:?} {fixture:?} {part:?}: {got} for {want}",
                    seed()
                );
            }
        }
    }
}

/// By how much a unit residual of each cause differs from its budgeted amplitude at most, as a
/// part of it, over chains with the given raw source and load match.
fn products_with_raw_match(source_match: f64, load_match: f64) -> [f64; STANDARDS.len()] {
    let mut draws = Draws::new(seed());
    let mut largest = [0.0f64; STANDARDS.len()];
    for _ in 0..2_000 {
        let chain = Analyzer::random(&mut draws, source_match, load_match);
        let part = random_part(&mut draws);
        for fixture in Fixture::ALL {
            for (cause, largest) in STANDARDS.into_iter().zip(&mut largest) {
                let want = budgeted(cause, fixture, part);
                let got = simulated(&chain, cause, fixture, part);
                let off = (got - want).norm();
                if fixture == Fixture::Reflect || cause == Cause::Load {
                    assert!(
                        off < 1e-6 * (1.0 + want.norm()),
                        "seed {} {cause:?} {fixture:?} {part:?}: {got} for {want}",
                        seed()
                    );
                } else {
                    *largest = largest.max(off / want.norm());
                }
            }
        }
    }
    largest
}

/// Reflect is as budgeted whatever the raw match, and so is the load in all three. In the
/// through fixtures the raw match of the receiving port adds products that the budget counts
/// apart: a raw match of 0.13 moves the ½ of open and short by up to 0.30, the match left over
/// and the crosstalk by up to 28 % of themselves, tracking by 4 %. The raw source match alone
/// touches nothing but the crosstalk, by its own size.
#[test]
fn raw_match_adds_products_in_the_through_fixtures_only() {
    let [_, open, short, tracking, crosstalk, load_match] = products_with_raw_match(0.13, 0.0);
    for exact in [open, short, tracking, load_match] {
        assert!(exact < 1e-5, "{exact}");
    }
    assert!((0.1..=0.1301).contains(&crosstalk), "{crosstalk}");

    let [_, open, short, tracking, crosstalk, load_match] = products_with_raw_match(0.13, 0.13);
    for half in [open, short] {
        assert!((0.25..0.31).contains(&(half * 0.5)), "{half}");
    }
    assert!((0.2..0.3).contains(&load_match), "{load_match}");
    assert!((0.2..0.3).contains(&crosstalk), "{crosstalk}");
    assert!((0.02..0.05).contains(&tracking), "{tracking}");

    // Mostly first order in the match: half the match, a little less than half the product.
    let [_, half_open, ..] = products_with_raw_match(0.0, 0.065);
    assert!(
        (0.44..0.5).contains(&(half_open / open)),
        "{half_open} and {open}"
    );
}

/// The load is exact, not only to first order: Z′ = Z·Z0/Zload in all three fixtures and for any
/// raw terms. A 51 Ω load makes every impedance read 1.96 % low.
#[test]
fn the_law_of_the_load_is_exact_in_all_three_fixtures() {
    let mut draws = Draws::new(seed());
    for _ in 0..300 {
        let chain = Analyzer::random(&mut draws, 0.2, 0.2);
        let part = random_part(&mut draws);
        let load = Complex64::new(30.0 + 60.0 * draws.uniform(), 20.0 * draws.uniform());
        let residual = (load - 50.0) / (load + 50.0);
        let residuals = Residuals::NONE.with(Cause::Load, residual);
        for fixture in Fixture::ALL {
            let got = 1.0 + chain.relative_error(&residuals, fixture, part);
            assert!((got * load / 50.0 - 1.0).norm() < 1e-9, "{fixture:?} {got}");
        }
    }
    let chain = Analyzer::random(&mut draws, 0.2, 0.2);
    let load = Residuals::NONE.with(Cause::Load, Complex64::new(1.0 / 101.0, 0.0));
    for fixture in Fixture::ALL {
        let low = chain.relative_error(&load, fixture, random_part(&mut draws));
        assert!((low + 1.0 / 51.0).norm() < 1e-9);
    }
}

/// The exact law of imperfect standards of the one-port calibration, for finite errors of all
/// three: Z′ = Z0·(Z − Zs)(Zl − Zo)/((Z − Zo)(Zl − Zs)).
#[test]
fn the_exact_law_of_imperfect_standards() {
    let mut draws = Draws::new(seed());
    let ohm = |gamma: Complex64| 50.0 * (1.0 + gamma) / (1.0 - gamma);
    for _ in 0..200 {
        let chain = Analyzer::random(&mut draws, 0.15, 0.15);
        let part = random_part(&mut draws);
        let z = part.impedance().unwrap();
        let deltas = [(); 3].map(|()| draws.circular(4e-4));
        let residuals = Residuals::NONE
            .with(Cause::Open, deltas[0])
            .with(Cause::Short, deltas[1])
            .with(Cause::Load, deltas[2]);
        let (zo, zs, zl) = (ohm(1.0 + deltas[0]), ohm(-1.0 + deltas[1]), ohm(deltas[2]));
        let law = 50.0 * (z - zs) * (zl - zo) / ((z - zo) * (zl - zs));
        let got = z * (1.0 + chain.relative_error(&residuals, Fixture::Reflect, part));
        assert!((got / law - 1.0).norm() < 1e-9, "{got} for {law}");
    }
}
