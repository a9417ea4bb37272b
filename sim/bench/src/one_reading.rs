//! One calibration and one reading made with it, as somebody gets them who calibrates again.

use jigwise_physics::{Draws, Fixture};

use crate::readout::Bench;

impl Bench {
    /// |Z| in ohms that comes out of one reading in each fixture after calibration `number`, in
    /// the order of [`Fixture::ALL`]; infinite where an open comes out. `None` without an
    /// instrument and at the pole of an active part.
    ///
    /// The residuals are those of [`Bench::calibration`], the same for all fixtures, about the
    /// reading of a good calibration in the fixture as it stands. What differs from reading to
    /// reading is drawn for each. The seed is that of the calibration.
    ///
    /// ```
    /// use jigwise_bench::{Bench, Fixture, NamedInstrument, Scenario};
    ///
    /// let scenario = Scenario { instrument: Some(NamedInstrument::default()), ..Scenario::default() };
    /// let bench = Bench::new(&scenario)?;
    /// let [_, _, series] = bench.one_reading(1);
    /// assert!((series.unwrap() / 4_700.0 - 1.0).abs() < 0.2);
    /// assert_eq!(bench.one_reading(1), bench.one_reading(1));
    /// # Ok::<(), jigwise_bench::ScenarioError>(())
    /// ```
    pub fn one_reading(&self, number: u64) -> [Option<f64>; 3] {
        let residuals = self.calibration(number);
        // Another stream than that of the residuals.
        let mut draws = Draws::new(!self.calibration_seed(number));
        Fixture::ALL.map(|fixture| {
            let budget = self.budget()?;
            let reading = budget.draw_reading(&residuals, fixture, self.device(), &mut draws)?;
            let back = self.device_of(fixture, reading)?;
            Some(back.impedance().map_or(f64::INFINITY, |z| z.norm()))
        })
    }
}
