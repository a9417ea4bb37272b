//! Whether a published formula is the inverse of a fixture, tried on parts all over the chart.

use jigwise_physics::{Complex64, Fixture, Immittance, ReferenceImpedance};

use crate::formula::Formula;

/// A kind of part that a formula may hold for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartKind {
    /// X = 0.
    Resistors,
    /// R = 0.
    PureReactances,
    /// |Z| up to a hundredth of Z0.
    FarBelowReference,
    /// |Z| from a hundred times Z0.
    FarAboveReference,
}

impl PartKind {
    /// All of them.
    pub const ALL: [Self; 4] = [
        Self::Resistors,
        Self::PureReactances,
        Self::FarBelowReference,
        Self::FarAboveReference,
    ];

    /// How close a formula must be to hold for this kind: exact ones to the digits a stored
    /// reading leaves, approximations to the two percent that their own terms of first order
    /// are worth at a hundredth.
    fn tolerance(self) -> f64 {
        match self {
            Self::Resistors | Self::PureReactances => EXACT,
            Self::FarBelowReference | Self::FarAboveReference => 0.025,
        }
    }

    /// True for a part of this kind, z = Z/Z0.
    fn contains(self, z: Complex64) -> bool {
        match self {
            Self::Resistors => z.im == 0.0,
            Self::PureReactances => z.re == 0.0,
            Self::FarBelowReference => z.norm() <= 0.0100001,
            Self::FarAboveReference => z.norm() >= 99.9999,
        }
    }

    /// The kind as words that end a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::Resistors => "for resistors",
            Self::PureReactances => "for pure reactances",
            Self::FarBelowReference => "to a few percent far below Z0",
            Self::FarAboveReference => "to a few percent far above Z0",
        }
    }
}

/// Relative error up to which a formula counts as exact: readings come rounded to a double,
/// which at ten thousand times Z0 costs eight of its digits.
pub const EXACT: f64 = 1e-6;

/// A part that a formula was tried on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// Its impedance, Ω.
    pub ohm: Complex64,
    /// Its reading.
    pub reading: Complex64,
    /// What the formula makes of the reading, Ω; `None` where it has no value.
    pub found: Option<Complex64>,
}

impl Trial {
    /// Relative error of the formula; infinite where it has no value.
    pub fn error(&self) -> f64 {
        self.found
            .map_or(f64::INFINITY, |found| (found / self.ohm - 1.0).norm())
    }
}

/// The result of trying a formula.
#[derive(Debug, Clone, PartialEq)]
pub enum Roundtrip {
    /// The formula gives back every part tried.
    Right {
        /// How many parts were tried.
        tried: usize,
    },
    /// It gives back some kinds of parts only.
    RightForSome {
        /// The kinds of parts that it gives back.
        kinds: Vec<PartKind>,
        /// The first part that it fails for.
        counterexample: Trial,
    },
    /// It fails for every kind.
    Wrong {
        /// The first part that it fails for.
        counterexample: Trial,
    },
}

/// Tries a formula on parts of every magnitude and phase, and on its domain's edges.
pub fn roundtrip(formula: &Formula, fixture: Fixture, reference: ReferenceImpedance) -> Roundtrip {
    let trials = trials(formula, fixture, reference);
    let Some(counterexample) = trials.iter().find(|trial| trial.error() > EXACT).copied() else {
        return Roundtrip::Right {
            tried: trials.len(),
        };
    };
    let kinds: Vec<PartKind> = PartKind::ALL
        .into_iter()
        .filter(|kind| {
            let mut of_kind = trials
                .iter()
                .filter(|trial| kind.contains(trial.ohm / reference.ohm()))
                .peekable();
            of_kind.peek().is_some() && of_kind.all(|trial| trial.error() <= kind.tolerance())
        })
        .collect();
    if kinds.is_empty() {
        Roundtrip::Wrong { counterexample }
    } else {
        Roundtrip::RightForSome {
            kinds,
            counterexample,
        }
    }
}

/// The formula on parts all over the chart: first those that a person can check by head, then
/// |Z|/Z0 in decades to either side at phases that leave neither sign nor quadrant out.
pub fn trials(formula: &Formula, fixture: Fixture, reference: ReferenceImpedance) -> Vec<Trial> {
    const EASY_OHM: [[f64; 2]; 6] = [
        [10.0, 0.0],
        [100.0, 0.0],
        [1_000.0, 0.0],
        [0.0, 50.0],
        [0.0, -50.0],
        [30.0, 40.0],
    ];
    const RATIOS: [f64; 13] = [
        2.0, 0.5, 1.0, 20.0, 0.2, 0.1, 10.0, 0.01, 100.0, 1e-3, 1e3, 1e-4, 1e4,
    ];
    const PHASES_DEG: [f64; 9] = [0.0, 90.0, -90.0, 36.0, -53.0, 80.0, -85.0, 10.0, -20.0];
    let easy = EASY_OHM.map(|[re, im]| Complex64::new(re, im));
    let spread = PHASES_DEG.iter().flat_map(|phase_deg| {
        RATIOS.iter().map(move |ratio| {
            let size = ratio * reference.ohm();
            match *phase_deg {
                0.0 => Complex64::new(size, 0.0),
                90.0 => Complex64::new(0.0, size),
                -90.0 => Complex64::new(0.0, -size),
                phase_deg => Complex64::from_polar(size, f64::to_radians(phase_deg)),
            }
        })
    });
    easy.into_iter()
        .chain(spread)
        .filter_map(|ohm| {
            let part = Immittance::from_impedance(ohm).ok()?;
            let reading = fixture.reading(part, reference).value()?;
            Some(Trial {
                ohm,
                reading,
                found: formula.evaluate(reading, reference),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tried(text: &str, fixture: Fixture) -> Roundtrip {
        let formula = text.parse().unwrap();
        roundtrip(&formula, fixture, ReferenceImpedance::FIFTY_OHM)
    }

    #[test]
    fn the_inverses_are_right_in_their_own_fixture_only() {
        let inverses = ["Z0*(1+S)/(1-S)", "Z0/2*S/(1-S)", "2*Z0*(1-S)/S"];
        for (k, text) in inverses.into_iter().enumerate() {
            for (j, fixture) in Fixture::ALL.into_iter().enumerate() {
                let right = matches!(tried(text, fixture), Roundtrip::Right { .. });
                assert_eq!(right, k == j, "{text} in {fixture:?}");
            }
        }
    }

    #[test]
    fn half_truths_are_named() {
        let kinds = |text, fixture| match tried(text, fixture) {
            Roundtrip::RightForSome { kinds, .. } => kinds,
            other => panic!("{text}: {other:?}"),
        };
        assert_eq!(
            kinds("Z0/2*abs(S)/(1-abs(S))", Fixture::ShuntThrough),
            [PartKind::Resistors]
        );
        assert_eq!(
            kinds("Z0/2*S", Fixture::ShuntThrough),
            [PartKind::FarBelowReference]
        );
        assert_eq!(
            kinds("2*Z0/S", Fixture::SeriesThrough),
            [PartKind::FarAboveReference]
        );
        assert!(matches!(
            tried("Z0*(1+S)/(1-S)/2", Fixture::Reflect),
            Roundtrip::Wrong { .. }
        ));
    }
}
