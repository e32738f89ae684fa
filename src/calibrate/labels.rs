//! From clicks and ticks to angles: which tick a click means, and all angles on one monotone run.
use super::adjust::Found;
use super::clicked::Clicked;
use super::error::CalibrateError;
use super::tick::Tick;
use super::way;
use crate::maths::angle::{run, wrap};
use crate::maths::homography::Homography;
use crate::maths::point::{DialPoint, PhotoPoint};
use nalgebra::Vector2;

/// A label's tick (index into the ticks) and angle on one monotone run.
pub struct Labels {
    /// Angle of every label.
    pub angle: Vec<f64>,
    /// Index of every label's tick.
    pub tick: Vec<Option<usize>>,
    /// Angle of every tick on the same run, degrees.
    pub tick_angles: Vec<f64>,
    /// Photo px of every tick's mark: the middle of its length, where it is known best, and between the two ends of a tick that
    /// does not point at the pivot.
    pub tick_places: Vec<Vector2<f64>>,
    /// What not knowing which of a tick's radii is meant contributes to its angle, degrees (signed, one sigma, one source for all
    /// ticks): nothing where the ticks point at the pivot, else rectangular over the tick's length.
    pub askew: Vec<f64>,
}

/// Finds the labels' ticks and puts all angles on one run.
pub fn label_angles(found: &Found, marks: &[Clicked]) -> Result<Labels, CalibrateError> {
    let back = found.plane.homography.inverse().ok_or_else(|| CalibrateError::NoPlane("singular".into()))?;
    let scale = found.plane.pose.scale;
    let middle_of = |t: &Tick| at_radius(t, &back, 0.5 * (t.radii[0] + t.radii[1]));
    let tick_at: Vec<f64> = found
        .ticks
        .iter()
        .map(|t| {
            let q = middle_of(t);
            q.x.atan2(q.y).to_degrees()
        })
        .collect();
    let reach = (7.0 / scale).to_degrees();
    let (mut raw, mut tick) = (Vec::new(), Vec::new());
    for m in marks {
        let q = back.at(m.1.x, m.1.y);
        let a = q.x.atan2(q.y).to_degrees();
        let near = (0..tick_at.len()).min_by(|&i, &j| wrap(tick_at[i] - a).abs().total_cmp(&wrap(tick_at[j] - a).abs()));
        let own = near.filter(|&i| wrap(tick_at[i] - a).abs() < reach);
        raw.push(own.map_or(a, |i| tick_at[i]));
        tick.push(own);
    }
    // a click beside its tick is that tick's
    let angle = match raw[..] {
        [a, b] => way::run_of_two(a, b, &tick_at, reach),
        _ => run(&raw),
    };
    in_order(marks, &raw)?;
    let middle = 0.5 * (angle[0] + angle[angle.len() - 1]);
    let tick_angles = tick_at.iter().map(|a| middle + wrap(a - middle)).collect();
    let tick_places = found
        .ticks
        .iter()
        .map(|t| {
            let q = middle_of(t);
            found.plane.homography.at(q.x, q.y)
        })
        .collect();
    let askew = found.ticks.iter().map(|t| if found.radial { 0.0 } else { turn_along(t, &back) / 12f64.sqrt() }).collect();
    Ok(Labels { angle, tick, tick_angles, tick_places, askew })
}

/// Refuses marks that do not follow each other round the dial, and tells which one stands wrong.
fn in_order(marks: &[Clicked], raw: &[f64]) -> Result<(), CalibrateError> {
    let Some(wrong) = first_wrong(&run(raw)) else { return Ok(()) };
    let n = raw.len();
    // two neighbours in value at each other's places
    for i in 0..n.saturating_sub(1) {
        let mut other = raw.to_vec();
        other.swap(i, i + 1);
        if n > 3 && first_wrong(&run(&other)).is_none() {
            return Err(CalibrateError::WrongWayRound(marks[i].0, marks[i + 1].0));
        }
    }
    // one without which the others do follow
    let alone = |i: &usize| {
        let others: Vec<f64> = raw.iter().enumerate().filter(|(j, _)| j != i).map(|(_, a)| *a).collect();
        first_wrong(&run(&others)).is_none()
    };
    let odd = (0..n).filter(|_| n > 3).find(alone).unwrap_or(wrong);
    Err(CalibrateError::OutOfOrder(marks[odd].0))
}

/// The first of a run of angles that does not follow the one before it.
fn first_wrong(angle: &[f64]) -> Option<usize> {
    let whole = angle[angle.len() - 1] - angle[0];
    let stays = |w: &[f64]| (w[1] - w[0]).abs() < 0.2 || whole * (w[1] - w[0]) <= 0.0;
    angle.windows(2).position(stays).map(|i| i + 1).or_else(|| (whole.abs() >= 359.0).then_some(angle.len() / 2))
}

/// By how much the angle differs between the outer and the inner end of a tick, degrees.
fn turn_along(t: &Tick, back: &Homography<PhotoPoint, DialPoint>) -> f64 {
    let [a, b] = t.radii.map(|r| at_radius(t, back, r)).map(|q| q.x.atan2(q.y).to_degrees());
    wrap(a - b)
}

/// The dial point of a tick's centre line at a radius.
fn at_radius(t: &Tick, back: &Homography<PhotoPoint, DialPoint>, radius: f64) -> Vector2<f64> {
    let (a, b) = (back.at(t.line[0].x, t.line[0].y), back.at(t.line[1].x, t.line[1].y));
    let f = (radius - a.norm()) / (b.norm() - a.norm()).max(1e-6);
    a + (b - a) * f.clamp(-0.5, 1.5)
}
