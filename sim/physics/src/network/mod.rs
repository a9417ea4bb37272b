//! What lies between the reference plane and the part: two-ports, lines, strays, and their
//! removal.

mod blank_error;
mod deembed;
pub(crate) mod figure;
mod line;
mod port_extension;
mod stray;
mod strays;
mod two_port;

pub use blank_error::BlankError;
pub use deembed::{Deembedded, LEFT_SHARE, OpenShort, without_empty_gap, without_shorted_branch};
pub use figure::Figure;
pub use line::{Line, SPEED_OF_LIGHT_M_PER_S};
pub use port_extension::{DelayError, DelayEstimate, PlaneBlank, PortExtension};
pub use stray::Stray;
pub use strays::Strays;
pub use two_port::{Network, Scattering};
