//! Layer 3: the calibrated dial as data, and its file. No algorithm lives here.
mod check;
mod declare;
mod declared;
mod error;
mod face;
mod file;
mod heading;
mod model;
pub use declare::DeclareError;
pub use declared::{Amount, Declared};
pub use error::DialFileError;
pub use face::{FaceFrame, StoredPicture, through_storage};
pub use file::{MAX_FILE_BYTES, content_id, from_bytes, is_dial_file, to_bytes};
pub(crate) use heading::Heading;
pub use model::*;
