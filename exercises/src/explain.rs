//! Where the book explains what the bench shows: one table for the window, the book and the test
//! that holds both together.

/// Something in the window of which the book has a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Thing {
    /// The part, and the box it is typed into.
    Part,
    /// The frequency.
    Frequency,
    /// The analyzer.
    Instrument,
    /// The small change.
    Nudge,
    /// The button that calibrates again.
    CalibrateAgain,
    /// The answer line and why.
    Answer,
    /// The reflection chart.
    Chart,
    /// The plane of log |Z| and phase.
    OhmPlane,
    /// The plot of uncertainty over |Z|.
    Reach,
    /// The map behind a chart.
    Map,
    /// The column of reflect.
    Reflect,
    /// The column of shunt-through.
    ShuntThrough,
    /// The column of series-through.
    SeriesThrough,
    /// The two clouds of a column.
    Clouds,
    /// The ohms of a column, with their ±.
    Value,
    /// The smallest change of a column.
    SmallestChange,
    /// Level and angle of a column.
    Reading,
    /// The tracks of the rule.
    Track,
    /// The bars of the rule.
    Bar,
    /// The ticks of the rule.
    Ticks,
    /// The sums that fold out.
    Sums,
    /// The strays of a fixture.
    Strays,
    /// How the analyzer was calibrated.
    Calibration,
    /// The look of the window.
    View,
    /// Predict first.
    Predict,
    /// The unlabelled part.
    Round,
    /// A talk.
    Talk,
}

/// A thing, what it is called, its page in the book's folder of texts without its ending, and the
/// heading on it.
type Row = (Thing, &'static str, &'static str, &'static str);

const TABLE: [Row; 27] = [
    (Thing::Part, "the part", "scenario", "the-device"),
    (Thing::Frequency, "the frequency", "scenario", "frequency"),
    (Thing::Instrument, "the analyzer", "instruments", ""),
    (Thing::Nudge, "the nudge", "scenario", "nudge"),
    (
        Thing::CalibrateAgain,
        "Calibrate again",
        "change/calibrate",
        "",
    ),
    (Thing::Answer, "the answer line", "change/best", ""),
    (Thing::Chart, "the reflection chart", "ground/chart", ""),
    (Thing::OhmPlane, "the ohm plane", "borders/parts", ""),
    (
        Thing::Reach,
        "reach",
        "borders/parts",
        "the-errors-of-a-real-analyzer",
    ),
    (Thing::Map, "the best-fixture map", "change/best", ""),
    (Thing::Reflect, "the reflect fixture", "reflect/circuit", ""),
    (
        Thing::ShuntThrough,
        "the shunt-through fixture",
        "shunt/circuit",
        "",
    ),
    (
        Thing::SeriesThrough,
        "the series-through fixture",
        "series/circuit",
        "",
    ),
    (Thing::Clouds, "the clouds", "change/clouds", ""),
    (
        Thing::Value,
        "a value and its ±",
        "sums/scatter",
        "what-95--needs",
    ),
    (
        Thing::SmallestChange,
        "the smallest change that shows",
        "change/least",
        "",
    ),
    (Thing::Reading, "level and angle", "ground/decibels", ""),
    (Thing::Track, "the track of a fixture", "change/best", ""),
    (
        Thing::Bar,
        "the bar of a fixture",
        "sums/scatter",
        "what-95--needs",
    ),
    (Thing::Ticks, "the ticks", "change/calibrate", ""),
    (
        Thing::Sums,
        "the sums",
        "fixtures",
        "the-same-part-in-all-three",
    ),
    (Thing::Strays, "the strays", "strays/around", ""),
    (Thing::Calibration, "the calibration", "planes/methods", ""),
    (
        Thing::View,
        "the look of the window",
        "use",
        "the-three-signs",
    ),
    (
        Thing::Predict,
        "predict first",
        "talks/rounds",
        "predict-first",
    ),
    (
        Thing::Round,
        "the unlabelled part",
        "talks/rounds",
        "the-unlabelled-part",
    ),
    (Thing::Talk, "a talk", "talks/guide", ""),
];

impl Thing {
    /// All things, in the order of the window.
    pub fn all() -> impl Iterator<Item = Self> {
        TABLE.into_iter().map(|(thing, ..)| thing)
    }

    fn row(self) -> Row {
        // A test finds each thing in its own row.
        TABLE[self as usize]
    }

    /// What it is called, in a sentence.
    pub fn name(self) -> &'static str {
        self.row().1
    }

    /// Its page in the built book, with its heading: `ground/chart.html`.
    ///
    /// ```
    /// use jigwise_exercises::explain::Thing;
    ///
    /// assert_eq!(Thing::Nudge.address(), "scenario.html#nudge");
    /// ```
    pub fn address(self) -> String {
        let (_, _, page, heading) = self.row();
        match heading {
            "" => format!("{page}.html"),
            heading => format!("{page}.html#{heading}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_thing_has_its_own_row() {
        for (at, (thing, ..)) in TABLE.into_iter().enumerate() {
            assert_eq!(thing as usize, at, "{thing:?}");
        }
    }
}
