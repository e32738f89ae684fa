//! Layer 4: where is this dial in this photo?
pub(crate) mod align;
mod cells;
mod consensus;
mod emblems;
pub mod face;
mod features;
mod find;
mod light;
mod samples;
pub(crate) mod template;
mod views;
pub(crate) use emblems::Emblems;
pub use emblems::Seen;
pub use find::{Pyramid, Registrar, Registration};
pub(crate) use find::{level_map, mean_scale};
