//! Why a sweep could not be written.

use std::fmt;
use std::io;

/// Why a sweep could not be written.
#[derive(Debug)]
#[non_exhaustive]
pub enum WriteError {
    /// The system refused.
    Io {
        /// The file, where there is one.
        file: Option<String>,
        /// The system's reason.
        source: io::Error,
    },
    /// Mixed-mode data, which version 1 has no word for.
    MixedModeNeedsVersionTwo,
    /// Noise data that begin above the sweep, which version 1 can't tell from the sweep.
    NoiseNeedsVersionTwo {
        /// The first frequency of the noise data, Hz.
        first_hz: f64,
        /// The last frequency of the sweep, Hz.
        last_hz: f64,
    },
    /// A file name from which the number of ports would be read wrongly.
    Name {
        /// The name.
        file: String,
        /// Ports of the sweep.
        ports: usize,
    },
}

impl WriteError {
    /// True where the system refused, and another place or a free disk may help.
    pub fn is_io(&self) -> bool {
        matches!(self, Self::Io { .. })
    }
}

impl From<io::Error> for WriteError {
    fn from(source: io::Error) -> Self {
        Self::Io { file: None, source }
    }
}

impl std::error::Error for WriteError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Io { source, .. } => Some(source),
            _ => None,
        }
    }
}

impl fmt::Display for WriteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Io { file, source } => {
                let file = file.as_deref().unwrap_or("the output");
                write!(
                    f,
                    "{file}: can't be written ({source}); check the folder, its permissions and \
                     the room on the disk"
                )
            }
            Self::MixedModeNeedsVersionTwo => f.write_str(
                "the sweep is mixed-mode, which version 1 can't say; write it as version 2",
            ),
            Self::NoiseNeedsVersionTwo { first_hz, last_hz } => write!(
                f,
                "the noise data begin at {first_hz} Hz and the sweep ends at {last_hz} Hz, and \
                 version 1 tells them apart by a frequency that does not rise; write version 2"
            ),
            Self::Name { file, ports } => write!(
                f,
                "{file}: the name must end in .s{ports}p, from which a reader takes the number \
                 of ports ({ports}); name it so, or write version 2 as .ts"
            ),
        }
    }
}
