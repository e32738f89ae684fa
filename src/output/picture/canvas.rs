//! A finished picture and its encodings.
use super::error::PictureError;
use super::palette::GROUND_RGB;
use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::{Rgb, RgbImage, imageops};

/// A finished picture.
#[derive(Clone, Debug)]
pub struct Picture {
    image: RgbImage,
}

impl Picture {
    pub(super) fn new(image: RgbImage) -> Self {
        Self { image }
    }
    /// Width and height in px.
    pub fn size(&self) -> (u32, u32) {
        self.image.dimensions()
    }
    /// The same, no wider than so many px.
    pub fn no_wider(self, width: u32) -> Self {
        let (w, h) = self.size();
        if w <= width.max(1) {
            return self;
        }
        let height = (u64::from(h) * u64::from(width) / u64::from(w)).max(1) as u32;
        Self { image: imageops::thumbnail(&self.image, width.max(1), height) }
    }
    /// RGB, 3 bytes a pixel, row by row.
    pub fn rgb(&self) -> &[u8] {
        self.image.as_raw()
    }
    /// As PNG.
    ///
    /// # Errors
    /// When the encoder refuses it.
    pub fn png(&self) -> Result<Vec<u8>, PictureError> {
        let mut out = Vec::new();
        self.image.write_with_encoder(PngEncoder::new(&mut out)).map_err(|e| PictureError::Encoding(e.to_string()))?;
        Ok(out)
    }
    /// As JPEG of quality 90.
    ///
    /// # Errors
    /// When the encoder refuses it.
    pub fn jpeg(&self) -> Result<Vec<u8>, PictureError> {
        let mut out = Vec::new();
        self.image.write_with_encoder(JpegEncoder::new_with_quality(&mut out, 90)).map_err(|e| PictureError::Encoding(e.to_string()))?;
        Ok(out)
    }
}

/// An empty canvas of the ground colour.
pub(super) fn blank(width: u32, height: u32) -> RgbImage {
    RgbImage::from_pixel(width, height, Rgb(GROUND_RGB))
}

/// A picture with `below` px of ground under it.
pub(super) fn stacked(picture: &RgbImage, below: u32) -> RgbImage {
    let mut canvas = blank(picture.width(), picture.height() + below);
    imageops::replace(&mut canvas, picture, 0, 0);
    canvas
}
