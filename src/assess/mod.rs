//! Layer 10: how good a dial file is, and what may be expected of it. Sees no pixel.
mod change;
mod repeats;
mod resolution;
mod whole;
mod worry;
pub use change::{NoiseFrom, PhotoNoise, Shown, Smallest, USUAL_TIP, USUAL_WIDTH};
pub use repeats::Repeats;
pub use resolution::{AtSize, Stretch};
pub use whole::{Assessment, Given, MarkCheck, assess};
pub use worry::Worry;
