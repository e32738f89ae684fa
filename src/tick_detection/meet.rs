//! Where the lines of many bars meet: each pair votes for the point where its two lines cross.
use super::bar::Bar;
use crate::maths::robust::median;
use nalgebra::{Matrix2, Vector2};

/// Two lines that differ by less than this (radians) fix no crossing.
const LEAST_CROSSING: f64 = 0.1;
/// Distance of a tick from the pivot over its own length, least and most.
const REACH: [f64; 2] = [2.0, 40.0];
/// Ratio of the distances of two ticks of one dial (a tilt of 40° makes 1.3).
const RATIO: f64 = 1.5;
/// Ratio of the contrasts of two ticks of one dial (a reflection on one of them).
const CONTRAST: f64 = 4.0;
/// Places that are followed up.
const MOST: usize = 24;

/// Signed distance of the bar's line from a point, over the distance of the bar from it: an angle, radians.
pub fn off(b: &Bar, c: Vector2<f64>) -> f64 {
    off_by(b.along, b.centre - c)
}

/// The same of a direction and the way from the point to the bar.
pub(super) fn off_by(along: Vector2<f64>, d: Vector2<f64>) -> f64 {
    let n = d.norm().max(1e-9);
    ((along.x * d.y - along.y * d.x) / n).clamp(-1.0, 1.0).asin()
}

/// Where two lines, each a point and a unit vector, cross, and the sine of the angle between them; `None` where that is less than `least`.
pub(super) fn lines_cross(
    (p, u): (Vector2<f64>, Vector2<f64>),
    (q, v): (Vector2<f64>, Vector2<f64>),
    least: f64,
) -> Option<(Vector2<f64>, f64)> {
    let sine = u.x * v.y - u.y * v.x;
    let d = q - p;
    (sine.abs() >= least).then(|| (p + u * ((d.x * v.y - d.y * v.x) / sine), sine.abs()))
}

/// Whether a bar may be a tick of a dial whose pivot is there: by its distance and length.
pub(super) fn in_reach(b: &Bar, c: Vector2<f64>) -> bool {
    let r = (b.centre - c).norm() / b.length;
    (REACH[0]..REACH[1]).contains(&r)
}

fn crossing(a: &Bar, b: &Bar) -> Option<(Vector2<f64>, f64)> {
    if !(1.0 / CONTRAST..CONTRAST).contains(&(a.contrast / b.contrast)) {
        return None;
    }
    let (c, sine) = lines_cross((a.centre, a.along), (b.centre, b.along), LEAST_CROSSING)?;
    let (ra, rb) = ((a.centre - c).norm(), (b.centre - c).norm());
    if !in_reach(a, c) || !in_reach(b, c) || !(1.0 / RATIO..RATIO).contains(&(ra / rb)) {
        return None;
    }
    let wide = (ra * a.direction_sigma()).hypot(rb * b.direction_sigma()) / sine;
    Some((c, wide))
}

/// Places where many lines of these bars (one polarity) meet, the best first. `size`: width and height of the
/// picture, which has so many `cells` along its longer side.
pub(super) fn meeting_places(bars: &[Bar], size: (usize, usize), cells: f64) -> Vec<Vector2<f64>> {
    let cell = (size.0.max(size.1) as f64 / cells).max(1.0);
    // a pivot may lie outside the photo by half its size
    let (w, h) = ((2.0 * size.0 as f64 / cell) as usize + 1, (2.0 * size.1 as f64 / cell) as usize + 1);
    let (x0, y0) = (-0.5 * size.0 as f64, -0.5 * size.1 as f64);
    let mut votes = vec![0f32; w * h];
    for (i, a) in bars.iter().enumerate() {
        for b in &bars[i + 1..] {
            let Some((c, wide)) = crossing(a, b) else { continue };
            let (x, y) = ((c.x - x0) / cell, (c.y - y0) / cell);
            if x >= 0.0 && y >= 0.0 && x < w as f64 && y < h as f64 {
                votes[y as usize * w + x as usize] += (cell / wide.max(cell)).powi(2) as f32;
            }
        }
    }
    peaks(&votes, w, h).into_iter().map(|(x, y)| Vector2::new(x0 + (x + 0.5) * cell, y0 + (y + 0.5) * cell)).collect()
}

/// Highest places of the votes summed over 3 x 3 cells, one to a neighbourhood.
fn peaks(votes: &[f32], w: usize, h: usize) -> Vec<(f64, f64)> {
    let sum = |x: usize, y: usize| -> f32 {
        (y.saturating_sub(1)..(y + 2).min(h)).map(|v| votes[v * w + x.saturating_sub(1)..v * w + (x + 2).min(w)].iter().sum::<f32>()).sum()
    };
    let mut all: Vec<(f32, usize, usize)> =
        (0..h).flat_map(|y| (0..w).map(move |x| (x, y))).map(|(x, y)| (sum(x, y), x, y)).filter(|p| p.0 >= 2.0).collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.2, a.1).cmp(&(b.2, b.1))));
    let mut out: Vec<(usize, usize)> = Vec::new();
    for (_, x, y) in all {
        if out.iter().all(|o| o.0.abs_diff(x) > 2 || o.1.abs_diff(y) > 2) {
            out.push((x, y));
        }
        if out.len() == MOST {
            break;
        }
    }
    out.into_iter().map(|(x, y)| (x as f64, y as f64)).collect()
}

/// Where the lines of these bars meet; `None` where none cross.
pub fn meeting(bars: &[Bar]) -> Option<Vector2<f64>> {
    let line = |b: &Bar| (b.centre, b.along);
    let pairs = bars.iter().enumerate().flat_map(|(i, a)| bars[i + 1..].iter().map(move |b| (a, b)));
    let crossings: Vec<Vector2<f64>> = pairs.filter_map(|(a, b)| lines_cross(line(a), line(b), LEAST_CROSSING)).map(|c| c.0).collect();
    let middle = |k: usize| median(&crossings.iter().map(|c| c[k]).collect::<Vec<_>>());
    refine(&bars.iter().collect::<Vec<_>>(), Vector2::new(middle(0)?, middle(1)?))
}

/// The point that lies nearest to the lines of the bars (weighted, outliers held down), from a first guess.
pub(super) fn refine(bars: &[&Bar], start: Vector2<f64>) -> Option<Vector2<f64>> {
    let mut c = start;
    for _ in 0..12 {
        let (mut n, mut v) = (Matrix2::zeros(), Vector2::zeros());
        for b in bars {
            let normal = Vector2::new(-b.along.y, b.along.x);
            let s = b.direction_sigma() * (b.centre - c).norm();
            let e = off(b, c) / b.direction_sigma();
            let weight = 1.0 / (s * s * (1.0 + (e / 2.0).powi(2)));
            n += normal * normal.transpose() * weight;
            v += normal * normal.dot(&b.centre) * weight;
        }
        let next = n.try_inverse()? * v;
        let moved = (next - c).norm();
        c = next;
        if moved < 0.01 {
            break;
        }
    }
    c.iter().all(|e| e.is_finite()).then_some(c)
}
