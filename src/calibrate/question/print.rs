//! Whether anything is printed at a place.
use super::super::adjust::Found;
use crate::maths::point::PhotoPoint;
use crate::maths::robust::ranked;
use crate::photo::Plane;

/// Reach about a click, units of the marks' circle: a click and the print it means lie nearer (px are added for the hand).
const REACH: f64 = 0.02;
/// See [`REACH`], px.
const HAND: f64 = 3.0;
/// Range of levels at a click against that of the ring, below which nothing is printed there.
const BARE: f64 = 0.15;
/// Directions in which the ring is looked at.
const ROUND: usize = 180;

/// Of so many places the share at which nothing is printed: the levels about them differ by far less than those of the marks' ring do.
pub fn bare(luma: &Plane, found: &Found, places: &[PhotoPoint]) -> f64 {
    let h = &found.plane.homography;
    let mut ring: Vec<f32> = Vec::new();
    for k in 0..ROUND {
        let (s, c) = (k as f64 * std::f64::consts::TAU / ROUND as f64).sin_cos();
        for r in [0.84, 0.88, 0.92, 0.96] {
            let q = h.at(r * s, r * c);
            ring.push(luma.clamped(q.x, q.y));
        }
    }
    let range = between(&ring, 95, 5);
    let reach = (REACH * found.plane.pose.scale + HAND).round() as i64;
    let differs = |p: &&PhotoPoint| {
        let mut levels: Vec<f32> = Vec::new();
        for dy in -reach..=reach {
            levels.extend((-reach..=reach).map(|dx| luma.clamped(p.x + dx as f64, p.y + dy as f64)));
        }
        between(&levels, 97, 3) < BARE as f32 * range
    };
    places.iter().filter(differs).count() as f64 / places.len().max(1) as f64
}

/// From the level that `low` in a hundred stay below to that for `high`; nothing where there are none.
fn between(levels: &[f32], high: usize, low: usize) -> f32 {
    let level = |share: usize| ranked(levels.iter().copied(), |count| count * share / 100).unwrap_or(0.0);
    level(high) - level(low)
}
