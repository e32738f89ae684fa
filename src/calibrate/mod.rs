//! Layer 8: a photo and the user's marks to a dial.
mod request;
mod standin;
pub use request::*;
pub use standin::*;
