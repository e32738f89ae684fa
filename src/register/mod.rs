//! Layer 4: where is this dial in this photo?
pub mod align;
mod cells;
mod consensus;
mod emblems;
pub mod face;
mod features;
mod find;
mod fine;
mod light;
mod pyramid;
mod registration;
mod samples;
pub mod template;
mod views;
pub use emblems::{Emblems, Seen};
pub use find::Registrar;
pub use pyramid::{Pyramid, level_map};
pub use registration::Registration;
