//! Layer 2: bytes to an upright, decoded photo.
//!
//! Frame: pixel (0,0) is the centre of the top-left pixel of the *upright* picture, x right, y down. Levels 0..255.
//! What this layer does not know: colour profiles of other files than HEIC (levels are taken as written), lens distortion.
mod anisotropic;
mod blur;
mod buffer;
#[cfg(feature = "video")]
mod clip;
mod container;
mod decode;
mod error;
mod exif;
mod guard;
#[cfg(feature = "heic")]
mod heic;
mod jpeg;
mod limits;
mod model;
mod plane;
mod raw;
mod sample;
mod upright;
mod warp;
pub(crate) use blur::RowBlur;
pub use buffer::Buffer;
#[cfg(feature = "video")]
pub use clip::{Clip, ClipError};
pub use container::is_clip;
pub use decode::{decode, sha256_hex};
pub use error::PhotoError;
pub(crate) use error::told;
pub use guard::quiet_decoders;
pub use limits::{MAX_DECODER_BYTES, MAX_PIXELS};
pub use model::*;
pub(crate) use plane::{half_channel, half_row, luma, part_of};
pub use upright::upright;
pub(crate) use warp::warped;
