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
        2 => (by_rows(&rgb, width, false, true), width, height),
        3 => (by_rows(&rgb, width, true, true), width, height),
        4 => (by_rows(&rgb, width, true, false), width, height),
        5 => (turned(&rgb, width, height, false, false), height, width),
        6 => (turned(&rgb, width, height, true, false), height, width),
        7 => (turned(&rgb, width, height, true, true), height, width),
        8 => (turned(&rgb, width, height, false, true), height, width),
        _ => (rgb, width, height),
    }
}

fn by_rows(rgb: &[u8], width: usize, rows_back: bool, pixels_back: bool) -> Buffer<u8> {
    let mut out = Buffer::zeroed(rgb.len());
    let stride = width * 3;
    let copy = |(to, from): (&mut [u8], &[u8])| {
        if pixels_back {
            to.chunks_exact_mut(3).zip(from.rchunks_exact(3)).for_each(|(t, f)| t.copy_from_slice(f));
        } else {
            to.copy_from_slice(from);
        }
    };
    if rows_back {
        out.chunks_exact_mut(stride).zip(rgb.rchunks_exact(stride)).for_each(copy);
    } else {
        out.chunks_exact_mut(stride).zip(rgb.chunks_exact(stride)).for_each(copy);
    }
    out
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
