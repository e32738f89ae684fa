//! Layer 4: dials in a photo that nobody has clicked in, from their printed ticks alone.
mod bar;
mod bars;
mod by_level;
mod flood;
mod groups;
mod joined;
mod meet;
mod moments;
mod noise;
mod odds;
mod ring;
mod sparse;
pub use bar::{Bar, Dot, within};
pub use bars::{Clear, Marks, marks};
pub use groups::{Group, another_ring, groups, groups_about, groups_at};
pub use meet::{meeting, off};
pub use sparse::{SparseScale, sparse_scales};
