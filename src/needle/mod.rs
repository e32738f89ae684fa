//! Layer 6: needle direction with covariance.
mod beside;
mod blocks;
mod fit;
mod rows;
mod shadow;
mod shape;
mod sums;
mod vote;
pub use fit::{NeedleFit, fit};
pub use vote::{Candidate, Parallax, vote};
