//! Layer 3: the calibrated dial as data, and its file. No algorithm lives here.
mod check;
mod error;
mod face;
mod file;
mod model;
pub use error::DialFileError;
pub use face::{FACE_JPEG_QUALITY, FaceFrame, StoredPicture, through_storage};
pub use file::{FORMAT_VERSION, MAX_FILE_BYTES, content_id, from_bytes, to_bytes};
pub use model::*;
