//! What came out of the calibrations made one after the other.

use jigwise_physics::ModulusInterval;

use crate::scene::Ticks;

/// One reading after each calibration, in each fixture, and how many lay where 95 % of them are
/// expected.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Trials {
    shown: Vec<[Option<f64>; 3]>,
    count: u32,
    inside: [u32; 3],
}

impl Trials {
    /// The last ones that stay in sight.
    pub const SHOWN: usize = 50;

    /// Takes in what came out of one calibration, |Z| in ohms for each fixture, and the intervals
    /// of [`Bench::modulus_intervals`](crate::Bench::modulus_intervals).
    pub fn add(&mut self, came_out: [Option<f64>; 3], intervals: &[Option<ModulusInterval>; 3]) {
        if self.shown.len() == Self::SHOWN {
            self.shown.remove(0);
        }
        self.shown.push(came_out);
        self.count += 1;
        for ((inside, ohm), interval) in self.inside.iter_mut().zip(came_out).zip(intervals) {
            let lies_inside = ohm
                .zip(*interval)
                .is_some_and(|(ohm, interval)| interval.contains(ohm));
            *inside += u32::from(lies_inside);
        }
    }

    /// Forgets them all.
    pub fn clear(&mut self) {
        self.shown.clear();
        self.count = 0;
        self.inside = [0; 3];
    }

    /// As the rule draws them.
    pub fn ticks(&self) -> Ticks<'_> {
        Ticks {
            shown: &self.shown,
            count: self.count,
            inside: self.inside,
        }
    }

    /// |Z| in ohms that came out last in each fixture; `None` before the first calibration.
    pub fn last(&self) -> Option<[Option<f64>; 3]> {
        self.shown.last().copied()
    }
}
