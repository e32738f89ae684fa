//! Layer 4: where is this dial in this photo?
pub mod align;
mod cells;
mod consensus;
mod emblems;
pub mod face;
mod features;
mod find;
mod light;
mod samples;
pub mod template;
mod uneven;
mod views;
pub use emblems::{Emblems, Seen};
pub use find::{Pyramid, Registrar, Registration, level_map, mean_scale};
