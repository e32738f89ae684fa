//! Layer 8: a photo and the user's marks to a dial.
mod build;
mod counted;
mod extent;
mod geometry;
mod needle_look;
mod request;
mod self_fit;
mod strip;
mod tick_line;
mod ticks;
pub use build::{CalibrateError, calibrate};
pub use request::*;
