//! Dials that nobody has clicked in: their pivot and their printed ticks, numbered clockwise from the gap of the scale.
use super::adjust::{Clicked, Found, adjust};
use super::doubt::{self, Doubt};
use super::request::Request;
use crate::maths::angle::wrap;
use crate::maths::point::PhotoPoint;
use crate::maths::pose::{Camera, project};
use crate::maths::units::Unit;
use crate::photo::{Photo, Plane};
use crate::tick_detection::{Bar, Clear, Group, bars, groups};
use nalgebra::{Matrix3, Vector2};

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
    pub plane: Matrix3<f64>,
    /// Its ticks by number.
    pub ticks: Vec<NumberedTick>,
}

impl FoundDial {
    /// Where a person would click on a tick; `None` when there is no such tick. Like every place that is typed it counts in px from the
    /// picture's *corner*, and to a hundredth, so that the number as shown means the same place to the last bit.
    pub fn place(&self, number: usize) -> Option<[f64; 2]> {
        let t = self.ticks.get(number.checked_sub(1)?)?;
        Some(typed(t.outer))
    }
    /// Where a person would click on the pivot, as [`Self::place`] counts.
    pub fn pivot_place(&self) -> [f64; 2] {
        typed(self.pivot)
    }
}

fn typed(p: PhotoPoint) -> [f64; 2] {
    [p.x, p.y].map(|v| ((v + 0.5) * 100.0).round() / 100.0)
}

/// Bars are sought first in the photo halved until its longer side is no longer than this, px.
const SOUGHT_AT: usize = 2100;
/// Ticks without a doubt of the least dial; they must also be two thirds of all.
const LEAST_TICKS: usize = 5;
/// How far the fitted plane's pivot may lie from where the ticks' lines meet, share of the radius: a plane tilted to the wrong side
/// moves it by more.
const SAME_PIVOT: f64 = 0.04;

/// All dials of a photo, from left to right. The same photo gives the same dials, ticks and numbers.
///
/// Counts as a dial: at least five straight strokes whose lines meet at one point and that end on one ring about it, more than
/// chance would put there. Numbers are read by nobody: what a tick stands for is the caller's knowledge.
pub fn find_dials(photo: &Photo) -> Vec<FoundDial> {
    // a dial that is small in a large photo shows its ticks at full size only
    for halvings in (0..=halvings(photo.width, photo.height)).rev() {
        let groups = coarse(photo, [0, 0, photo.width, photo.height], halvings, Clear::ANYWHERE);
        if groups.is_empty() {
            continue;
        }
        let luma = photo.luma();
        let found = apart(groups.iter().filter_map(|g| refined(photo, &luma, g)));
        if !found.is_empty() {
            return from_left(found);
        }
    }
    Vec::new()
}

/// A circle drawn round a dial, photo px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Region {
    /// Its middle.
    pub centre: PhotoPoint,
    /// Its radius, px.
    pub radius: f64,
}

impl Region {
    /// The part of a photo that holds it: left, top, width and height; `None` where it lies outside.
    fn part(&self, photo: &Photo) -> Option<[usize; 4]> {
        let edge = |v: f64, top: usize| v.clamp(0.0, top as f64) as usize;
        let (c, r) = (self.centre, self.radius);
        let (x0, y0) = (edge(c.x - r, photo.width), edge(c.y - r, photo.height));
        let (x1, y1) = (edge(c.x + r + 1.0, photo.width), edge(c.y + r + 1.0, photo.height));
        (x1 > x0 && y1 > y0).then(|| [x0, y0, x1 - x0, y1 - y0])
    }
}

/// Groups that are followed up in a region, those with most ticks first: each costs a fit of its plane.
const MOST_GROUPS: usize = 12;

/// As [`find_dials`], but only inside a region in which somebody says that a dial is: for fainter strokes too, and down to the photo's own
/// pixels. Of what is found at one place the one with most ticks without a doubt is kept. Every pivot lies inside.
pub fn find_dials_in(photo: &Photo, region: Region) -> Vec<FoundDial> {
    let Some(part) = region.part(photo) else { return Vec::new() };
    for halvings in (0..=halvings(part[2], part[3])).rev() {
        let at = |least| coarse(photo, part, halvings, least).into_iter().take(MOST_GROUPS);
        let groups: Vec<Group> = at(Clear::TOLD_CLEAR).chain(at(Clear::TOLD)).collect();
        if groups.is_empty() {
            continue;
        }
        let luma = photo.luma();
        let inside = |d: &FoundDial| d.pivot.distance(region.centre) < region.radius;
        let mut found: Vec<FoundDial> = groups.iter().filter_map(|g| refined(photo, &luma, g)).filter(inside).collect();
        found.sort_by_key(|d| std::cmp::Reverse(d.ticks.iter().filter(|t| t.doubt.is_none()).count()));
        if !found.is_empty() {
            return from_left(apart(found));
        }
    }
    Vec::new()
}

/// One dial to a place: the first.
fn apart(dials: impl IntoIterator<Item = FoundDial>) -> Vec<FoundDial> {
    let mut found: Vec<FoundDial> = Vec::new();
    for dial in dials {
        if found.iter().all(|d| d.pivot.distance(dial.pivot) > 0.3 * d.radius.min(dial.radius)) {
            found.push(dial);
        }
    }
    found
}

fn from_left(mut dials: Vec<FoundDial>) -> Vec<FoundDial> {
    dials.sort_by(|a, b| a.pivot.x.total_cmp(&b.pivot.x));
    dials
}

/// How often a picture is halved until it is no larger than `SOUGHT_AT`.
fn halvings(width: usize, height: usize) -> u32 {
    (0..usize::BITS).find(|k| width.max(height) >> k <= SOUGHT_AT).unwrap_or(0)
}

/// Groups of bars in a part of the photo (left, top, width, height) halved so often, photo px.
fn coarse(photo: &Photo, [left, top, width, height]: [usize; 4], halvings: u32, least: Clear) -> Vec<Group> {
    let step = f64::from(1u32 << halvings.min(31));
    let corner = Vector2::new(left as f64, top as f64);
    let full = |p: Vector2<f64>| (p + Vector2::repeat(0.5)) * step - Vector2::repeat(0.5) + corner;
    let bar = |b: &Bar| Bar { centre: full(b.centre), length: b.length * step, width: b.width * step, ..*b };
    let (all, size) = if halvings == 0 {
        (bars((width, height), &|[x, y, w, h]| photo.luma_of(left + x, top + y, w, h), least), (width, height))
    } else {
        let half = match width == photo.width && height == photo.height {
            true => photo.half_luma(),
            false => photo.luma_of(left, top, width, height).half(),
        };
        let plane = (1..halvings).fold(half, |p, _| p.half());
        let size = (plane.width, plane.height);
        (bars(size, &|[x, y, w, h]| plane.crop(x, y, w, h), least), size)
    };
    groups(&all, size, least.cells)
        .into_iter()
        .map(|g| Group { pivot: full(g.pivot), radius: g.radius * step, ticks: g.ticks.iter().map(bar).collect() })
        .collect()
}

/// The dial's plane fitted to the group, its ticks found again in that plane.
fn refined(photo: &Photo, luma: &Plane, group: &Group) -> Option<FoundDial> {
    let camera = Camera::of_picture(photo.width, photo.height, photo.focal_ratio);
    let request = Request {
        unit: Unit::C,
        name: String::new(),
        marks: Vec::new(),
        angles: Vec::new(),
        pivot: Some(PhotoPoint::new(group.pivot.x, group.pivot.y)),
        rim: None,
        tick_step: None,
    };
    let found = adjust(photo, luma, &camera, (&ends(group), &request), &[]).ok()?;
    let ticks = numbered(&found);
    let pose = found.plane.pose;
    let sound = ticks.iter().filter(|t| t.doubt.is_none()).count();
    (sound >= LEAST_TICKS && 3 * sound > 2 * ticks.len() && (pose.origin - group.pivot).norm() < SAME_PIVOT * group.radius).then(|| {
        FoundDial {
            pivot: PhotoPoint::new(pose.origin.x, pose.origin.y),
            radius: pose.scale,
            tilt: pose.rx.hypot(pose.ry).to_degrees(),
            plane: found.plane.homography,
            ticks,
        }
    })
}

/// Outer ends of the bars, along the scale; the values only count.
fn ends(group: &Group) -> Vec<Clicked> {
    let mut out: Vec<(f64, Vector2<f64>)> = group
        .ticks
        .iter()
        .map(|b| {
            let d = (b.centre - group.pivot).normalize();
            let outwards = if b.along.dot(&d) < 0.0 { -b.along } else { b.along };
            (d.x.atan2(-d.y).to_degrees(), b.centre + outwards * (0.5 * b.length))
        })
        .collect();
    from_gap(&mut out);
    out.iter().enumerate().map(|(i, (_, p))| (i as f64, PhotoPoint::new(p.x, p.y))).collect()
}

/// Sorts by angle, clockwise from the widest gap on, so that angles rise; angles in degrees.
fn from_gap<T>(items: &mut [(f64, T)]) {
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

fn numbered(found: &Found) -> Vec<NumberedTick> {
    let mut ticks: Vec<(f64, usize)> = found.ticks.iter().enumerate().map(|(i, t)| (t.angle, i)).collect();
    from_gap(&mut ticks);
    let doubts = doubt::of(&found.ticks, &found.plane);
    let back = found.plane.homography.try_inverse().unwrap_or_else(Matrix3::identity);
    let radius = |p: Vector2<f64>| project(&back, p.x, p.y).norm();
    let length = |i: usize| radius(found.ticks[i].outer) - radius(found.ticks[i].inner);
    let lengths: Vec<f64> = (0..found.ticks.len()).map(length).collect();
    let limit = long_from(&lengths);
    ticks
        .into_iter()
        .enumerate()
        .map(|(k, (angle, i))| {
            let t = &found.ticks[i];
            NumberedTick {
                number: k + 1,
                outer: PhotoPoint::new(t.outer.x, t.outer.y),
                inner: PhotoPoint::new(t.inner.x, t.inner.y),
                angle,
                length: lengths[i],
                long: lengths[i] >= limit,
                doubt: doubts[i],
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
