//! A photo's blur over the face: even in the photo's pixels, so in the dial's plane it is wider where perspective shows the dial smaller.
//!
//! The template is blurred alike everywhere. What is left looks like a wrong perspective: at 25° of tilt the marks' circle came out up
//! to 0.03 px too large on one side and too small on the other, three times its predicted uncertainty.
use super::template::Template;
use crate::maths::homography::project;
use nalgebra::{Matrix2, Matrix3};

/// Blur that the reference has itself, px²: its pixels (1/12) and nearly half a pixel of lens and resampling (0.2). It does not grow in the photo.
const OWN: f64 = 0.3;
/// Differences of blur below this (px²) are not worth counting.
const SMALL: f64 = 0.02;

/// Blur of a photo beyond that of the template, place by place.
pub struct Uneven {
    w: Matrix3<f64>,
    k: f64,
    /// Covariance in the photo, px².
    photo: Matrix2<f64>,
    /// The same at the pivot, canonical px².
    middle: Matrix2<f64>,
}

impl Uneven {
    /// For a map `w` from photo px to the dial plane (`h` back) and a face out to `extent`; `None` where blur is even enough.
    pub fn new(template: &Template, w: &Matrix3<f64>, h: &Matrix3<f64>, extent: f64) -> Option<Self> {
        let [a, b, c] = template.blur;
        let middle = Matrix2::new(a, b, b, c) + Matrix2::identity() * OWN;
        let mut out = Self { w: *w, k: template.k, photo: Matrix2::zeros(), middle };
        let at = |x: f64, y: f64| {
            let p = project(h, x, y);
            (x, y, 1.0 / (w[(2, 0)] * p.x + w[(2, 1)] * p.y + w[(2, 2)]))
        };
        let (x, y, z) = at(0.0, 0.0);
        let back = out.jacobian(x, y, z).try_inverse()?;
        out.photo = back * middle * back.transpose();
        let ends = [(extent, 0.0), (-extent, 0.0), (0.0, extent), (0.0, -extent)].map(|(x, y)| at(x, y));
        let most = ends.iter().flat_map(|&(x, y, z)| out.more(x, y, z)).fold(0.0f32, |a, v| a.max(v.abs()));
        (f64::from(most) > SMALL).then_some(out)
    }
    /// Derivative of the canonical px (x right, y down) by the photo px. `z`: 1 over the third coordinate of the map at the place.
    #[inline(always)]
    fn jacobian(&self, x: f64, y: f64, z: f64) -> Matrix2<f64> {
        let w = &self.w;
        let d = |r: usize, c: usize, q: f64| (w[(r, c)] - w[(2, c)] * q) * z * self.k;
        Matrix2::new(d(0, 0, x), d(0, 1, x), -d(1, 0, y), -d(1, 1, y))
    }
    /// Blur at a dial point beyond that at the pivot, canonical px²: (xx, xy, yy).
    #[inline(always)]
    pub fn more(&self, x: f64, y: f64, z: f64) -> [f32; 3] {
        let j = self.jacobian(x, y, z);
        let d = j * self.photo * j.transpose() - self.middle;
        [d[(0, 0)] as f32, d[(0, 1)] as f32, d[(1, 1)] as f32]
    }
}
