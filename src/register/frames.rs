//! The part of a picture that the dial takes.
use crate::maths::homography::Homography;
use crate::maths::point::DialPoint;

/// Rectangle of a picture that holds the dial out to `extent` units; `None` when it lies outside the picture.
pub fn bounds<B>(h: &Homography<DialPoint, B>, extent: f64, (width, height): (usize, usize)) -> Option<[usize; 4]> {
    let [x0, y0, x1, y1] = h.box_of_circle(extent, 32);
    if ![x0, y0, x1, y1].iter().all(|v| v.is_finite()) {
        return None;
    }
    let (x0, y0) = (x0.max(1.0), y0.max(1.0));
    let (x1, y1) = (x1.min(width as f64 - 2.0), y1.min(height as f64 - 2.0));
    let large = x1 > x0 + 8.0 && y1 > y0 + 8.0;
    large.then_some([x0, y0, x1, y1].map(|v| v as usize))
}
