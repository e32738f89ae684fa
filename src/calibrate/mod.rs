//! Layer 8: a photo and the user's marks to a dial.
mod adjust;
mod build;
mod counted;
mod cut;
mod error;
mod extent;
mod geometry;
mod labels;
mod marks;
mod needle_look;
mod request;
mod self_fit;
mod strip;
mod tick_line;
mod ticks;
pub use build::calibrate;
pub use error::CalibrateError;
pub use request::*;
