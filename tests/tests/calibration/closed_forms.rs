//! Derivatives of a corrected transmission by what it was made from: the closed form against the
//! calibration solved again at four points about each reading.

use jigwise_physics::{
    Budget, Cause, Complex64, Correction, Covariance, Definitions, Immittance, Instrument, Method,
    Network, RawAnalyzer, ReferenceImpedance, Scattering, Trio, solve,
};

const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

/// Standards that are neither ideal nor alike, a through with a length and a match of its own.
fn taken() -> Definitions {
    let mut taken = Definitions::IDEAL;
    taken.reflections = [0.0, 0.3].map(|turn| Trio {
        open: Complex64::from_polar(0.98, -0.4 - turn),
        short: Complex64::from_polar(0.99, 2.9 + turn),
        load: Complex64::new(0.03 + 0.1 * turn, -0.02),
    });
    taken.through = Scattering {
        s11: Complex64::new(0.02, -0.01),
        s12: Complex64::from_polar(0.98, -0.5),
        s21: Complex64::from_polar(0.98, -0.5),
        s22: Complex64::new(-0.01, 0.03),
    };
    taken
}

/// Both methods, both fixtures, with isolation and without, three front ends, three parts.
#[test]
fn they_are_those_of_the_calibration_solved_again() {
    let budget = Budget::new(&Instrument::HANDHELD, Z0, 0).unwrap();
    let taken = taken();
    for seed in 1..4 {
        let analyzer = RawAnalyzer::new(seed);
        for has_isolation in [true, false] {
            let mut measured = analyzer.measure_standards(&taken, 7e8, &[], None);
            measured.isolation = measured.isolation.filter(|_| has_isolation);
            for method in [Method::BothDirections, Method::OneDirection] {
                let correction = solve(method, &measured, &taken).unwrap();
                for ohm in [(3.0, 20.0), (50.0, -70.0), (900.0, 400.0)] {
                    let z = Immittance::from_impedance(Complex64::new(ohm.0, ohm.1)).unwrap();
                    for network in [Network::series(z), Network::shunt(z)] {
                        let s = network.scattering(Z0).unwrap();
                        let raw = analyzer.terms(7e8).raw(&s);
                        agrees(&correction, &raw, &budget);
                    }
                }
            }
        }
    }
}

#[track_caller]
fn agrees(correction: &Correction, raw: &Scattering, budget: &Budget) {
    let ours = correction.through_derivatives(raw).unwrap();
    for cause in Cause::ALL {
        let again = correction.shift(raw, cause).map(|s| s.s21);
        match (ours.shift(cause), again) {
            (Some(ours), Some(again)) => {
                assert!((ours - again).norm() < 1e-9, "{cause:?}: {ours} {again}");
            }
            both => assert_eq!(both, (None, None), "{cause:?}"),
        }
    }
    let near = |ours: Covariance, again: Covariance| {
        let off = (ours + again * -1.0).trace().abs();
        assert!(off < 1e-8 * again.trace(), "{off} {again:?}");
    };
    near(
        ours.own_noise(raw, budget),
        correction.own_noise_of_through(raw, budget),
    );
    near(
        correction.noise_by(budget, &ours.standards),
        correction.noise_of_standards(budget, |moved| moved.apply(raw).s21),
    );
    let steps = correction.steps_of_standards(budget, |moved| moved.apply(raw).s21);
    let other = correction.steps_by(budget, &ours.standards);
    for (number, step) in other {
        let (_, again) = steps.iter().find(|(known, _)| *known == number).unwrap();
        assert!((step - again).norm() < 1e-9, "{number}: {step} {again}");
    }
}
