//! Propagation of uncertainty against the guides of the Joint Committee: JCGM 100:2008 (GUM)
//! annex H.2, JCGM 101:2008 clause 9, JCGM 102:2011 clause 9.3, and against exact laws of the
//! three inversions.
//!
//! "Exact" columns were computed outside the project (numpy, scipy) from closed forms: the
//! printed ends of Monte Carlo intervals are one run each and wander in the last digits.

use jigwise_physics::{
    Budget, Complex64, Covariance, Coverage, DiscImage, Draws, Fixture, Immittance, Instrument,
    MonteCarlo, OutputQuantity, StandardsResiduals, Systematic, Trust, VendorFigures,
    angle_from_degrees, coverage_region, distance_from_pole, ratio_from_db,
};
use jigwise_tests::fifty_ohm::Z0;
use jigwise_tests::seed::seed;

fn close(what: &str, got: f64, want: f64, within: f64) {
    assert!(
        (got - want).abs() <= within,
        "{what}: {got} for {want} ± {within}, seed {}",
        seed()
    );
}

/// GUM table H.2: V in volts, I in amperes, φ in radians, five sets.
const TABLE_H2: [[f64; 3]; 5] = [
    [5.007, 19.663e-3, 1.0456],
    [4.994, 19.639e-3, 1.0438],
    [5.005, 19.640e-3, 1.0468],
    [4.990, 19.685e-3, 1.0428],
    [4.999, 19.678e-3, 1.0433],
];

struct Inputs {
    mean: [f64; 3],
    covariance: [[f64; 3]; 3],
}

fn inputs_of_h2() -> Inputs {
    let n = TABLE_H2.len() as f64;
    let mean = std::array::from_fn(|k| TABLE_H2.iter().map(|row| row[k]).sum::<f64>() / n);
    let covariance = std::array::from_fn(|j| {
        std::array::from_fn(|k| {
            TABLE_H2
                .iter()
                .map(|row| (row[j] - mean[j]) * (row[k] - mean[k]))
                .sum::<f64>()
                / (n * (n - 1.0))
        })
    });
    Inputs { mean, covariance }
}

/// Z = (V/I)·e^(jφ) with its derivatives by V, I, φ.
fn impedance([v, i, phi]: [f64; 3]) -> (Complex64, [Complex64; 3]) {
    let z = Complex64::from_polar(v / i, phi);
    (z, [z / v, -z / i, z * Complex64::I])
}

/// u and correlations of R, X and |Z| from the covariance of (R, X).
fn with_magnitude(z: Complex64, c: Covariance) -> ([f64; 3], [f64; 3]) {
    let (a, b) = (z.re / z.norm(), z.im / z.norm());
    let u = [
        c.re.sqrt(),
        c.im.sqrt(),
        (a * a * c.re + 2.0 * a * b * c.cross + b * b * c.im).sqrt(),
    ];
    let r_z = (a * c.re + b * c.cross) / (u[0] * u[2]);
    let x_z = (a * c.cross + b * c.im) / (u[1] * u[2]);
    (u, [c.correlation(), r_z, x_z])
}

/// GUM H.2, approach 1: means first, then propagation. Printed: R 127.732 u 0.071,
/// X 219.847 u 0.295, |Z| 254.260 u 0.236, r −0.588, −0.485, 0.993.
#[test]
fn gum_h2_by_propagating_the_means() {
    let Inputs { mean, covariance } = inputs_of_h2();
    for (k, (printed, within)) in [(3.2e-3, 5e-5), (9.5e-6, 5e-8), (7.5e-4, 5e-6)]
        .into_iter()
        .enumerate()
    {
        close("u of an input", covariance[k][k].sqrt(), printed, within);
    }
    let (z, derivatives) = impedance(mean);
    let c = Covariance::of_real_inputs(&derivatives, &covariance);
    let (u, r) = with_magnitude(z, c);
    close("R", z.re, 127.732, 6e-4);
    close("X", z.im, 219.847, 6e-4);
    close("|Z|", z.norm(), 254.260, 6e-4);
    for (got, (printed, full)) in
        u.into_iter()
            .zip([(0.071, 0.0710714), (0.295, 0.2955817), (0.236, 0.2363361)])
    {
        close("u printed", got, printed, 1e-3);
        close("u in full", got, full, 1e-7);
    }
    for (got, (printed, full)) in
        r.into_iter()
            .zip([(-0.588, -0.588430), (-0.485, -0.485259), (0.993, 0.992512)])
    {
        close("r printed", got, printed, 1e-3);
        close("r in full", got, full, 1e-6);
    }
}

/// GUM H.2, approach 2: five values of Z, then their mean. The printed u(X) = 0.295 is this
/// one's; approach 1 would round to 0.296.
#[test]
fn gum_h2_by_five_impedances() {
    let five = TABLE_H2.map(|row| impedance(row).0);
    let (mean, c) = Covariance::of_mean(&five).unwrap();
    close("R", mean.re, 127.731630, 1e-6);
    close("X", mean.im, 219.846895, 1e-6);
    close("u(R)", c.re.sqrt(), 0.0712735, 1e-7);
    close("u(X)", c.im.sqrt(), 0.2954891, 1e-7);
    close("r(R, X)", c.correlation(), -0.588277, 1e-6);
    // |Z| is the third quantity of each set: pair it with R, then with X.
    let beside = |part: fn(&Complex64) -> f64| {
        let pairs = five.map(|z| Complex64::new(part(&z), z.norm()));
        Covariance::of_mean(&pairs).unwrap()
    };
    let (mean, with_r) = beside(|z| z.re);
    close("|Z|", mean.im, 254.260050, 1e-6);
    close("u(|Z|)", with_r.im.sqrt(), 0.2362475, 1e-7);
    close("r(R, |Z|)", with_r.correlation(), -0.485065, 1e-6);
    let (_, with_x) = beside(|z| z.im);
    close("r(X, |Z|)", with_x.correlation(), 0.992508, 1e-6);
    assert!(Covariance::of_mean(&five[..1]).is_none());
}

/// The printed inputs are rounded; what follows from them is another number.
#[test]
fn gum_h2_from_rounded_inputs_is_another_answer() {
    let mean = [4.9990, 19.661e-3, 1.04446];
    let u = [0.0032, 0.0095e-3, 0.00075];
    let r = [[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]];
    let covariance = std::array::from_fn(|j| std::array::from_fn(|k| r[j][k] * u[j] * u[k]));
    let (z, derivatives) = impedance(mean);
    let c = Covariance::of_real_inputs(&derivatives, &covariance);
    close("u(R)", c.re.sqrt(), 0.069979, 1e-6);
    close("u(X)", c.im.sqrt(), 0.295717, 1e-6);
    close("r", c.correlation(), -0.591485, 1e-6);
    assert!((with_magnitude(z, c).0[0] - 0.0710714).abs() > 1e-3);
}

/// Without the correlations u(R) comes out 2.7 times too big (table H.5 from memory; values
/// recomputed).
#[test]
fn gum_h2_without_correlation_is_wrong() {
    let Inputs {
        mean,
        mut covariance,
    } = inputs_of_h2();
    for (j, row) in covariance.iter_mut().enumerate() {
        for (k, c) in row.iter_mut().enumerate() {
            if j != k {
                *c = 0.0;
            }
        }
    }
    let (z, derivatives) = impedance(mean);
    let c = Covariance::of_real_inputs(&derivatives, &covariance);
    let (u, r) = with_magnitude(z, c);
    for (got, want) in u.into_iter().zip([0.194544, 0.200909, 0.204076]) {
        close("u", got, want, 1e-6);
    }
    for (got, want) in r.into_iter().zip([0.0565, 0.5270, 0.8783]) {
        close("r", got, want, 1e-4);
    }
}

/// Exactly a million trials.
fn million<const N: usize>(model: impl Fn(&mut Draws) -> [f64; N] + Sync) -> [OutputQuantity; N] {
    let settings = MonteCarlo {
        digits: 4,
        max_trials: 1_000_000,
        seed: seed(),
        ..MonteCarlo::default()
    };
    let result = settings.run(model);
    assert!(result.trials > 980_000 && !result.has_converged);
    result.quantities
}

fn interval(what: &str, got: (f64, f64), want: (f64, f64), part: f64) {
    let width = want.1 - want.0;
    close(what, got.0, want.0, part * width);
    close(what, got.1, want.1, part * width);
}

/// JCGM 101, 9.2.2 to 9.2.4: sums of four. 9.2.3 exact ±2√3·(2 − (3/5)^¼) = ±3.8794, printed
/// 3.88; 9.2.4 exact ±17.016, printed 17.0 (from memory).
#[test]
fn jcgm_101_sums_of_four() {
    let rectangular = |draws: &mut Draws, u: f64| u * 12f64.sqrt() * (draws.uniform() - 0.5);
    let [gaussian] = million(|draws| [(0..4).map(|_| draws.normal()).sum()]);
    let [flat] = million(|draws| [(0..4).map(|_| rectangular(draws, 1.0)).sum()]);
    let [mixed] = million(|draws| {
        [rectangular(draws, 10.0) + (0..3).map(|_| rectangular(draws, 1.0)).sum::<f64>()]
    });
    for (drawn, u, end) in [
        (gaussian, 2.0, 3.92),
        (flat, 2.0, 3.8794),
        (mixed, 10.1489, 17.016),
    ] {
        close("y", drawn.deviation.unwrap().mean, 0.0, 0.005 * u);
        close("u", drawn.deviation.unwrap().u, u, 0.003 * u);
        interval("symmetric", drawn.symmetric, (-end, end), 0.005);
        interval("shortest", drawn.shortest, (-end, end), 0.02);
    }
}

/// JCGM 101, 9.4: δY = X1² + X2², u = 0.005 each. Exact columns; ×1e-6.
#[test]
fn jcgm_101_comparison_loss() {
    // r, x1, mean, u, shortest, symmetric.
    type Row = (f64, f64, f64, f64, (f64, f64), (f64, f64));
    const ROWS: [Row; 6] = [
        (0.0, 0.000, 50.0, 50.00, (0.0, 149.8), (1.3, 184.4)),
        (0.0, 0.010, 150.0, 111.80, (0.0, 366.0), (8.5, 427.1)),
        (
            0.0,
            0.050,
            2550.0,
            502.49,
            (1593.6, 3548.6),
            (1638.5, 3603.4),
        ),
        (0.9, 0.000, 50.0, 67.27, (0.0, 185.1), (0.6, 241.2)),
        (0.9, 0.010, 150.0, 120.52, (12.6, 397.5), (29.1, 478.3)),
        (
            0.9,
            0.050,
            2550.0,
            504.50,
            (1624.4, 3554.7),
            (1696.9, 3659.8),
        ),
    ];
    for (r, x1, mean, u, shortest, symmetric) in ROWS {
        let scatter = Covariance {
            re: 25e-6,
            im: 25e-6,
            cross: r * 25e-6,
        };
        let [drawn] = million(|draws| [1e6 * (x1 + draws.with_covariance(scatter)).norm_sqr()]);
        let what = format!("r {r}, x1 {x1}");
        let deviation = drawn.deviation.unwrap();
        // Five standard errors of a mean and of a deviation of a million: u/1000, and
        // u·√(kurtosis − 1)/2000 with the kurtosis at most 15, that of a squared Gaussian.
        close(&what, deviation.mean, mean, 0.005 * u);
        close(&what, deviation.u, u, 0.01 * u);
        // The density is flat where the shortest interval ends, so its ends wander more.
        interval(&what, drawn.shortest, shortest, 0.01);
        interval(&what, drawn.symmetric, symmetric, 0.01);
        // What the first order says: y = x1², u = 2·x1·0.005. The mean shift 2u² is missing.
        let first_order = Covariance::along(Complex64::new(2.0 * x1 * 0.005, 0.0));
        close(&what, first_order.re.sqrt() * 1e6, 1e4 * x1, 1e-9);
        assert!(mean - x1 * x1 * 1e6 > 49.9);
    }
}

/// The adaptive procedure stops by itself within its tolerance: u = 2.00 to two digits has
/// δ = 0.05 (JCGM 101, 7.9.2).
#[test]
fn jcgm_101_adaptive_stop() {
    let settings = MonteCarlo {
        seed: seed(),
        ..MonteCarlo::default()
    };
    let coarse = settings.run(|draws| [(0..4).map(|_| draws.normal()).sum()]);
    let fine = MonteCarlo {
        digits: 3,
        ..settings
    }
    .run(|draws| [(0..4).map(|_| draws.normal()).sum()]);
    assert!(coarse.has_converged && fine.has_converged);
    // Every block has a stream of its own, so threads change nothing, not a bit.
    let threaded = MonteCarlo {
        threads: 3,
        ..settings
    };
    assert_eq!(
        threaded.run(|draws| [(0..4).map(|_| draws.normal()).sum()]),
        coarse
    );
    assert!(coarse.trials < 200_000, "{}", coarse.trials);
    // A digit more costs about a hundred times the trials.
    assert!(fine.trials > 10 * coarse.trials, "{}", fine.trials);
    for (result, tolerance) in [(coarse, 0.05), (fine, 0.005)] {
        let drawn = &result.quantities[0];
        close("u", drawn.deviation.unwrap().u, 2.0, tolerance);
        close("low", drawn.symmetric.0, -3.92, 2.0 * tolerance);
        close("high", drawn.symmetric.1, 3.92, 2.0 * tolerance);
    }
}

/// JCGM 102, 9.3 (inputs from memory): Cartesian to polar. Exact by the Rice law.
#[test]
fn jcgm_102_cartesian_to_polar() {
    for (x1, mean, u_mag, u_arg) in [
        (0.001, 0.012564, 0.006568, 1.7441),
        (0.010, 0.015486, 0.007758, 1.1176),
        (0.100, 0.100501, 0.009975, 0.10051),
    ] {
        let [magnitude, angle] = million(|draws| {
            let gamma = x1 + draws.circular(1e-4);
            [gamma.norm(), gamma.arg()]
        });
        close("|Γ|", magnitude.deviation.unwrap().mean, mean, 0.01 * mean);
        close(
            "u(|Γ|)",
            magnitude.deviation.unwrap().u,
            u_mag,
            0.01 * u_mag,
        );
        close("u(arg)", angle.deviation.unwrap().u, u_arg, 0.01 * u_arg);
        // The first order u(arg) = 0.01/x1 fails where the circle holds the origin.
        let first_order = 0.01 / x1;
        assert_eq!((u_arg / first_order - 1.0).abs() < 0.01, x1 == 0.1);
    }
}

/// Nothing but a floor: a circular error of σ per component.
fn only_floor(sigma: f64) -> Budget {
    quiet(|i| {
        i.reflect_floor = sigma * std::f64::consts::SQRT_2;
        i.through_floor = i.reflect_floor;
    })
}

/// No error worth mention but what `change` puts in.
fn quiet(change: impl FnOnce(&mut Instrument)) -> Budget {
    let mut instrument = Instrument {
        systematic: Systematic::Standards(StandardsResiduals {
            load: 0.0,
            open: 0.0,
            short: 0.0,
            through_tracking: 0.0,
            crosstalk: 0.0,
            load_match: 0.0,
        }),
        reflect_floor: 1e-15,
        through_floor: 1e-15,
        trace_magnitude: 0.0,
        trace_phase_rad: 0.0,
        display_magnitude: 0.0,
        display_phase_rad: 0.0,
        ..Instrument::HANDHELD
    };
    change(&mut instrument);
    Budget::new(&instrument, Z0, 0).unwrap()
}

fn part_reading(fixture: Fixture, s: Complex64) -> Immittance {
    fixture.immittance(s, Z0).unwrap()
}

/// Closed forms of a circular error: linear u, exact centre and radius of the 95 % disc.
#[test]
fn circular_errors_have_exact_discs() {
    let c = Complex64::new;
    for (fixture, s, sigma, z, u, center, radius) in [
        (
            Fixture::Reflect,
            c(0.6, 0.2),
            0.02,
            c(150.0, 100.0),
            10.0,
            c(152.4257, 101.2128),
            24.7743,
        ),
        (
            Fixture::ShuntThrough,
            c(0.1, 0.05),
            0.01,
            c(2.692308, 1.538462),
            0.307692,
            c(2.712743, 1.539597),
            0.753709,
        ),
        (
            Fixture::SeriesThrough,
            c(0.05, -0.1),
            0.01,
            c(300.0, 800.0),
            80.0,
            c(320.1379, 840.2759),
            205.678,
        ),
        (
            Fixture::Reflect,
            c(0.9, 0.0),
            0.03,
            c(950.0, 0.0),
            300.0,
            c(2120.289, 0.0),
            1593.695,
        ),
    ] {
        let part = part_reading(fixture, s);
        let budget = only_floor(sigma);
        assert!((part.impedance().unwrap() - z).norm() < 1e-6 * z.norm());
        let linear = budget.impedance_covariance(fixture, part).unwrap();
        close("u(R)", linear.re.sqrt(), u, 1e-6 * (1.0 + u));
        close("u(X)", linear.im.sqrt(), u, 1e-6 * (1.0 + u));
        close("r", linear.correlation(), 0.0, 1e-12);
        let reading = budget.reading_covariance(fixture, part).unwrap();
        let Some(DiscImage::Inside {
            center: got,
            radius: rho,
        }) = coverage_region(fixture, part, Z0, reading, Coverage::P95)
        else {
            panic!("bounded");
        };
        let tolerance = 2e-6 * center.norm().max(radius);
        assert!((got - center).norm() < tolerance, "{got} for {center}");
        close("radius", rho, radius, tolerance);
        // The region holds 95 % of drawn impedances.
        let mut draws = Draws::new(seed());
        let trials = 400_000;
        let inside = (0..trials)
            .filter(|_| {
                let z = part_reading(fixture, s + draws.circular(sigma * sigma))
                    .impedance()
                    .unwrap();
                (z - got).norm() < rho
            })
            .count();
        close("content", inside as f64 / f64::from(trials), 0.95, 0.0012);
    }
}

/// Trace noise in dB and degrees, linear, to 1e-5 (by the `uncertainties` library).
#[test]
fn polar_errors_tilt_the_ellipse() {
    for (fixture, db, degrees, s, z, u_r, u_x, r) in [
        (
            Fixture::ShuntThrough,
            0.05,
            0.3,
            Complex64::from_polar(0.1, -60f64.to_radians()),
            Complex64::new(1.098901, -2.379191),
            0.0145522,
            0.0156603,
            -0.059833,
        ),
        (
            Fixture::SeriesThrough,
            0.05,
            0.3,
            Complex64::from_polar(0.1, -60f64.to_radians()),
            Complex64::new(400.0, 866.0254),
            5.370837,
            5.630856,
            0.081918,
        ),
        (
            Fixture::Reflect,
            0.0,
            0.4,
            Complex64::from_polar(0.8, 45f64.to_radians()),
            Complex64::new(35.389242, 111.217657),
            0.874967,
            1.028901,
            0.282650,
        ),
    ] {
        let part = part_reading(fixture, s);
        assert!((part.impedance().unwrap() - z).norm() < 1e-5 * z.norm());
        let budget = quiet(|i| {
            i.trace_magnitude = if fixture == Fixture::Reflect {
                0.004 / 0.8
            } else {
                ratio_from_db("trace", db).unwrap()
            };
            i.trace_phase_rad = angle_from_degrees("trace", degrees).unwrap();
        });
        let c = budget.impedance_covariance(fixture, part).unwrap();
        close("u(R)", c.re.sqrt(), u_r, 1e-5 * u_r);
        close("u(X)", c.im.sqrt(), u_x, 1e-5 * u_x);
        close("r", c.correlation(), r, 1e-5);
    }
}

/// E[Z] = A + (B/t0)·(1 − exp(−|t0|²/2σ²)) exactly: 814.66 Ω for S11 = 0.9, σ = 0.05, where
/// the linear model says 950. The variance is infinite there and is never reported.
#[test]
fn near_the_pole_the_mean_moves_and_no_deviation_exists() {
    let sigma: f64 = 0.05;
    let exact = -50.0 + 1000.0 * (1.0 - (-0.01 / (2.0 * sigma * sigma)).exp());
    close("closed form", exact, 814.66, 0.01);
    let [r] = million(|draws| {
        let s = 0.9 + draws.circular(sigma * sigma);
        [part_reading(Fixture::Reflect, s).impedance().unwrap().re]
    });
    close("E[R]", r.deviation.unwrap().mean, exact, 8.0);

    let part = part_reading(Fixture::Reflect, Complex64::new(0.9, 0.0));
    let settings = MonteCarlo {
        seed: seed(),
        ..MonteCarlo::default()
    };
    let near = only_floor(sigma)
        .monte_carlo(Fixture::Reflect, part, settings)
        .unwrap();
    assert!(near.has_converged);
    assert!(near.quantities.iter().all(|q| q.deviation.is_none()));
    let t0 = distance_from_pole(Fixture::Reflect, part, Z0).unwrap();
    close("|t0|", t0, 0.1, 1e-12);
    for (sigma, trust) in [
        (0.05, Trust::Unbounded),
        (0.03, Trust::NoDeviation),
        (0.01, Trust::Disc),
        (0.0039, Trust::Linear),
    ] {
        assert_eq!(Trust::of(t0 / sigma, Coverage::P95), trust);
        let drawn = only_floor(sigma)
            .monte_carlo(Fixture::Reflect, part, settings)
            .unwrap();
        let told = drawn.quantities[0].deviation.is_some();
        assert_eq!(told, trust <= Trust::Disc, "{sigma}");
    }
}

/// Far from the pole drawing and the linear covariance agree, all causes on.
#[test]
fn drawing_agrees_with_the_linear_covariance_far_from_the_pole() {
    let instrument = Instrument {
        drift: 0.002,
        cable_phase_rad: 0.003,
        contact_ohm: 0.2,
        ground_loop_ohm: 0.1,
        ..Instrument::HANDHELD
    };
    let vendor = Instrument {
        systematic: Systematic::Vendor(VendorFigures {
            directivity: 0.01,
            reflect_tracking: 0.02,
            source_match: 0.03,
            through_tracking: 0.02,
            crosstalk: 0.001,
            load_match: 0.02,
        }),
        systematic_is_bound: true,
        ..instrument
    };
    let part = Immittance::from_impedance(Complex64::new(30.0, 40.0)).unwrap();
    for instrument in [instrument, vendor] {
        let budget = Budget::new(&instrument, Z0, 2).unwrap();
        for fixture in Fixture::ALL {
            let linear = budget.impedance_covariance(fixture, part).unwrap();
            let settings = MonteCarlo {
                digits: 3,
                max_trials: 400_000,
                seed: seed(),
                ..MonteCarlo::default()
            };
            let drawn = budget.monte_carlo(fixture, part, settings).unwrap();
            for (quantity, variance) in drawn.quantities.iter().zip([linear.re, linear.im]) {
                let u = variance.sqrt();
                // The second order adds about (2σ/|t0|)² of u here.
                close("u", quantity.deviation.unwrap().u, u, 0.02 * u);
            }
        }
    }
}

/// The disc takes the widest σ all round, so it holds more than asked where the scatter is not
/// a circular Gaussian: 98.6 % of a line (erf(2.4477/√2)), all of a uniform disc and of a ring.
#[test]
fn budgets_that_are_no_circular_gaussian_are_over_covered() {
    let radius = Coverage::P95.radius_in_sigma();
    let content = |scatter: &mut dyn FnMut(&mut Draws) -> Complex64, sigma: f64| {
        let mut draws = Draws::new(seed());
        let trials = 200_000;
        let inside = (0..trials)
            .filter(|_| scatter(&mut draws).norm() < radius * sigma)
            .count();
        inside as f64 / f64::from(trials)
    };
    let gaussian = content(&mut |draws| draws.circular(1.0), 1.0);
    close("circular", gaussian, 0.95, 0.002);
    let line = content(&mut |draws| draws.normal().into(), 1.0);
    close("line", line, 0.98563, 0.001);
    // Uniform in a disc of radius 1 has σ = ½; a ring of radius 1 has σ = 1/√2.
    assert_eq!(content(&mut |draws| draws.in_disc(1.0), 0.5), 1.0);
    let ring = content(
        &mut |draws| Complex64::from_polar(1.0, std::f64::consts::TAU * draws.uniform()),
        std::f64::consts::FRAC_1_SQRT_2,
    );
    assert_eq!(ring, 1.0);

    // The same through a budget: one bound of 2 %, everything else off.
    let bound = quiet(|i| {
        i.systematic_is_bound = true;
        if let Systematic::Standards(s) = &mut i.systematic {
            s.load = 0.02;
        }
    });
    let part = Immittance::from_impedance(Complex64::new(20.0, -35.0)).unwrap();
    let reading = bound.reading_covariance(Fixture::Reflect, part).unwrap();
    let slope = bound.figure_of_merit(Fixture::Reflect, part).unwrap();
    // E|δ|² = r²/2 and δZ/Z = −2δ.
    close("e", slope, 2.0 * 0.02 / 2f64.sqrt(), 1e-9);
    let region = coverage_region(Fixture::Reflect, part, Z0, reading, Coverage::P95).unwrap();
    let mut draws = Draws::new(seed());
    let s0 = Fixture::Reflect.reading(part, Z0).value().unwrap();
    for _ in 0..20_000 {
        let residuals = bound.draw_calibration(&mut draws);
        let shift = bound
            .calibration_shift(&residuals, Fixture::Reflect, part)
            .unwrap();
        let z = part_reading(Fixture::Reflect, s0 + shift)
            .impedance()
            .unwrap();
        assert_eq!(region.contains(z), Some(true));
    }
}

#[test]
fn no_finite_region_holds_everything() {
    for p in [1.0, 0.0, -0.2, 1.5, f64::NAN] {
        let error = Coverage::new(p).unwrap_err();
        assert_eq!((error.min, error.max), (0.01, 0.999_999), "{error}");
    }
    close("ρ/σ", Coverage::P95.radius_in_sigma(), 2.44775, 5e-6);
    close("ρ/rms", Coverage::P95.radius_in_rms(), 1.731, 5e-4);
}
