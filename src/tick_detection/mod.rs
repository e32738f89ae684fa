//! Layer 4: dials in a photo that nobody has clicked in, from their printed ticks alone.
mod bars;
mod groups;
mod meet;
mod moments;
mod noise;
mod ring;
pub use bars::{Bar, bars};
pub use groups::{Group, groups};
