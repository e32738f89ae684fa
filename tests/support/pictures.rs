//! Pictures in and out of files by the project's own decoder and one encoder each of `image`: its `open` and `save` would be compiled for
//! every format here once more, which took the tests' program a tenth longer to build.
use image::codecs::{jpeg::JpegEncoder, png::PngEncoder};
use image::{ExtendedColorType, ImageEncoder, RgbImage};
use needleband::photo::{Photo, decode};
use std::path::Path;

pub fn of(photo: &Photo) -> RgbImage {
    RgbImage::from_raw(photo.width as u32, photo.height as u32, photo.rgb.to_vec()).unwrap()
}

/// The picture in these bytes, upright.
pub fn of_bytes(bytes: &[u8]) -> RgbImage {
    of(&decode(bytes).unwrap())
}

/// The picture in a file, whose kind must be what its name says: FF D8 begins a JPEG (ITU-T T.81, B.1.1.3), 89 P N G a PNG (RFC 2083, 3.1).
pub fn opened(path: impl AsRef<Path>) -> RgbImage {
    let bytes = std::fs::read(&path).unwrap();
    let begins: &[u8] = if is_jpeg(path.as_ref()) { b"\xff\xd8" } else { b"\x89PNG" };
    assert!(bytes.starts_with(begins), "{}: another kind of file", path.as_ref().display());
    of_bytes(&bytes)
}

fn is_jpeg(path: &Path) -> bool {
    match path.extension().and_then(|e| e.to_str()) {
        Some("jpg") => true,
        Some("png") => false,
        other => panic!("{other:?} is the name of neither"),
    }
}

/// Its width and height, px.
pub fn size(path: impl AsRef<Path>) -> (u32, u32) {
    opened(path).dimensions()
}

/// Saves a picture as its name says: JPEG or PNG.
pub fn save(picture: &RgbImage, path: impl AsRef<Path>) {
    let (mut bytes, path) = (Vec::new(), path.as_ref());
    let (w, h) = picture.dimensions();
    match is_jpeg(path) {
        true => JpegEncoder::new(&mut bytes).encode(picture, w, h, ExtendedColorType::Rgb8).unwrap(),
        false => PngEncoder::new(&mut bytes).write_image(picture, w, h, ExtendedColorType::Rgb8).unwrap(),
    }
    std::fs::write(path, bytes).unwrap();
}
