//! Ticks that go on beyond the first and the last mark in the same step: offered, never taken, for letters may stand there.
use super::adjust::Found;
use super::doubt;
use super::ticks;
use super::warning::Warning;
use crate::dial::Mark;
use crate::maths::angle::wrap;
use crate::maths::robust::high_median;
use crate::photo::Plane;

/// How far outside the marks ticks are looked for, degrees.
const REACH: f64 = 60.0;
/// A tick that goes on stands so near to the place that the last step tells, in steps.
const NEAR: f64 = 0.2;
/// The outer end of one lies so near to the ring of the others, units.
const RING: f64 = 0.012;

/// What to say of ticks beyond the ends.
pub fn offers(luma: &Plane, found: &Found, marks: &[Mark], clicks: &[(f64, f64)]) -> Vec<Warning> {
    if marks.len() < 3 || found.ticks.len() < 4 {
        return Vec::new();
    }
    let all = ticks::find_within(luma, &found.plane.homography, found.plane.pose.scale, clicks, REACH);
    let doubts = doubt::of(&all, found.plane.pose.origin);
    let Some(ring) = high_median(found.ticks.iter().map(|t| t.radii[0])) else { return Vec::new() };
    let sound: Vec<f64> =
        all.iter().zip(doubts).filter(|(t, d)| d.is_none() && (t.radii[0] - ring).abs() < RING).map(|(t, _)| t.angle).collect();
    let n = marks.len();
    [(&marks[n - 2], &marks[n - 1]), (&marks[1], &marks[0])].into_iter().filter_map(|(a, b)| offer(found, &sound, a, b)).collect()
}

/// Ticks that go on from `last`, the step being that from `before`.
fn offer(found: &Found, sound: &[f64], before: &Mark, last: &Mark) -> Option<Warning> {
    let (step, turn) = (last.value - before.value, last.angle - before.angle);
    let there = |k: usize| sound.iter().any(|a| wrap(a - last.angle - k as f64 * turn).abs() < NEAR * turn.abs());
    let more = (1..).take_while(|k| *k as f64 * turn.abs() < REACH && there(*k)).last()?;
    let value = ((last.value + more as f64 * step) * 1e6).round() / 1e6;
    let (s, c) = (last.angle + more as f64 * turn).to_radians().sin_cos();
    // as places are typed: from the picture's corner
    let p = found.plane.homography.at(s, c);
    Some(Warning::GoesOn { ticks: more, beyond: last.value, value, place: [p.x + 0.5, p.y + 0.5] })
}
