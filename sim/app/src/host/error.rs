use std::fmt;
use std::path::PathBuf;

/// Why there is no window or no picture.
#[derive(Debug)]
#[non_exhaustive]
pub enum HostError {
    /// There is no display to open a window on.
    NoDisplay,
    /// The display named by the environment takes no window.
    SilentDisplay {
        /// What the libraries of the display say, on one line.
        reason: String,
    },
    /// There is no graphics adapter, not even one in software.
    NoAdapter,
    /// The renderer gave no picture back.
    NoPicture,
    /// A file can't be written.
    Unwritable {
        /// The file.
        path: PathBuf,
        /// The reason that the system gives.
        reason: String,
    },
}

impl std::error::Error for HostError {}

impl fmt::Display for HostError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoDisplay => f.write_str(
                "there is no display to open a window on; draw one frame into a file with \
                 --snapshot picture.png",
            ),
            Self::SilentDisplay { reason } => write!(
                f,
                "the display takes no window ({reason}). A window on X11 wants the display to run \
                 and its libraries to be there: libX11, libXcursor, libXi and libxkbcommon-x11, \
                 which every desktop has. Or draw one frame into a file with --snapshot picture.png"
            ),
            Self::NoAdapter => f.write_str(
                "there is no graphics adapter, not even one in software, to draw with; the \
                 same numbers come as text from cargo jig read --device 4.7k",
            ),
            Self::NoPicture => f.write_str(
                "the graphics adapter drew nothing within its time; try again, or take the \
                 numbers as text from cargo jig read --device 4.7k",
            ),
            Self::Unwritable { path, reason } => write!(
                f,
                "{} can't be written ({reason}); name a file in a folder you may write to",
                path.display()
            ),
        }
    }
}
