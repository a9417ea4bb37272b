//! What the reduction of a long sweep takes, counted at the allocator.

use jigwise_bench::{Budget, Complex64, Fixture, Sweep};
use jigwise_physics::{Instrument, ReferenceImpedance};
use jigwise_reduce::{Ensemble, Recipe, ReduceError, Reducer};

/// Data with all that is made of them stay within three times the data.
#[test]
fn a_long_sweep_takes_at_most_three_times_its_data() {
    let z0 = ReferenceImpedance::FIFTY_OHM;
    let recipe = Recipe {
        budget: Some(Budget::new(&Instrument::CLUB_BENCH, z0, 0).unwrap().into()),
        ..Recipe::default()
    };
    for (ports, fixture) in [(1, Fixture::Reflect), (2, Fixture::SeriesThrough)] {
        let points = 200_000;
        let freq_hz: Vec<f64> = (0..points).map(|k| 1e6 + f64::from(k)).collect();
        let s = vec![Complex64::new(0.4, 0.2); freq_hz.len() * ports * ports];
        let data = (8 * freq_hz.len() + 16 * s.len()) as u64;
        let sweep = Sweep::new(ports, &[50.0], freq_hz, s).unwrap();
        let mut told = 0;
        let counted = allocation_counter::measure(|| {
            let reducer = Reducer::new(&sweep, fixture, &recipe).unwrap();
            let survey = reducer.survey().unwrap();
            assert_eq!(survey.left_out, 0);
            let ensemble = Ensemble::new(vec![reducer]).unwrap();
            let taken = ensemble.each(
                |point| {
                    told += usize::from(point.uncertainty_ohm().is_some());
                    Ok::<(), ReduceError>(())
                },
                |_| {},
            );
            taken.unwrap();
            ensemble.fit_input().unwrap();
        });
        assert_eq!(told, points as usize);
        // The sweep itself was there before. Only this thread is counted: what the workers hold
        // is handed to it and never more than that again.
        assert!(
            data + 2 * counted.bytes_max <= 3 * data,
            "{} bytes beside {data} of data",
            counted.bytes_max
        );
    }
}
