//! Turning a picture upright by the EXIF orientation.
use super::buffer::Buffer;

/// Source columns that are turned together: small enough that the rows written to stay in the cache.
const BLOCK: usize = 32;

/// Turns RGB pixels upright; answers the pixels with the upright width and height.
///
/// `orientation` as in EXIF: 1 as stored, 2 mirrored left-right, 3 upside down, 4 mirrored top-bottom, 5 mirrored on the main
/// diagonal, 6 to be turned 90° clockwise, 7 mirrored on the other diagonal, 8 to be turned 90° anticlockwise.
/// Any other number, and pixels that do not fill `width` x `height`, are left as they are.
pub fn upright(rgb: Buffer<u8>, width: usize, height: usize, orientation: u8) -> (Buffer<u8>, usize, usize) {
    if width == 0 || height == 0 || rgb.len() != width * height * 3 {
        return (rgb, width, height);
    }
    match orientation {
        2 => (mirrored(rgb, width, false, true), width, height),
        3 => (mirrored(rgb, width, true, true), width, height),
        4 => (mirrored(rgb, width, true, false), width, height),
        5 => (turned(&rgb, width, height, false, false), height, width),
        6 => (turned(&rgb, width, height, true, false), height, width),
        7 => (turned(&rgb, width, height, true, true), height, width),
        8 => (turned(&rgb, width, height, false, true), height, width),
        _ => (rgb, width, height),
    }
}

/// Reverses the order of the rows, or of the pixels in each, or of both, in place.
fn mirrored(mut rgb: Buffer<u8>, width: usize, rows_back: bool, pixels_back: bool) -> Buffer<u8> {
    let pixels = rgb.as_chunks_mut::<3>().0;
    if rows_back {
        // all pixels back to front are the rows back to front, each back to front
        pixels.reverse();
    }
    if rows_back != pixels_back {
        pixels.chunks_exact_mut(width).for_each(<[_]>::reverse);
    }
    rgb
}

/// Source columns become rows. `rows_back`: the last source row comes first in each; `columns_back`: the last column is the first row.
fn turned(rgb: &[u8], width: usize, height: usize, rows_back: bool, columns_back: bool) -> Buffer<u8> {
    let mut out = Buffer::zeroed(rgb.len());
    for (b, block) in out.chunks_mut(BLOCK * height * 3).enumerate() {
        let rows = block.len() / (height * 3);
        let first = if columns_back { width - b * BLOCK - rows } else { b * BLOCK };
        for (y, source) in rgb.chunks_exact(width * 3).enumerate() {
            let x = if rows_back { height - 1 - y } else { y };
            let pixels = source[first * 3..(first + rows) * 3].chunks_exact(3);
            let targets = block.chunks_exact_mut(height * 3).map(|row| &mut row[x * 3..x * 3 + 3]);
            if columns_back {
                targets.zip(pixels.rev()).for_each(|(to, from)| to.copy_from_slice(from));
            } else {
                targets.zip(pixels).for_each(|(to, from)| to.copy_from_slice(from));
            }
        }
    }
    out
}
