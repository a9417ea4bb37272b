//! Why a blank can't correct a measurement, and what to do instead.

/// A blank that can't correct a measurement.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum BlankError {
    /// The gap that should be empty reads a short.
    EmptyGapIsShort,
    /// The empty gap passes no less than the part.
    GapLikePart {
        /// |Z| of the empty gap.
        gap_ohm: f64,
        /// |Z| of the part after the correction; infinite for an open.
        part_ohm: f64,
    },
    /// The branch that should be shorted reads an open.
    ShortedBranchIsOpen,
    /// The shorted branch has no less impedance than the part.
    BranchLikePart {
        /// |Z| of the shorted branch.
        branch_ohm: f64,
        /// |Z| of the part after the correction.
        part_ohm: f64,
    },
    /// The short blank of the reflect fixture reads an open.
    ShortReadsOpen,
    /// Open and short blank read the same.
    BlanksCoincide {
        /// |Z| of both.
        ohm: f64,
    },
    /// The open blank has less impedance than the short blank.
    BlanksExchanged {
        /// |Z| of the open blank.
        open_ohm: f64,
        /// |Z| of the short blank.
        short_ohm: f64,
    },
}

impl std::fmt::Display for BlankError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match *self {
            Self::EmptyGapIsShort => f.write_str(
                "the blank of the series fixture reads a short: take the part and any link out \
                 of the gap and measure it empty",
            ),
            Self::GapLikePart { gap_ohm, part_ohm } => write!(
                f,
                "the empty gap reads {} and the part {}, so the gap hides the part: put a grounded \
                 screen in the gap or narrow its ends and measure both again, or measure the part in the \
                 reflect fixture",
                Ohm(gap_ohm),
                Ohm(part_ohm)
            ),
            Self::ShortedBranchIsOpen => f.write_str(
                "the blank of the shunt fixture reads an open: put a short in place of the part \
                 and measure it again",
            ),
            Self::BranchLikePart {
                branch_ohm,
                part_ohm,
            } => write!(
                f,
                "the shorted branch reads {} and the part {}, so the branch hides the part: \
                 shorten the way to ground and measure both again, or measure the part in the reflect fixture",
                Ohm(branch_ohm),
                Ohm(part_ohm)
            ),
            Self::ShortReadsOpen => f.write_str(
                "the short blank of the reflect fixture reads an open: put a short in place of \
                 the part and measure it again",
            ),
            Self::BlanksCoincide { ohm } => write!(
                f,
                "the open and the short blank both read {}: measure one with the fixture empty \
                 and one with a short in place of the part",
                Ohm(ohm)
            ),
            Self::BlanksExchanged {
                open_ohm,
                short_ohm,
            } => write!(
                f,
                "the open blank reads {}, less than the short blank's {}: exchange them, or \
                 measure both again at a frequency where the fixture is short against the wave",
                Ohm(open_ohm),
                Ohm(short_ohm)
            ),
        }
    }
}

impl std::error::Error for BlankError {}

/// A magnitude in ohms to three digits.
struct Ohm(f64);

impl std::fmt::Display for Ohm {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.0.is_infinite() {
            return f.write_str("an open");
        }
        if self.0 == 0.0 {
            return f.write_str("a short");
        }
        if !(1e-3..1e6).contains(&self.0) {
            return write!(f, "{:.2e} Ω", self.0);
        }
        let digits = (2.0 - self.0.log10().floor()).max(0.0) as usize;
        write!(f, "{:.digits$} Ω", self.0)
    }
}
