//! Marks as a person clicks them, and the ticks next to them.
use super::tick::Tick;
use crate::maths::angle::wrap;
use crate::maths::homography::PlaneInPhoto;
use crate::maths::point::PhotoPoint;
use crate::maths::robust::high_median;

/// A mark's value and the place the user gave.
pub type Clicked = (f64, PhotoPoint);

/// The marks as dial points of a plane.
pub fn in_plane(h: &PlaneInPhoto, marks: &[Clicked]) -> Option<Vec<(f64, f64)>> {
    let back = h.inverse()?;
    Some(
        marks
            .iter()
            .map(|m| {
                let q = back.at(m.1.x, m.1.y);
                (q.x, q.y)
            })
            .collect(),
    )
}

/// Median outer radius of the ticks next to the clicks.
pub(super) fn labelled_radius(ticks: &[Tick], clicks: &[(f64, f64)]) -> f64 {
    let radius = |&(x, y): &(f64, f64)| {
        let a = x.atan2(y).to_degrees();
        let near = ticks.iter().filter(|t| wrap(t.angle - a).abs() < 3.0);
        near.min_by(|p, q| wrap(p.angle - a).abs().total_cmp(&wrap(q.angle - a).abs())).map(|t| t.radii[0])
    };
    high_median(clicks.iter().filter_map(radius)).unwrap_or(1.0)
}
