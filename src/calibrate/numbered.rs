//! Dials that nobody has clicked in, as their ticks are numbered: clockwise from the gap of the scale.
use super::doubt::Doubt;
use super::tick::TickEnds;
use super::view_prior::SeenFace;
use crate::maths::angle::wrap;
use crate::maths::homography::{Homography, PlaneInPhoto};
use crate::maths::point::PhotoPoint;
use nalgebra::Vector2;

/// A tick with its number.
#[derive(Clone, Debug, PartialEq)]
pub struct NumberedTick {
    /// From 1 on, clockwise, beginning after the widest gap between ticks.
    pub number: usize,
    /// Its outer end on the centre line, photo px: where a person would click.
    pub outer: PhotoPoint,
    /// Its inner end, photo px.
    pub inner: PhotoPoint,
    /// Degrees clockwise from straight up, rising from tick to tick.
    pub angle: f64,
    /// Length, units of the marks' circle.
    pub length: f64,
    /// Whether it is one of the longer ticks of this dial.
    pub long: bool,
    /// Why it may be no tick.
    pub doubt: Option<Doubt>,
}

/// A dial found in a photo.
#[derive(Clone, Debug, PartialEq)]
pub struct FoundDial {
    /// The pivot, photo px.
    pub pivot: PhotoPoint,
    /// px per unit at the pivot.
    pub radius: f64,
    /// Tilt of the face against the photo, degrees.
    pub tilt: f64,
    /// Dial plane (pivot, y up) to photo px.
    pub plane: PlaneInPhoto,
    /// Its ticks by number.
    pub ticks: Vec<NumberedTick>,
    /// How its face is seen, where its ticks tell.
    pub(super) seen: Option<SeenFace>,
}

/// A place is about a dial's pivot: so near, radii.
const ABOUT: f64 = 0.2;
/// So near to a tick's outer end a place is on it, share of the radius.
const ON_TICK: f64 = 0.05;

impl FoundDial {
    /// Where a person would click on a tick; `None` when there is no such tick. Like every place that is typed it counts in px from the
    /// picture's *corner*, and to a hundredth, so that the number as shown means the same place to the last bit.
    pub fn place(&self, number: usize) -> Option<[f64; 2]> {
        let t = self.ticks.get(number.checked_sub(1)?)?;
        Some(typed(t.outer))
    }
    /// Whether a place, photo px, is about its pivot.
    pub(super) fn is_about(&self, place: Vector2<f64>) -> bool {
        self.pivot.distance(PhotoPoint::new(place.x, place.y)) < ABOUT * self.radius
    }
    /// Whether a place, photo px, is on the outer end of one of its ticks.
    pub(super) fn has_tick_at(&self, place: PhotoPoint) -> bool {
        self.ticks.iter().any(|t| t.outer.distance(place) < ON_TICK * self.radius)
    }
    /// Whether another dial has the same pivot: two scales of one face.
    pub fn about_the_same(&self, other: &Self) -> bool {
        self.pivot.distance(other.pivot) < 0.3 * self.radius.min(other.radius)
    }
    /// Whether its pivot is where lines meet, as good as a click: marks without a direction only give the middle of a circle taken as seen
    /// straight on, off by some hundredths of the radius where the camera looks from a few degrees aside.
    pub fn tells_pivot(&self) -> bool {
        self.ticks.iter().any(|t| t.doubt != Some(Doubt::Round))
    }
    /// Where a person would click on the pivot, as [`Self::place`] counts.
    pub fn pivot_place(&self) -> [f64; 2] {
        typed(self.pivot)
    }
}

/// A place to name each dial by, as [`FoundDial::place`] counts: its pivot, or its first tick where that pivot is a larger scale's too.
pub fn named_by(dials: &[FoundDial]) -> Vec<[f64; 2]> {
    let inner = |d: &FoundDial| dials.iter().any(|o| o.radius > d.radius && o.about_the_same(d));
    dials.iter().map(|d| d.place(1).filter(|_| inner(d)).unwrap_or_else(|| d.pivot_place())).collect()
}

/// The dial that such a place names: the one whose pivot is nearest; of several scales about it the one whose ring is, and the largest for
/// a place near the pivot.
pub fn named(dials: Vec<FoundDial>, [x, y]: [f64; 2]) -> Option<FoundDial> {
    let at = PhotoPoint::new(x - 0.5, y - 0.5);
    let first = dials.iter().min_by(|a, b| a.pivot.distance(at).total_cmp(&b.pivot.distance(at)))?.clone();
    let own: Vec<FoundDial> = dials.into_iter().filter(|d| d.about_the_same(&first)).collect();
    let (far, least) = (first.pivot.distance(at), own.iter().map(|d| d.radius).fold(f64::MAX, f64::min));
    let off = |d: &FoundDial| if far < 0.5 * least { -d.radius } else { (far - d.radius).abs() };
    own.into_iter().min_by(|a, b| off(a).total_cmp(&off(b)))
}

fn typed(p: PhotoPoint) -> [f64; 2] {
    [p.x, p.y].map(|v| ((v + 0.5) * 100.0).round() / 100.0)
}

/// Sorts by angle, clockwise from the widest gap on, so that angles rise; angles in degrees.
pub(super) fn from_gap<T>(items: &mut [(f64, T)]) {
    items.sort_by(|a, b| a.0.total_cmp(&b.0));
    let n = items.len();
    let gap = |i: usize| (items[(i + 1) % n].0 - items[i].0).rem_euclid(360.0);
    let Some(widest) = (0..n).max_by(|&i, &j| gap(i).total_cmp(&gap(j)).then(j.cmp(&i))) else { return };
    items.rotate_left((widest + 1) % n);
    let middle = items[0].0;
    for item in items.iter_mut() {
        item.0 = middle + (item.0 - middle).rem_euclid(360.0);
    }
    let shift = items[0].0 - wrap(items[0].0);
    items.iter_mut().for_each(|i| i.0 -= shift);
}

/// Ticks of the plane `h` (dial plane to photo px), each with the doubt about it, by number.
pub(super) fn numbered(found: &[(TickEnds, Option<Doubt>)], h: &PlaneInPhoto) -> Vec<NumberedTick> {
    let mut ticks: Vec<(f64, usize)> = found.iter().enumerate().map(|(i, (t, _))| (t.angle, i)).collect();
    from_gap(&mut ticks);
    let back = h.inverse().unwrap_or_else(Homography::identity);
    let radius = |p: Vector2<f64>| back.at(p.x, p.y).norm();
    let length = |i: usize| radius(found[i].0.outer) - radius(found[i].0.inner);
    let lengths: Vec<f64> = (0..found.len()).map(length).collect();
    let limit = long_from(&lengths);
    ticks
        .into_iter()
        .enumerate()
        .map(|(k, (angle, i))| {
            let (t, doubt) = found[i];
            NumberedTick {
                number: k + 1,
                outer: PhotoPoint::new(t.outer.x, t.outer.y),
                inner: PhotoPoint::new(t.inner.x, t.inner.y),
                angle,
                length: lengths[i],
                long: lengths[i] >= limit,
                doubt,
            }
        })
        .collect()
}

/// The length from which a tick counts as long: the middle of the widest step between sorted lengths, when it is a clear one.
pub(super) fn long_from(lengths: &[f64]) -> f64 {
    let mut sorted = lengths.to_vec();
    sorted.sort_by(f64::total_cmp);
    let step =
        sorted.windows(2).map(|w| (w[1] / w[0].max(1e-6), 0.5 * (w[0] + w[1]))).fold((1.0, 0.0), |b, s| if s.0 > b.0 { s } else { b });
    if step.0 > 1.25 { step.1 } else { 0.0 }
}
