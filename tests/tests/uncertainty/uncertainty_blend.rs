//! Blending: the law of imperfect standards, and what drawn calibrations do to the estimate.

use jigwise_physics::{
    BlendError, Budget, Cause, Complex64, Draws, Fixture, Immittance, Instrument, StandingCaution,
    Systematic,
};
use jigwise_tests::fifty_ohm::{Z0, ohm};
use jigwise_tests::seed::seed;

fn readings(part: Immittance) -> [Option<Complex64>; 3] {
    Fixture::ALL.map(|fixture| fixture.reading(part, Z0).value())
}

fn budget(instrument: Instrument) -> Budget {
    Budget::new(&instrument, Z0, 0).unwrap()
}

/// A 51 Ω load taken for 50 Ω makes every impedance read Z·50/51, 1.96 % low (the exact law
/// Z′ = Z·Z0/Zload). The three agree perfectly, and the blend's uncertainty is not below what
/// the load alone makes, 2·rms δL.
#[test]
fn agreement_cannot_reveal_a_wrong_load() {
    for (name, instrument) in Instrument::PRESETS {
        for part in [ohm(20.0, 0.0), ohm(30.0, 40.0), ohm(120.0, -60.0)] {
            let z = part.impedance().unwrap();
            let shown = Immittance::from_impedance(z * 50.0 / 51.0).unwrap();
            let blend = budget(instrument).blend(readings(shown)).unwrap();
            let low = 1.0 - blend.impedance_ohm / z;
            assert!((low - 0.0196078).norm() < 1e-6, "{name}: {low}");
            assert!(blend.chi_square < 1e-12 && blend.p > 0.999_999 && !blend.is_doubtful);
            assert_eq!(blend.cautions[0], StandingCaution::CommonStandards);
            let Systematic::Standards(standards) = instrument.systematic else {
                panic!("presets are described by standards");
            };
            let e = blend.covariance.trace().sqrt() / z.norm();
            assert!(e >= 2.0 * standards.load, "{name}: {e}");
            // Better than each alone, since it may always take the best.
            for fixture in Fixture::ALL {
                let alone = budget(instrument).figure_of_merit(fixture, part).unwrap();
                assert!(e <= alone * 1.001, "{name} {fixture:?}: {e} and {alone}");
            }
        }
    }
}

/// Calibrations and noise drawn a thousand times over: the estimate scatters as its covariance
/// says, and χ² as one with four degrees of freedom.
#[test]
fn estimates_scatter_as_they_say() {
    let instrument = Instrument {
        display_magnitude: 0.0,
        display_phase_rad: 0.0,
        ..Instrument::CLUB_BENCH
    };
    let budget = budget(instrument);
    let part = ohm(40.0, 25.0);
    let z = part.impedance().unwrap();
    let mut draws = Draws::new(seed());
    let trials = 4_000;
    let (mut re, mut im, mut cross, mut chi) = (0.0, 0.0, 0.0, 0.0);
    let (mut doubtful, mut refused) = (0, 0);
    let told = budget.blend(readings(part)).unwrap().covariance;
    for _ in 0..trials {
        let residuals = budget.draw_calibration(&mut draws);
        let noisy = Fixture::ALL.map(|fixture| {
            let s = fixture.reading(part, Z0).value()?;
            let shift = budget.calibration_shift(&residuals, fixture, part)?;
            let random = [Cause::NoiseFloor, Cause::TraceMagnitude, Cause::TracePhase]
                .into_iter()
                .map(|cause| {
                    let scatter = budget.contribution(cause, fixture, part).unwrap();
                    draws.with_covariance(scatter)
                })
                .sum::<Complex64>();
            Some(s + shift + random)
        });
        let blend = match budget.blend(noisy) {
            Ok(blend) => blend,
            Err(BlendError::Contradiction { p, .. }) => {
                assert!(p < 0.001);
                refused += 1;
                continue;
            }
            Err(error) => panic!("{error}"),
        };
        assert_eq!(blend.used, [true; 3]);
        assert_eq!(blend.degrees_of_freedom, 4);
        let off = blend.impedance_ohm - z;
        re += off.re * off.re;
        im += off.im * off.im;
        cross += off.re * off.im;
        chi += blend.chi_square;
        doubtful += i32::from(blend.is_doubtful);
    }
    let n = f64::from(trials);
    // Five standard errors: √(2/n) of a variance, √(8/n) of the mean of χ².
    let within = 5.0 * (2.0 / n).sqrt();
    let what = format!("seed {}", seed());
    assert!((re / n / told.re - 1.0).abs() < within, "{what}");
    assert!((im / n / told.im - 1.0).abs() < within, "{what}");
    let size = (told.re * told.im).sqrt();
    assert!(((cross / n - told.cross) / size).abs() < within, "{what}");
    assert!(
        (chi / n - 4.0).abs() < 5.0 * (8.0 / n).sqrt(),
        "{what}: {}",
        chi / n
    );
    // One in a thousand is refused by chance: 4 of 4000, Poisson.
    assert!(refused <= 4 + 5 * 2, "{what}: {refused}");
    let part_doubtful = f64::from(doubtful + refused) / n;
    assert!(
        (part_doubtful - 0.05).abs() < 5.0 * (0.05 * 0.95 / n).sqrt(),
        "{part_doubtful}"
    );
}

/// A stray that the budget does not know of is refused, not averaged away.
#[test]
fn contradictions_are_refused() {
    let budget = budget(Instrument::LABORATORY);
    let part = ohm(40.0, 25.0);
    let mut wrong = readings(part);
    // 2 nH at 100 MHz in the leg of the shunt fixture.
    wrong[1] = Fixture::ShuntThrough
        .reading(ohm(40.0, 26.2566), Z0)
        .value();
    let error = budget.blend(wrong).unwrap_err();
    let BlendError::Contradiction {
        p,
        degrees_of_freedom,
        chi_square,
    } = error
    else {
        panic!("{error}");
    };
    assert!(p < 1e-3 && degrees_of_freedom == 4);
    // The tail in closed form, e^(−x/2)·(1 + x/2).
    let half = chi_square / 2.0;
    assert!((p - (-half).exp() * (1.0 + half)).abs() < 1e-15);
    assert!(error.to_string().contains("look for a stray"));
    // A fifth of it is only doubtful.
    let doubt = (1..60).find_map(|k| {
        let part = ohm(40.0, 25.0 + 0.02 * f64::from(k));
        wrong[1] = Fixture::ShuntThrough.reading(part, Z0).value();
        budget.blend(wrong).ok().filter(|blend| blend.is_doubtful)
    });
    assert!(doubt.is_some_and(|blend| (0.001..0.05).contains(&blend.p)));
    // So far apart that the tail is below the smallest number.
    wrong[1] = Fixture::ShuntThrough.reading(ohm(4.0, 0.0), Z0).value();
    let error = budget.blend(wrong).unwrap_err().to_string();
    assert!(error.contains("p below 1e-300"), "{error}");
}

/// A fixture that can't see the part is left out; with fewer than two there is no blend.
#[test]
fn blind_fixtures_are_left_out() {
    let handheld = budget(Instrument::HANDHELD);
    // At 600 Ω shunt-through is within 6σ of its pole.
    let blend = handheld.blend(readings(ohm(600.0, 0.0))).unwrap();
    assert_eq!(blend.used, [true, false, true]);
    assert_eq!(blend.degrees_of_freedom, 2);
    assert_eq!(
        handheld.blend(readings(ohm(200_000.0, 0.0))).unwrap_err(),
        BlendError::TooFew { usable: 0 }
    );
    let only = [readings(ohm(50.0, 0.0))[0], None, None];
    assert_eq!(
        handheld.blend(only).unwrap_err(),
        BlendError::TooFew { usable: 1 }
    );
    let nan = [Some(Complex64::new(f64::NAN, 0.0)), None, None];
    assert!(matches!(
        handheld.blend(nan).unwrap_err(),
        BlendError::Number(_)
    ));
}

/// The power a part takes in is what the waves leave behind; the blend says how far the levels
/// differ.
#[test]
fn fixtures_drive_a_part_differently() {
    let part = ohm(10.0, 35.0);
    for fixture in Fixture::ALL {
        let s11 = fixture.port_reflection(part, Z0).value().unwrap();
        let s21 = match fixture {
            Fixture::Reflect => Complex64::ZERO,
            _ => fixture.reading(part, Z0).value().unwrap(),
        };
        let left = 1.0 - s11.norm_sqr() - s21.norm_sqr();
        assert!((fixture.accepted_power(part, Z0) - left).abs() < 1e-14);
    }
    let blend = budget(Instrument::CLUB_BENCH)
        .blend(readings(part))
        .unwrap();
    // By the voltage divider: a source of 1 V behind Z0 leaves the part |I|²·R or |V|²·G in the
    // circuit of each fixture, the available power is 1/(4·Z0).
    let z = Complex64::new(10.0, 35.0) / 50.0;
    let across = z / (z * 2.0 + 1.0);
    let powers = [
        4.0 * z.re / (z + 1.0).norm_sqr(),
        4.0 * across.norm_sqr() * z.re / z.norm_sqr(),
        4.0 * z.re / (z + 2.0).norm_sqr(),
    ];
    let ratio =
        powers.into_iter().fold(0.0, f64::max) / powers.into_iter().fold(f64::INFINITY, f64::min);
    let StandingCaution::Level { ratio: told } = blend.cautions[1] else {
        panic!("the level is always cautioned about");
    };
    assert!((told / ratio - 1.0).abs() < 1e-9);
}
