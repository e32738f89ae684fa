//! Bars that are the ticks of one dial: their lines meet at one point and their ends lie on one ring about it.
use super::bar::{Bar, clearest, of_polarity, within};
use super::meet::{in_reach, meeting_places, off, refine};
use super::ring::{ring, widest_gap};
use crate::maths::robust::high_median;
use nalgebra::Vector2;
use std::f64::consts::TAU;

/// The ticks of a dial, coarsely.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Where their lines meet, or the middle of the outline that they stand in, photo px.
    pub pivot: Vector2<f64>,
    /// Mean distance of their outer ends from it, photo px.
    pub radius: f64,
    /// The ticks.
    pub ticks: Vec<Bar>,
}

/// Bars looked at, the clearest first; more are texture.
const MOST_BARS: usize = 700;
/// Ticks that a dial has at least.
const LEAST_TICKS: usize = 4;
/// Directions that they cover at least, radians.
const LEAST_SWEEP: f64 = 0.9;
/// A bar's line may pass the pivot by this, in its own sigmas and radians.
const OFF: (f64, f64) = (3.0, 0.12);
/// How many more ticks than chance would put there, in standard deviations of chance.
const BEYOND_CHANCE: f64 = 4.0;

/// The dials of a picture of this size, the one with most ticks first. `cells`: so many along its longer side are told apart as places of
/// a pivot.
pub fn groups(bars: &[Bar], size: (usize, usize), cells: f64) -> Vec<Group> {
    let mut found: Vec<Group> = Vec::new();
    for bright in [true, false] {
        let own = clearest(bars, bright, MOST_BARS);
        for first in meeting_places(&own, size, cells).into_iter().filter_map(|c| group(&own, c)) {
            found.extend(within_or_around(&own, &first));
            found.push(first);
        }
    }
    found.sort_by_key(|g| std::cmp::Reverse(g.ticks.len()));
    let mut out: Vec<Group> = Vec::new();
    for g in found {
        let apart = |o: &Group| (o.pivot - g.pivot).norm() > 0.3 * o.radius.min(g.radius) || another_ring(o.radius, g.radius);
        if out.iter().all(|o| apart(o) && shared(o, &g) < g.ticks.len().div_ceil(2)) {
            out.push(g);
        }
    }
    out
}

/// The dials about a place: one of bright ticks, one of dark ones.
pub fn groups_at(bars: &[Bar], place: Vector2<f64>) -> Vec<Group> {
    [true, false].into_iter().filter_map(|bright| group(&of_polarity(bars, bright), place)).collect()
}

/// Widest angle between a bar and the direction to a ring's middle, radians, and how far beside it the lines may meet, radii.
const SLANTED: f64 = 0.6;
const BESIDE: f64 = 0.6;

/// The dials about the known middle of a ring, whose ticks may point beside it: one of bright ticks, one of dark ones.
pub fn groups_about(bars: &[Bar], middle: Vector2<f64>) -> Vec<Group> {
    [true, false].into_iter().filter_map(|bright| group_about(&of_polarity(bars, bright), middle)).collect()
}

fn group_about(bars: &[Bar], middle: Vector2<f64>) -> Option<Group> {
    let slanted: Vec<&Bar> = bars.iter().filter(|b| in_reach(b, middle) && off(b, middle).abs() < SLANTED).collect();
    let (on, _) = ring(&slanted, middle)?;
    let mut meet = refine(&on.iter().map(|i| slanted[*i]).collect::<Vec<_>>(), middle)?;
    let (mut reach, mut ticks) = (0.0, Vec::new());
    for _ in 0..3 {
        let towards: Vec<&Bar> = slanted.iter().filter(|b| points_at(b, meet, OFF.0)).copied().collect();
        let (on, radius) = ring(&towards, middle)?;
        (reach, ticks) = (radius, on.into_iter().map(|i| towards[i]).collect());
        meet = refine(&ticks, meet)?;
        if (meet - middle).norm() > BESIDE * radius {
            return None;
        }
    }
    made(bars, (middle, reach), &ticks)
}

/// Ratio of the radii of two scales about one pivot.
const RINGS: f64 = 1.2;

/// Whether two rings about one pivot are two scales rather than one.
pub fn another_ring(a: f64, b: f64) -> bool {
    a.max(b) > RINGS * a.min(b)
}

/// A second scale about the pivot of a first one.
fn within_or_around(bars: &[Bar], first: &Group) -> Option<Group> {
    let other: Vec<Bar> = bars.iter().filter(|b| !first.ticks.contains(b)).copied().collect();
    group(&other, first.pivot)
        .filter(|g| another_ring(g.radius, first.radius) && (g.pivot - first.pivot).norm() < 0.1 * g.radius.min(first.radius))
}

fn shared(a: &Group, b: &Group) -> usize {
    b.ticks.iter().filter(|t| a.ticks.iter().any(|o| (o.centre - t.centre).norm() < 2.0)).count()
}

fn near(bars: &[Bar], c: Vector2<f64>, sigmas: f64) -> Vec<&Bar> {
    bars.iter().filter(|b| in_reach(b, c) && points_at(b, c, sigmas)).collect()
}

fn points_at(b: &Bar, c: Vector2<f64>, sigmas: f64) -> bool {
    off(b, c).abs() < (sigmas * b.direction_sigma()).min(OFF.1)
}

/// The group about a place, if it is one.
fn group(bars: &[Bar], start: Vector2<f64>) -> Option<Group> {
    let (mut c, mut radius, mut ticks) = (start, 0.0, Vec::new());
    for round in 0..4 {
        let candidates = near(bars, c, if round == 0 { 2.0 * OFF.0 } else { OFF.0 });
        let (on, r) = ring(&candidates, c)?;
        ticks = on.into_iter().map(|i| candidates[i]).collect::<Vec<_>>();
        radius = r;
        c = refine(&ticks, c)?;
    }
    made(bars, (c, radius), &ticks)
}

/// The group that ticks about a place are, if they are more than chance.
fn made(bars: &[Bar], (c, radius): (Vector2<f64>, f64), ticks: &[&Bar]) -> Option<Group> {
    let ticks = usual(ticks);
    let directions: Vec<f64> = ticks.iter().map(|b| (b.centre.y - c.y).atan2(b.centre.x - c.x)).collect();
    if ticks.len() < LEAST_TICKS || TAU - widest_gap(&directions) < LEAST_SWEEP {
        return None;
    }
    let chance = by_chance(bars, c, radius, &ticks);
    (ticks.len() as f64 > chance + BEYOND_CHANCE * (chance + 0.25).sqrt()).then(|| Group {
        pivot: c,
        radius,
        ticks: ticks.into_iter().copied().collect(),
    })
}

/// The bars that look like the others: contrast, width and length within a factor of the middle one.
fn usual<'a>(ticks: &[&'a Bar]) -> Vec<&'a Bar> {
    let middle = |f: fn(&Bar) -> f64| high_median(ticks.iter().map(|b| f(b))).unwrap_or(1.0);
    let (contrast, width, length) = (middle(|b| b.contrast), middle(|b| b.width), middle(|b| b.length));
    ticks
        .iter()
        .filter(|b| within(b.contrast, contrast, 5.0) && within(b.width, width, 3.0) && within(b.length, length, 3.5))
        .copied()
        .collect()
}

/// Bars that would point at a place and end on a ring about it if all bars within the ring's reach lay anyhow.
fn by_chance(bars: &[Bar], c: Vector2<f64>, radius: f64, ticks: &[&Bar]) -> f64 {
    let other = bars.iter().filter(|b| {
        let r = (b.centre - c).norm() + 0.5 * b.length;
        (0.5..1.5).contains(&(r / radius)) && ticks.iter().all(|t| (t.centre - b.centre).norm() > 2.0)
    });
    // the ring's width of ± 3 % among ± 50 %
    other.map(|b| 0.06 * (OFF.0 * b.direction_sigma()).min(OFF.1) / (0.25 * TAU)).sum()
}
