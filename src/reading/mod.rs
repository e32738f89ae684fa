//! Layer 8: the chain from a photo to an outcome.
mod chain;
mod judge;
mod record;
mod terms;
pub use chain::Reader;
pub use record::*;
