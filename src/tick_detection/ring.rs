//! The ring on which the ticks about a pivot end: their distance as a smooth function of direction.
//!
//! A circle seen obliquely is nearly r (1 + a cos f + b sin f + c cos 2f + d sin 2f) about the image of its centre; the four numbers
//! are small.
use super::bar::Bar;
use nalgebra::{DMatrix, DVector, Vector2};
use std::f64::consts::TAU;

/// Width of the prior on the four numbers (a tilt of 40° makes 0.13).
const SHAPE_SIGMA: f64 = 0.06;
/// Share by which an end may lie off the ring, from the first round to the last.
const TOLERANCE: [f64; 5] = [0.16, 0.10, 0.06, 0.04, 0.03];

/// Bars (indices) whose outer ends lie on one ring about `c`, and its mean radius, px.
pub(super) fn ring(bars: &[&Bar], c: Vector2<f64>) -> Option<(Vec<usize>, f64)> {
    let ends: Vec<(f64, f64)> = bars
        .iter()
        .map(|b| {
            let d = b.centre - c;
            (d.y.atan2(d.x), (d.norm() + 0.5 * b.length).ln())
        })
        .collect();
    let mut best: Option<(Vec<usize>, f64)> = None;
    for start in starts(&ends) {
        let Some((on, radius)) = follow(&ends, start) else { continue };
        if best.as_ref().is_none_or(|b| on.len() > b.0.len()) {
            best = Some((on, radius));
        }
    }
    best
}

/// Radii (logarithms) where many ends lie.
fn starts(ends: &[(f64, f64)]) -> Vec<f64> {
    let count = |r: f64| ends.iter().filter(|e| (e.1 - r).abs() < 0.06).count();
    let mut all: Vec<(usize, f64)> = ends.iter().map(|e| (count(e.1), e.1)).collect();
    all.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.total_cmp(&b.1)));
    let mut out: Vec<f64> = Vec::new();
    for (_, r) in all {
        if out.iter().all(|o| (o - r).abs() > 0.06) {
            out.push(r);
        }
    }
    out.truncate(4);
    out
}

fn row(f: f64) -> [f64; 5] {
    [1.0, f.cos(), f.sin(), (2.0 * f).cos(), (2.0 * f).sin()]
}

/// The ring near a radius: fitted to the ends on it, in rounds of a falling tolerance.
fn follow(ends: &[(f64, f64)], start: f64) -> Option<(Vec<usize>, f64)> {
    let mut p = DVector::from_vec(vec![start, 0.0, 0.0, 0.0, 0.0]);
    let value = |p: &DVector<f64>, f: f64| -> f64 { row(f).iter().zip(p.iter()).map(|(a, b)| a * b).sum() };
    let mut on = Vec::new();
    for tolerance in TOLERANCE {
        on = (0..ends.len()).filter(|&i| (ends[i].1 - value(&p, ends[i].0)).abs() < tolerance).collect();
        if on.len() < 3 {
            return None;
        }
        let (mut n, mut v) = (DMatrix::zeros(5, 5), DVector::zeros(5));
        for &i in &on {
            let r = DVector::from_row_slice(&row(ends[i].0));
            let e = (ends[i].1 - value(&p, ends[i].0)) / (0.3 * tolerance);
            let w = 1.0 / ((0.3 * tolerance).powi(2) * (1.0 + e * e));
            n += &r * r.transpose() * w;
            v += r * (w * ends[i].1);
        }
        for k in 1..5 {
            n[(k, k)] += SHAPE_SIGMA.powi(-2);
        }
        p = n.lu().solve(&v)?;
    }
    Some((on, p[0].exp()))
}

/// The widest gap between directions, radians.
pub(super) fn widest_gap(directions: &[f64]) -> f64 {
    let mut sorted: Vec<f64> = directions.iter().map(|d| d.rem_euclid(TAU)).collect();
    sorted.sort_by(f64::total_cmp);
    let Some(last) = sorted.last() else { return TAU };
    let across = sorted[0] + TAU - last;
    sorted.windows(2).map(|w| w[1] - w[0]).fold(across, f64::max)
}
