//! The reference's needle painted over with paper.
use crate::photo::Plane;
use crate::register::face::NeedlePlace;
use nalgebra::Vector3;

/// A colour along an axis.
pub(super) fn along_axis(axis: &Vector3<f64>, colour: [f32; 3]) -> f32 {
    (0..3).map(|c| axis[c] as f32 * colour[c]).sum()
}

/// Colour planes along an axis of colour.
pub(super) fn mixed(axis: &Vector3<f64>, [r, g, b]: [&Plane; 3]) -> Plane {
    let data = r.data.iter().zip(&g.data).zip(&b.data).map(|((r, g), b)| along_axis(axis, [*r, *g, *b])).collect();
    Plane { width: r.width, height: r.height, data }
}

/// Steps of radius for which the paper is known.
pub(super) const STEPS: usize = 112;

/// The reference's needle is painted over this far round it, units.
const ROUND: f64 = 0.022;

/// A pixel that the reference's needle covers.
pub(super) struct Covered {
    pixel: usize,
    /// How much of it.
    share: f32,
    /// Its radius, steps of 0.01.
    step: usize,
}

/// The pixels that the reference's needle covers, softly at its edge. `place`: the dial point of a pixel.
pub(super) fn covered((width, height): (usize, usize), needle: &NeedlePlace, place: impl Fn(usize, usize) -> (f64, f64)) -> Vec<Covered> {
    let under = Plane::from_fn(width, height, |i, j| {
        let (x, y) = place(i, j);
        f32::from(u8::from(needle.covers(x, y, ROUND)))
    });
    let soft = under.gaussian(0.8);
    let one = |(pixel, &share): (usize, &f32)| {
        let (x, y) = place(pixel % width, pixel / width);
        Covered { pixel, share, step: (((x * x + y * y).sqrt() * 100.0) as usize).min(STEPS - 1) }
    };
    soft.data.iter().enumerate().filter(|(_, share)| **share > 0.0).map(one).collect()
}

/// Paints the needle's place with paper; `paper`: its level by radius in steps of 0.01.
pub(super) fn paint_over(plane: &mut Plane, covered: &[Covered], paper: impl Fn(usize) -> f32) {
    for c in covered {
        let v = &mut plane.data[c.pixel];
        *v = *v * (1.0 - c.share) + paper(c.step) * c.share;
    }
}
