use std::fmt;

/// Something odd about a file that was read all the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Remark {
    /// Another option line, which the standard says to ignore.
    SecondOptionLine {
        /// Its line.
        line: usize,
    },
    /// Matrix rows of three or more ports that are not laid out as version 1 asks.
    RowLayout {
        /// The first such line.
        line: usize,
    },
    /// A version 2 file without \[End\], which 2.1 requires; its counts are right.
    NoEnd,
    /// Text after \[End\], passed over.
    AfterEnd {
        /// Its first line.
        line: usize,
    },
    /// A version 2 file whose name ends in another number of ports.
    NameDiffers {
        /// Ports by the name.
        name_ports: usize,
        /// Ports by the file, which count.
        ports: usize,
    },
    /// A one-port file whose comments speak of another port.
    HeadedAs {
        /// The port they name, 2 in "S22".
        port: usize,
    },
    /// More leading comments than are kept.
    CommentsCut {
        /// The line of the first that was not kept.
        line: usize,
    },
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::SecondOptionLine { line } => write!(
                f,
                "line {line} is a second option line and was passed over, as the standard says; \
                 if it belongs to a second sweep, keep one sweep per file"
            ),
            Self::RowLayout { line } => write!(
                f,
                "line {line} breaks its matrix otherwise than version 1 asks (a line for each \
                 row, four pairs at most); the count of numbers is right, so it was read in order"
            ),
            Self::NoEnd => f.write_str(
                "[End] is missing, which version 2.1 requires; all announced records are there",
            ),
            Self::AfterEnd { line } => {
                write!(f, "what follows [End] from line {line} on was passed over")
            }
            Self::NameDiffers { name_ports, ports } => write!(
                f,
                "the name says {name_ports} ports and [Number of Ports] {ports}; the latter \
                 counts"
            ),
            Self::HeadedAs { port } => write!(
                f,
                "the comments name S{port}{port}: the one reading was taken at port {port} of \
                 the analyzer"
            ),
            Self::CommentsCut { line } => write!(
                f,
                "comments from line {line} on are not kept: there are too many"
            ),
        }
    }
}
