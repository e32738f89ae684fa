//! What is narrow in a picture: its white and black top-hat (J. Serra, Image Analysis and Mathematical Morphology, 1982).
//!
//! An opening by a disc takes away what is lighter than its surroundings and narrower than the disc, a closing what is darker. Of a step of
//! level, whichever way it is turned, and of a slow change they take nothing: shade and a reflection's edge leave no top-hat.
use crate::photo::Plane;
use image::{GrayImage, Luma};
use imageproc::morphology::{Mask, grayscale_close, grayscale_open};

/// Half of the greatest width of a stroke of print, units.
pub(super) const HALF_WIDTH: f64 = 0.055;

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
    // a byte for each level between the darkest and the lightest: a faint picture is not rounded to few
    let (least, most) = plane.data.iter().fold((f32::MAX, f32::MIN), |(a, b), v| (a.min(*v), b.max(*v)));
    let a_level = ((most - least) / 255.0).max(f32::MIN_POSITIVE);
    let picture = GrayImage::from_fn(plane.width as u32, plane.height as u32, |x, y| {
        Luma([((plane.data[y as usize * plane.width + x as usize] - least) / a_level).round() as u8])
    });
    let disc = Mask::disk(half.round().clamp(2.0, 2.0 * COARSE) as u8);
    let ground = if lighter { grayscale_open(&picture, &disc) } else { grayscale_close(&picture, &disc) };
    let level = |x: usize, y: usize| least + a_level * f32::from(ground.get_pixel(x as u32, y as u32).0[0]);
    (Plane::from_fn(plane.width, plane.height, level), 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A stroke of 8 px keeps its height, at any turn and after a halving; a step of 100, a slope, what is broader or of the other polarity leave
    /// hardly anything.
    #[test]
    fn what_is_narrow_is_left_and_nothing_else() {
        let size = 160;
        for degrees in [0.0, 17.0, 45.0, 80.0_f64] {
            let (s, c) = degrees.to_radians().sin_cos();
            let across = |x: usize, y: usize| (x as f64 - 80.0) * c + (y as f64 - 80.0) * s;
            let bar = |x: usize, y: usize, half: f64| f32::from(u8::from(across(x, y).abs() < half));
            let hat = |of: &dyn Fn(usize, usize) -> f32, lighter: bool| {
                let hat = top_hat(&Plane::from_fn(size, size, of).gaussian(1.5), 10.0, lighter);
                // the rim of the picture cuts a stroke's surroundings off
                (30..130).flat_map(|y| (30..130).map(move |x| (x, y))).map(|(x, y)| hat.data[y * size + x]).fold(0.0, f32::max)
            };
            let stroke = |x: usize, y: usize| 60.0 + 50.0 * bar(x, y, 4.0);
            assert!((hat(&stroke, true) - 50.0).abs() < 1.0 && hat(&stroke, false) < 4.0, "{degrees}: {}", hat(&stroke, false));
            let step = |x: usize, y: usize| if across(x, y) > 0.0 { 160.0 } else { 60.0 };
            let slope = |x: usize, y: usize| 100.0 + 0.5 * across(x, y) as f32;
            let broad = |x: usize, y: usize| 60.0 + 50.0 * bar(x, y, 25.0);
            assert!(hat(&step, true).max(hat(&step, false)) < 10.0, "{degrees}: {}", hat(&step, true));
            assert!(hat(&slope, true) < 1.0 && hat(&broad, true) < 4.0, "{degrees}: {} {}", hat(&slope, true), hat(&broad, true));
        }
    }
}
