//! Layer 7: needle angle to temperature, with the terms of the dial and of the angle.
mod between;
mod curve;
mod flat;
mod posterior;
mod prior;
mod shape;
mod temperature;
pub use between::BetweenMarks;
pub use curve::{Place, Scale};
pub(crate) use temperature::source_on;
pub use temperature::{STICTION, Temperature};
