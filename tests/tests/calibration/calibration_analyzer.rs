//! The invented analyzer: its sizes, its smoothness, its noise.

use std::f64::consts::TAU;

use jigwise_physics::{Budget, Complex64, Draws, Fixture, Instrument, RawAnalyzer, TwelveTerms};
use jigwise_tests::raw_chain::{Z0, of_part};
use jigwise_tests::seed::seed;

/// The sizes the trade knows of a raw instrument (common practice, no source): directivity
/// 25 to 30 dB, source match 15 to 20 dB. Terms run smoothly with frequency.
#[test]
fn the_invented_analyzer_has_the_sizes_of_a_raw_one() {
    let db = |size: Complex64| -20.0 * size.norm().log10();
    for number in 0..40 {
        let analyzer = RawAnalyzer::new(number);
        let mut before: Option<TwelveTerms> = None;
        for step in 0..2000 {
            let freq_hz = 1e6 + 2e6 * f64::from(step);
            let terms = analyzer.terms(freq_hz);
            for direction in [terms.forward, terms.reverse] {
                assert!((24.9..30.2).contains(&db(direction.one_port.directivity)));
                assert!((14.9..20.2).contains(&db(direction.one_port.source_match)));
                assert!((11.0..30.0).contains(&db(direction.load_match)));
                assert!((75.0..95.0).contains(&db(direction.crosstalk)));
                assert!((0.5..1.0).contains(&direction.one_port.reflect_tracking.norm()));
            }
            if let Some(before) = before {
                let moved = terms.forward.through_tracking - before.forward.through_tracking;
                // 2 MHz turn 5 ns by 0.063 rad.
                assert!(moved.norm() < 0.1 * TAU / 6.0, "{moved} at {freq_hz}");
            }
            before = Some(terms);
        }
    }
}

/// Raw readings scatter as the budget says of a reading of that size.
#[test]
fn raw_noise_is_that_of_the_budget() {
    // Unequal, so that the two axes can't be exchanged; in the presets they are nearly equal.
    let instrument = Instrument {
        trace_magnitude: 2e-3,
        trace_phase_rad: 6e-3,
        ..Instrument::HANDHELD
    };
    let budget = Budget::new(&instrument, Z0, 0).unwrap();
    let mut draws = Draws::new(seed());
    let (analyzer, freq_hz) = (RawAnalyzer::new(1), 2e8);
    let network = of_part(Fixture::ShuntThrough);
    let clean = analyzer.measure(&network, freq_hz, None);
    let count = 20_000;
    let mut squares = [0.0; 2];
    for _ in 0..count {
        let noisy = analyzer.measure(&network, freq_hz, Some((&budget, &mut draws)));
        let turned = (noisy.s21 - clean.s21) * clean.s21.conj() / clean.s21.norm();
        squares[0] += turned.re * turned.re;
        squares[1] += turned.im * turned.im;
    }
    let floor = instrument.through_floor.powi(2) * instrument.ifbw_hz
        / instrument.floor_ifbw_hz
        / f64::from(instrument.averages);
    let size = clean.s21.norm_sqr();
    for (square, trace) in squares
        .into_iter()
        .zip([instrument.trace_magnitude, instrument.trace_phase_rad])
    {
        let want = 0.5 * floor + size * trace * trace;
        let got = square / f64::from(count);
        // Four standard errors of a variance from 20 000 draws: 4 %.
        assert!((got / want - 1.0).abs() < 0.04, "{got} for {want}");
    }
}
