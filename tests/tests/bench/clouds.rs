//! Clouds of repeated readings: unit scatter, the separation that the budget states, and what
//! calibrating again moves and leaves.
//!
//! Built oracles: the separation comes from the closed form in the physics, the clouds from
//! points drawn once and then matched: their mean is 0, both variances are 1 and their
//! correlation is 0, exactly and not only in the limit. Sample moments of a cloud are therefore
//! those of its covariance to rounding, and nothing statistical is allowed for.

use jigwise_bench::scene::half_width_sigma;
use jigwise_bench::{
    Bench, Budget, Draws, Fixture, NamedInstrument, Nudge, Residuals, Scenario, Verdict,
};
use jigwise_tests::seed::seed;

fn bench(device: &str, instrument: &str, nudge: f64, swapped: bool) -> Bench {
    let scenario = Scenario {
        device: device.parse().unwrap(),
        instrument: NamedInstrument::preset(instrument),
        nudge: Nudge::new(nudge, Default::default(), swapped).unwrap(),
        ..Scenario::default()
    };
    Bench::new(&scenario).unwrap()
}

const DEVICES: [&str; 7] = ["0.5", "12", "50", "330 - j120", "4.7k", "j40", "20k"];

/// Rounding in whitening and in the sums over a cloud. A separation of thousands of σ puts the
/// points that far from zero, so it is a share there.
const ROUNDING: f64 = 1e-9;

fn mean_and_variances(points: &[[f64; 2]]) -> ([f64; 2], [f64; 2]) {
    let count = points.len() as f64;
    let mean = [0, 1].map(|k| points.iter().map(|p| p[k]).sum::<f64>() / count);
    let variance =
        [0, 1].map(|k| points.iter().map(|p| (p[k] - mean[k]).powi(2)).sum::<f64>() / count);
    (mean, variance)
}

#[test]
fn clouds_have_unit_scatter_and_the_stated_separation() {
    for instrument in NamedInstrument::preset_names() {
        for device in DEVICES {
            for swapped in [false, true] {
                let bench = bench(device, instrument, 0.03, swapped);
                let appraisal = bench.readout().appraisal.unwrap();
                for fixture in Fixture::ALL {
                    let clouds = bench.clouds(fixture, &Residuals::NONE).unwrap();
                    let (before, spread) = mean_and_variances(&clouds.before);
                    let (after, spread_after) = mean_and_variances(&clouds.after);
                    // The mean of both covariances is what is whitened to one.
                    for k in [0, 1] {
                        let variance = 0.5 * (spread[k] + spread_after[k]);
                        assert!(
                            (variance - 1.0).abs() <= ROUNDING,
                            "{instrument} {device} {fixture:?}: variance {variance}"
                        );
                    }
                    let d = appraisal.of(fixture).separation_sigma.unwrap();
                    let drawn = (after[0] - before[0]).hypot(after[1] - before[1]);
                    assert!(
                        (drawn - d).abs() <= ROUNDING * d,
                        "{instrument} {device} {fixture:?}: {drawn} drawn, {d} stated"
                    );
                    assert!(
                        (after[1] - before[1]).abs() <= ROUNDING,
                        "the nudge lies along x"
                    );
                }
            }
        }
    }
}

#[test]
fn calibrating_again_moves_the_ohms_and_leaves_the_separation() {
    const SEEDS: u64 = 200;
    for device in ["0.5", "50", "330 - j120", "1k"] {
        let bench = bench(device, "handheld", 0.1, false);
        let budget: &Budget = bench.budget().unwrap();
        let nominal = bench.device().impedance().unwrap();
        let appraisal = bench.readout().appraisal.unwrap();
        for fixture in Fixture::ALL {
            let ideal = bench.clouds(fixture, &Residuals::NONE).unwrap();
            let mut sum = 0.0;
            let mut changes = 0.0;
            for number in 0..SEEDS {
                let residuals = budget.draw_calibration(&mut Draws::new(seed() + number));
                let back = bench.got_back_after(fixture, &residuals).unwrap();
                sum += (back.impedance().unwrap() - nominal).norm_sqr();
                let moved = bench.clouds(fixture, &residuals).unwrap();
                let change = moved.separation_sigma / ideal.separation_sigma - 1.0;
                changes += change * change;
            }
            let change = (changes / SEEDS as f64).sqrt();
            assert!(
                change < 0.05,
                "seeds from {}: {device} {fixture:?}: separation changes by {change:.3} rms",
                seed()
            );
            // The systematic part of e, from the budget without noise and display.
            let rms = (sum / SEEDS as f64).sqrt() / nominal.norm();
            let e = appraisal.of(fixture).figure_of_merit.unwrap();
            if e < 0.15 {
                assert!(
                    (0.7..1.3).contains(&(rms / e)),
                    "{device} {fixture:?}: ohms moved by {rms:.4}, e is {e:.4}"
                );
            }
        }
    }
}

#[test]
fn the_picture_is_wide_enough_until_it_breaks() {
    for d in [0.0, 1.0, 2.83, 5.0, 10.0, 14.9] {
        let (half, broken) = half_width_sigma(d);
        assert_eq!(half, f64::max(4.0, 0.6 * d + 3.0));
        assert!(!broken && half > d / 2.0);
    }
    assert_eq!(half_width_sigma(15.1), (12.0, true));
}

#[test]
fn where_a_nudge_means_nothing_there_are_no_clouds() {
    for device in ["open", "short"] {
        let bench = bench(device, "handheld", 0.1, false);
        for seen in bench.readout().appraisal.unwrap().fixtures {
            assert_eq!(seen.verdict, Verdict::NoNudge);
        }
    }
    let pole = bench("-25", "handheld", 0.1, false);
    assert!(
        pole.clouds(Fixture::ShuntThrough, &Residuals::NONE)
            .is_none()
    );
}
