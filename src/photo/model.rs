//! The upright photo as planes of pixels.
use super::buffer::Buffer;

/// One plane of pixels, row by row, levels 0..255.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Plane {
    /// Width in px.
    pub width: usize,
    /// Height in px.
    pub height: usize,
    /// `width * height` values.
    pub data: Buffer<f32>,
}

/// An upright, decoded photo.
#[derive(Clone, Debug, PartialEq)]
pub struct Photo {
    /// Upright width in px.
    pub width: usize,
    /// Upright height in px.
    pub height: usize,
    /// Upright RGB, 3 bytes a pixel, row by row.
    pub rgb: Buffer<u8>,
    /// SHA-256 of the file, hex.
    pub hash: String,
    /// EXIF DateTimeOriginal as "YYYY-MM-DD HH:MM:SS", local camera time.
    pub taken_at: Option<String>,
    /// Focal length over the longer side of the picture (35 mm equivalent / 36), when EXIF tells it.
    pub focal_ratio: Option<f64>,
}
