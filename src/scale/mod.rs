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
pub use temperature::Temperature;
