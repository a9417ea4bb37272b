//! One part as one point: what it is, what a fixture makes of it, and the way back.

mod equivalent;
mod fixture;
mod immittance;
pub(crate) mod mobius;
mod reflection;

pub use equivalent::{Equivalents, ParallelEquivalent, SeriesEquivalent};
pub use fixture::Fixture;
pub use immittance::{Immittance, ReferenceImpedance};
pub use mobius::{DiscImage, Mobius, Ratio};
pub use reflection::{
    Reflection, magnitude_from_return_loss, magnitude_from_swr, mismatch_loss_db, return_loss_db,
    swr,
};
