//! Layer 3: the calibrated dial as data. No algorithm lives here.
pub mod file;
mod model;
pub use model::*;
