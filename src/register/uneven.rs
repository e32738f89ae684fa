//! A photo's blur over the face: even in the photo's pixels, so in the dial's plane it is wider where perspective shows the dial smaller.
//!
//! The template is blurred alike everywhere. What is left looks like a wrong perspective: at 25° of tilt the marks' circle came out up
//! to 0.03 px too large on one side and too small on the other, three times its predicted uncertainty.
use super::template::Template;
use crate::maths::blur::BlurCovariance;
use crate::maths::homography::{StraightPoint, WorkPoint, WorkToPlane};
use nalgebra::{Matrix2, Matrix3};

/// Blur that the reference has itself, px²: its pixels (1/12) and nearly half a pixel of lens and resampling (0.2). It does not grow in the photo.
const OWN: f64 = 0.3;
/// Differences of blur below this (px²) are not worth counting.
const SMALL: f64 = 0.02;

/// Blur of a photo beyond that of the template, place by place.
pub struct Uneven {
    /// Photo px to dial plane.
    to_dial: Matrix3<f64>,
    k: f64,
    photo: BlurCovariance<WorkPoint>,
    /// The same at the pivot.
    middle: BlurCovariance<StraightPoint>,
}

impl Uneven {
    /// For a map and a face out to `extent`; `None` where blur is even enough.
    pub fn new(template: &Template, to_dial: &WorkToPlane, extent: f64) -> Option<Self> {
        let (from_dial, w) = (to_dial.inverse()?, *to_dial.matrix());
        let middle = template.blur + BlurCovariance::round(OWN);
        let mut out = Self { to_dial: w, k: template.k, photo: BlurCovariance::round(0.0), middle };
        let at = |x: f64, y: f64| {
            let p = from_dial.at(x, y);
            (x, y, 1.0 / (w[(2, 0)] * p.x + w[(2, 1)] * p.y + w[(2, 2)]))
        };
        let (x, y, z) = at(0.0, 0.0);
        out.photo = middle.carried(&out.jacobian(x, y, z).try_inverse()?);
        let ends = [(extent, 0.0), (-extent, 0.0), (0.0, extent), (0.0, -extent)].map(|(x, y)| at(x, y));
        let most = ends.iter().flat_map(|&(x, y, z)| out.more(x, y, z)).fold(0.0f32, |a, v| a.max(v.abs()));
        (f64::from(most) > SMALL).then_some(out)
    }
    /// Derivative of the canonical px (x right, y down) by the photo px. `z`: 1 over the third coordinate of the map at the place.
    #[inline(always)]
    fn jacobian(&self, x: f64, y: f64, z: f64) -> Matrix2<f64> {
        let w = &self.to_dial;
        let d = |r: usize, c: usize, q: f64| (w[(r, c)] - w[(2, c)] * q) * z * self.k;
        Matrix2::new(d(0, 0, x), d(0, 1, x), -d(1, 0, y), -d(1, 1, y))
    }
    /// Blur at a dial point beyond that at the pivot, canonical px²: (xx, xy, yy).
    #[inline(always)]
    pub fn more(&self, x: f64, y: f64, z: f64) -> [f32; 3] {
        let here = self.photo.carried::<StraightPoint>(&self.jacobian(x, y, z));
        (here - self.middle).entries().map(|v| v as f32)
    }
}
