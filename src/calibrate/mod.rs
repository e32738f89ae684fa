//! Layer 8: a photo and the user's marks to a dial.
mod request;
pub use request::*;
