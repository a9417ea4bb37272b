//! Where the part is in a figure, and which part is at a place: what a page needs to let the
//! reader move it there.

use jigwise_bench::scene::{ChartFrame, RuleFrame};
use jigwise_bench::{Immittance, ReferenceImpedance};

use crate::{answer, figure, reach};

/// A figure in which the part can be moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grip {
    /// The ring on the reflection chart.
    Chart,
    /// The ring on a map.
    Map,
    /// The hairline of the rule.
    Rule,
    /// The upright line of the reach plot.
    Reach,
    /// The ring on the chart of an answer.
    AnswerChart,
    /// The hairline of the rule of an answer.
    AnswerRule,
}

impl Grip {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Chart,
        Self::Map,
        Self::Rule,
        Self::Reach,
        Self::AnswerChart,
        Self::AnswerRule,
    ];

    /// Its name in the page: the attribute `data-grip` of its figure.
    pub fn key(self) -> &'static str {
        match self {
            Self::Chart => "chart",
            Self::Map => "map",
            Self::Rule => "rule",
            Self::Reach => "reach",
            Self::AnswerChart => "answer-chart",
            Self::AnswerRule => "answer-rule",
        }
    }

    /// The grip of a name.
    pub fn of_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|grip| grip.key() == key)
    }

    /// Where the part is, in pixels of the picture.
    pub fn place(self, device: Immittance, reference: ReferenceImpedance) -> [f64; 2] {
        match self {
            Self::Chart | Self::Map | Self::AnswerChart => self.chart(reference).place(device).0,
            Self::Rule | Self::AnswerRule => self.rule(reference).grip(device),
            Self::Reach => reach::frame(reference).grip(device),
        }
    }

    /// The part at a place. Where a figure shows |Z| alone the phase of `device` is kept.
    ///
    /// ```
    /// use jigwise_bench::{Complex64, Immittance, ReferenceImpedance};
    /// use jigwise_page::Grip;
    ///
    /// let reference = ReferenceImpedance::FIFTY_OHM;
    /// let coil = Immittance::from_impedance(Complex64::new(30.0, 40.0)).unwrap();
    /// for grip in Grip::ALL {
    ///     let there = grip.place(coil, reference);
    ///     let back = grip.device_at(there, coil, reference);
    ///     assert!(back.chordal_distance(coil, reference) < 1e-12);
    /// }
    /// ```
    pub fn device_at(
        self,
        at: [f64; 2],
        device: Immittance,
        reference: ReferenceImpedance,
    ) -> Immittance {
        match self {
            Self::Chart | Self::Map | Self::AnswerChart => self.chart(reference).device_at(at),
            Self::Rule | Self::AnswerRule => self.rule(reference).device_at(at[0], device),
            Self::Reach => reach::frame(reference).device_at(at[0], device),
        }
    }

    fn chart(self, reference: ReferenceImpedance) -> ChartFrame {
        match self {
            Self::AnswerChart => answer::chart_frame(reference),
            _ => figure::chart_frame(matches!(self, Self::Map), reference),
        }
    }

    fn rule(self, reference: ReferenceImpedance) -> RuleFrame {
        match self {
            Self::AnswerRule => answer::rule_frame(reference),
            _ => figure::rule_frame(reference),
        }
    }
}
