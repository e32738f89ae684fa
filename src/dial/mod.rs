//! Layer 3: the calibrated dial as data. No algorithm lives here.
mod model;
pub use model::*;
