//! Layer 8: the chain from a photo to an outcome.
mod record;
pub use record::*;
mod chain;
pub use chain::Reader;
