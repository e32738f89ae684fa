//! What every decoder gives: pixels as stored in the file.
use super::buffer::Buffer;
use super::exif::Exif;

/// Pixels as stored in the file, before they are turned upright.
pub(super) struct Raw {
    pub width: usize,
    pub height: usize,
    pub rgb: Buffer<u8>,
    pub exif: Exif,
}
