//! A photo as it was decoded, upright, for a browser.
use super::canvas::Picture;
use super::error::PictureError;
use crate::photo::Photo;
use image::RgbImage;

/// The whole photo as JPEG, whatever kind of file it came from.
///
/// # Errors
/// When it has no pixels or the encoder refuses it.
pub fn whole_jpeg(photo: &Photo) -> Result<Vec<u8>, PictureError> {
    let image = RgbImage::from_raw(photo.width as u32, photo.height as u32, photo.rgb.to_vec()).ok_or(PictureError::Empty)?;
    Picture::new(image).jpeg()
}
