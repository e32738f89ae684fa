//! The pivot where the lines of the marks' own ticks meet, for marks that lie on no circle about it.
//!
//! A face that is cut straight at one side has its ticks end on the cut: the circle through the marks is far too large, and its middle no
//! pivot. Most makers draw ticks towards the pivot all the same. Asked only where the circle gives no dial, and never instead of a click.
use super::clicked::Clicked;
use super::levels::Levels;
use super::sought::halvings;
use crate::photo::Photo;
use crate::tick_detection::{Bar, Clear, meeting, off};
use nalgebra::Vector2;

/// Ticks that fix a pivot at least, and the share of the marks that must have one. Two photographed scales of 11 and 16 marks have 11 and 15;
/// sub-dials of five marks, whose dots have no direction, three.
const LEAST: usize = 5;
const SHARE: f64 = 0.6;
/// How far from its tick's end a click may be, as a share of the tick's length, and at least, px of the picture that is searched. Ground: a
/// careful click is good to 1.2 px, and ticks stand further from each other than a third of their length.
const BESIDE: [f64; 2] = [0.35, 3.0];
/// How far a tick may point beside the meeting place, radians, and the share of them that must not. The same two: 0.026 at most but for two
/// (0.067 and 0.080, bars hardly longer than wide); twice as far as ticks are drawn beside a pivot.
const ASIDE: f64 = 0.06;
const TOWARDS: f64 = 0.75;
/// Directions of the ticks differ by this at least, radians. Ground: with less the place is known along them to no better than some tenths of the
/// radius.
const SPREAD: f64 = 0.7;

/// Ticks that point at one place, photo px.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct TickPivot {
    /// The place.
    pub place: Vector2<f64>,
    /// Their centre lines: two points, and the standard uncertainty of where it passes the place.
    pub lines: Vec<(Vector2<f64>, Vector2<f64>, f64)>,
}

/// Where the ticks at the marks point; `None` where too few can be made out, or they point at no one place.
pub(super) fn tick_pivot(photo: &Photo, clicks: &[Clicked]) -> Option<TickPivot> {
    let at: Vec<Vector2<f64>> = clicks.iter().map(|c| c.1.vector()).collect();
    let (bars, step) = bars_about(photo, &at)?;
    // print is all lighter or all darker than its face
    let ticks = [true, false].map(|bright| ticks_at(&bars, &at, (bright, step)));
    let ticks = ticks.into_iter().max_by_key(Vec::len).filter(|t| t.len() >= LEAST && t.len() as f64 >= SHARE * at.len() as f64)?;
    let pivot = meeting(&ticks)?;
    let towards: Vec<&Bar> = ticks.iter().filter(|b| off(b, pivot).abs() < ASIDE).collect();
    let way = |b: &Bar| b.outwards(pivot);
    let widest = towards.iter().flat_map(|a| towards.iter().map(move |b| way(a).angle(&way(b)))).fold(0.0, f64::max);
    let line = |b: &&Bar| {
        let half = b.along * (0.5 * b.length);
        (b.centre - half, b.centre + half, b.direction_sigma() * (b.centre - pivot).norm())
    };
    let agreed = towards.len() as f64 >= TOWARDS * ticks.len() as f64 && widest > SPREAD;
    agreed.then(|| TickPivot { place: pivot, lines: towards.iter().map(line).collect() })
}

/// The bars of the part of the photo that holds the marks, photo px; and how many photo px one of the picture is that was searched.
fn bars_about(photo: &Photo, at: &[Vector2<f64>]) -> Option<(Vec<Bar>, f64)> {
    let low = at.iter().copied().reduce(|a, b| a.inf(&b))?;
    let high = at.iter().copied().reduce(|a, b| a.sup(&b))?;
    let room = 0.25 * (high - low).norm();
    let edge = |v: f64, top: usize| v.clamp(0.0, top as f64) as usize;
    let (x0, y0) = (edge(low.x - room, photo.width), edge(low.y - room, photo.height));
    let (x1, y1) = (edge(high.x + room, photo.width), edge(high.y + room, photo.height));
    let part = [x0, y0, x1.saturating_sub(x0), y1.saturating_sub(y0)];
    if part[2] < 9 || part[3] < 9 {
        return None;
    }
    let (found, frame, _) = Levels::of(photo).marks(halvings(part[2], part[3]), part, Clear::TOLD);
    Some((found.bars.iter().map(|b| frame.bar_back(b)).collect(), frame.step))
}

/// The bars of one polarity that have an end at a click, each at the click it is nearest to.
fn ticks_at(bars: &[Bar], clicks: &[Vector2<f64>], (bright, step): (bool, f64)) -> Vec<Bar> {
    let from = |b: &Bar, click: &Vector2<f64>| {
        let half = b.along * (0.5 * b.length);
        (b.centre + half - click).norm().min((b.centre - half - click).norm())
    };
    let near = |(i, click): (usize, &Vector2<f64>)| {
        let reached = bars.iter().enumerate().filter(|(_, b)| b.bright == bright).map(|(k, b)| (from(b, click), k, i));
        reached.filter(|(d, k, _)| *d < (BESIDE[0] * bars[*k].length).max(BESIDE[1] * step)).min_by(|a, b| a.0.total_cmp(&b.0))
    };
    let found: Vec<(f64, usize, usize)> = clicks.iter().enumerate().filter_map(near).collect();
    let nearest = |(d, k, i): &&(f64, usize, usize)| !found.iter().any(|(e, l, j)| l == k && j != i && (e, j) < (d, i));
    found.iter().filter(nearest).map(|(_, k, _)| bars[*k]).collect()
}
