//! Pictures in and out of files by the project's own decoder and one encoder each of `image`: its `open` and `save` would be compiled for
//! every format here once more, which took the tests' program a tenth longer to build.
use image::codecs::{jpeg::JpegEncoder, png::PngEncoder};
use image::{ExtendedColorType, ImageEncoder, RgbImage};
use needleband::photo::decode;
use std::path::Path;

/// The picture in these bytes, upright.
pub fn of_bytes(bytes: &[u8]) -> RgbImage {
    let photo = decode(bytes).unwrap();
    RgbImage::from_raw(photo.width as u32, photo.height as u32, photo.rgb.to_vec()).unwrap()
}

pub fn opened(path: impl AsRef<Path>) -> RgbImage {
    of_bytes(&std::fs::read(path).unwrap())
}

/// Its width and height, px.
pub fn size(path: impl AsRef<Path>) -> (u32, u32) {
    opened(path).dimensions()
}

/// Saves a picture as JPEG where its name ends so, else as PNG.
pub fn save(picture: &RgbImage, path: impl AsRef<Path>) {
    let (mut bytes, path) = (Vec::new(), path.as_ref());
    let (w, h) = picture.dimensions();
    match path.extension().and_then(|e| e.to_str()) {
        Some("jpg") => JpegEncoder::new(&mut bytes).encode(picture, w, h, ExtendedColorType::Rgb8).unwrap(),
        _ => PngEncoder::new(&mut bytes).write_image(picture, w, h, ExtendedColorType::Rgb8).unwrap(),
    }
    std::fs::write(path, bytes).unwrap();
}
