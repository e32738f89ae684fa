//! Layer 4: dials in a photo that nobody has clicked in, from their printed ticks alone.
mod bar;
mod bars;
mod groups;
mod meet;
mod moments;
mod noise;
mod ring;
pub use bar::Bar;
pub use bars::{Clear, bars};
pub use groups::{Group, groups};
