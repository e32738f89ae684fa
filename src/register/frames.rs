//! The part of a picture that the dial takes.
use crate::maths::homography::Homography;
use crate::maths::point::DialPoint;

/// Rectangle of a picture that holds the dial out to `extent` units; `None` when it lies outside the picture.
pub fn bounds<B>(h: &Homography<DialPoint, B>, extent: f64, (width, height): (usize, usize)) -> Option<[usize; 4]> {
    let (mut x0, mut y0, mut x1, mut y1) = (f64::MAX, f64::MAX, f64::MIN, f64::MIN);
    for i in 0..32 {
        let (s, c) = (i as f64 * std::f64::consts::PI / 16.0).sin_cos();
        let q = h.at(extent * s, extent * c);
        if !(q.x.is_finite() && q.y.is_finite()) {
            return None;
        }
        (x0, y0, x1, y1) = (x0.min(q.x), y0.min(q.y), x1.max(q.x), y1.max(q.y));
    }
    let (x0, y0) = (x0.max(1.0), y0.max(1.0));
    let (x1, y1) = (x1.min(width as f64 - 2.0), y1.min(height as f64 - 2.0));
    let large = x1 > x0 + 8.0 && y1 > y0 + 8.0;
    large.then_some([x0, y0, x1, y1].map(|v| v as usize))
}
