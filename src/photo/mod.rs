//! Layer 2: bytes to an upright, decoded photo.
mod model;
mod plane;
mod sample;
pub use model::*;
pub use plane::decode;
