//! What is narrow in a picture: its white and black top-hat (J. Serra, Image Analysis and Mathematical Morphology, 1982).
//!
//! An opening by a disc takes away what is lighter than its surroundings and narrower than the disc, a closing what is darker. Of a step of
//! level, whichever way it is turned, and of a slow change they take nothing: shade, a reflection's edge and a rim leave no top-hat.
use crate::photo::Plane;
use image::{GrayImage, Luma};
use imageproc::morphology::{Mask, grayscale_close, grayscale_open};

/// Least radius (px) to which a disc is brought by halving the picture: the background is smooth.
const COARSE: f64 = 4.0;

/// How far each pixel stands above (`lighter`) or below the picture without all that is narrower than twice `half` px, levels; 0 at least.
pub(super) fn top_hat(plane: &Plane, half: f64, lighter: bool) -> Plane {
    let (ground, scale) = background(plane, half, lighter);
    let sign = if lighter { 1.0 } else { -1.0 };
    let to = |v: usize| ((v as f64 + 0.5) / scale - 0.5).max(0.0);
    let last = |v: f64, count: usize| v.min(count as f64 - 1.0);
    Plane::from_fn(plane.width, plane.height, |x, y| {
        let below = ground.bilinear(last(to(x), ground.width), last(to(y), ground.height)).unwrap_or(0.0);
        (sign * (plane.data[y * plane.width + x] - below)).max(0.0)
    })
}

/// The opening or closing by a disc of `half` px, and how many px of the picture one of its px is.
fn background(plane: &Plane, half: f64, lighter: bool) -> (Plane, f64) {
    if half >= 2.0 * COARSE && plane.width.min(plane.height) > 8 {
        let (ground, scale) = background(&plane.half(), half / 2.0, lighter);
        return (ground, 2.0 * scale);
    }
    let picture = GrayImage::from_fn(plane.width as u32, plane.height as u32, |x, y| {
        Luma([plane.data[y as usize * plane.width + x as usize].round().clamp(0.0, 255.0) as u8])
    });
    let disc = Mask::disk(half.round().clamp(1.0, 2.0 * COARSE) as u8);
    let ground = if lighter { grayscale_open(&picture, &disc) } else { grayscale_close(&picture, &disc) };
    let level = |x: usize, y: usize| f32::from(ground.get_pixel(x as u32, y as u32).0[0]);
    (Plane::from_fn(plane.width, plane.height, level), 1.0)
}
