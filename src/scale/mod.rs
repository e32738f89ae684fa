//! Layer 7: needle angle to temperature, with the terms of the dial and of the angle.
mod curve;
mod flat;
mod temperature;
pub use curve::{Place, Scale};
pub(crate) use temperature::source_on;
pub use temperature::{STICTION, Temperature};
