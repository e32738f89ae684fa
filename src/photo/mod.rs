//! Layer 2: bytes to an upright, decoded photo.
mod model;
pub use model::*;
