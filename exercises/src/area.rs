//! The nine areas that tasks are about.

/// What a task practises.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Area {
    /// From a reading to the impedance and back.
    Reading,
    /// The reflection chart.
    Chart,
    /// Which fixture to solder.
    Choosing,
    /// The smallest change that shows.
    Change,
    /// How far a value can be trusted.
    Accuracy,
    /// What a calibration that went wrong does.
    Calibration,
    /// What the fixture adds to the part.
    Strays,
    /// Values of a part from a sweep.
    Sweep,
    /// Whether a formula is right.
    Formula,
}

impl Area {
    /// All of them, in the order of the book.
    pub const ALL: [Self; 9] = [
        Self::Reading,
        Self::Chart,
        Self::Choosing,
        Self::Change,
        Self::Accuracy,
        Self::Calibration,
        Self::Strays,
        Self::Sweep,
        Self::Formula,
    ];

    /// Its name in files.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Reading => "reading",
            Self::Chart => "chart",
            Self::Choosing => "choosing",
            Self::Change => "change",
            Self::Accuracy => "accuracy",
            Self::Calibration => "calibration",
            Self::Strays => "strays",
            Self::Sweep => "sweep",
            Self::Formula => "formula",
        }
    }

    /// Its title.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Reading => "Reading and impedance",
            Self::Chart => "The chart",
            Self::Choosing => "Choosing a fixture",
            Self::Change => "The smallest change",
            Self::Accuracy => "Accuracy and coverage",
            Self::Calibration => "Calibration faults",
            Self::Strays => "Strays",
            Self::Sweep => "Parts from a sweep",
            Self::Formula => "Checking a formula",
        }
    }
}
