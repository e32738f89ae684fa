//! Layer 8: a photo and the user's marks to a dial.
mod build;
mod counted;
mod extent;
mod geometry;
mod needle_look;
mod request;
mod strip;
mod ticks;
pub use build::{CalibrateError, calibrate};
pub use request::*;
