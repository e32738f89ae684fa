//! Drawn photos as files, stored the eight ways a camera may be held.
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder};
use needleband::photo::Photo;

/// Stored rows and columns of an upright photo for an EXIF orientation.
///
/// Exif 2.32 (CIPA DC-008), 4.6.5 Orientation: the visual side on which the stored 0th row and 0th column lie:
/// 1 top left, 2 top right, 3 bottom right, 4 bottom left, 5 left top, 6 right top, 7 right bottom, 8 left bottom.
pub fn stored(photo: &Photo, orientation: u16) -> (Vec<u8>, usize, usize) {
    let (w, h) = (photo.width, photo.height);
    let (sw, sh) = if orientation < 5 { (w, h) } else { (h, w) };
    let mut out = Vec::with_capacity(photo.rgb.len());
    for row in 0..sh {
        for column in 0..sw {
            let (x, y) = match orientation {
                2 => (w - 1 - column, row),
                3 => (w - 1 - column, h - 1 - row),
                4 => (column, h - 1 - row),
                5 => (row, column),
                6 => (w - 1 - row, column),
                7 => (w - 1 - row, h - 1 - column),
                8 => (row, h - 1 - column),
                _ => (column, row),
            };
            out.extend_from_slice(&photo.rgb[3 * (y * w + x)..3 * (y * w + x) + 3]);
        }
    }
    (out, sw, sh)
}

/// A TIFF block with the orientation alone: little-endian header, one entry (tag 0x0112, SHORT, count 1).
fn exif(orientation: u16) -> Vec<u8> {
    let mut b = b"II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0".to_vec();
    b.extend_from_slice(&orientation.to_le_bytes());
    b.extend_from_slice(&[0; 6]);
    b
}

pub fn png(photo: &Photo, orientation: u16) -> Vec<u8> {
    let (rgb, w, h) = stored(photo, orientation);
    let mut out = Vec::new();
    let mut encoder = PngEncoder::new(&mut out);
    encoder.set_exif_metadata(exif(orientation)).unwrap();
    encoder.write_image(&rgb, w as u32, h as u32, ExtendedColorType::Rgb8).unwrap();
    out
}
