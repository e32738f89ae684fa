//! Layer 4: dials in a photo that nobody has clicked in, from their printed ticks alone.
mod arcs;
mod bar;
mod bars;
mod by_level;
mod groups;
mod joined;
mod meet;
mod moments;
mod noise;
mod ring;
pub use arcs::arcs;
pub use bar::Bar;
pub use bars::{Clear, bars};
pub use groups::{Group, another_ring, groups, groups_at};
