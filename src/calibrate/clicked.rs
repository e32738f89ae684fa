//! Marks as a person clicks them, and the ticks next to them.
use super::tick::Tick;
use crate::maths::angle::wrap;
use crate::maths::homography::PlaneInPhoto;
use crate::maths::point::PhotoPoint;
use crate::maths::robust::high_median;
use nalgebra::{DMatrix, DVector, Vector2};

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

/// Middle and radius of the circle through the marks (Kåsa's least squares: 2 x cx + 2 y cy + c = x² + y²), photo px.
///
/// # Errors
/// When it cannot be solved, in words.
pub fn circle(marks: &[Clicked]) -> Result<(Vector2<f64>, f64), String> {
    let a = DMatrix::from_fn(marks.len(), 3, |i, j| match j {
        0 => 2.0 * marks[i].1.x,
        1 => 2.0 * marks[i].1.y,
        _ => 1.0,
    });
    let b = DVector::from_fn(marks.len(), |i, _| marks[i].1.x.powi(2) + marks[i].1.y.powi(2));
    let x = a.svd(true, true).solve(&b, 1e-12)?;
    let middle = Vector2::new(x[0], x[1]);
    Ok((middle, (x[2] + middle.norm_squared()).max(0.0).sqrt()))
}

/// Mean distance of the marks from a place, photo px.
pub fn mean_distance(marks: &[Clicked], from: Vector2<f64>) -> f64 {
    marks.iter().map(|m| (m.1.vector() - from).norm()).sum::<f64>() / marks.len() as f64
}

/// A circle through marks so many times as large as they are far from their pivot is none about it. 70 photographed dials:
/// 0.81 to 1.38 (the largest are rings of five marks that are bent, whose pivot is better taken where their ticks point too); two scales that end
/// on a straight edge: 1.5 and 2.0.
const CUT: f64 = 1.3;

/// Whether the marks run along a cut rather than a circle about this pivot.
pub fn is_cut(marks: &[Clicked], pivot: Vector2<f64>) -> bool {
    circle(marks).is_ok_and(|(_, radius)| radius > CUT * mean_distance(marks, pivot))
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
