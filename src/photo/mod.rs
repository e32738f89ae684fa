//! Layer 2: bytes to an upright, decoded photo.
//!
//! Frame: pixel (0,0) is the centre of the top-left pixel of the *upright* picture, x right, y down. Levels 0..255.
//! What this layer does not know: colour profiles (levels are taken as written), lens distortion, HEIC.
mod blur;
mod container;
mod decode;
mod error;
mod exif;
mod jpeg;
mod limits;
mod model;
mod plane;
mod sample;
mod upright;
pub use decode::{decode, sha256_hex};
pub use error::PhotoError;
pub use limits::{MAX_DECODER_BYTES, MAX_PIXELS};
pub use model::*;
pub use upright::upright;
