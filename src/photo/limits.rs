//! How large a picture may be, judged by its header before any pixel is decoded.
use super::error::PhotoError;

/// Largest picture that is opened, pixels in all: 52 megapixels (a phone's 50-megapixel mode still passes).
pub const MAX_PIXELS: u64 = 52_000_000;

/// Memory a decoder may ask for its own picture buffer: 52 megapixels of four 16-bit channels, and some room.
pub const MAX_DECODER_BYTES: u64 = 512 * 1024 * 1024;

/// Refuses a picture of no pixels or of more than [`MAX_PIXELS`].
pub(super) fn check_size(width: u64, height: u64) -> Result<(), PhotoError> {
    if width == 0 || height == 0 {
        return Err(PhotoError::Empty);
    }
    match width.checked_mul(height) {
        Some(n) if n <= MAX_PIXELS => Ok(()),
        _ => Err(PhotoError::TooLarge { width, height, limit: MAX_PIXELS }),
    }
}
