//! Layer 7: needle angle to temperature, with the terms of the dial and of the angle.
mod curve;
pub use curve::{Place, Scale};
