//! Dials that nobody has clicked in, in a photo or in a circle drawn round one.
use super::along_arc::looks;
use super::apart::{SECOND_SCALE, angles, apart, from_left, sound};
use super::doubt;
use super::laid::{ASIDE, FAR_ASIDE, laid};
use super::levels::Levels;
use super::numbered::{FoundDial, NumberedTick, numbered};
use super::rims::{Rim, rims};
use super::spacing::even;
use super::sparse_dial::{is_known, sparse_dial};
use super::tick::Tick;
use crate::maths::point::PhotoPoint;
use crate::photo::Photo;
use crate::tick_detection::{Bar, Clear, Group, SparseScale, another_ring, groups, sparse_scales};
use nalgebra::Vector2;

/// Bars are sought first in the photo halved until its longer side is no longer than this, px.
const SOUGHT_AT: usize = 2100;
/// Ticks without a doubt of the least dial.
const LEAST_TICKS: usize = 5;
/// How far the middle of the fitted ring may lie from where the ticks' lines meet, share of the radius: of any ticks on a plane face; of
/// ticks that stand evenly, whose ring may be recessed or slanted; of very many.
const SAME_PIVOT: [f64; 3] = [0.04, 0.12, 0.25];
/// Share of the ticks that must be without a doubt: of any, and where they stand evenly.
const SOUND: [f64; 2] = [0.74, 0.5];
/// So many ticks nearly all without a doubt are no chance where the ring's middle is aside either.
const MANY: (usize, f64) = (12, 0.8);
/// Groups that are followed up, those with most ticks first: each costs a fit of its plane.
const MOST_GROUPS: usize = 12;

/// Side of the part that is searched at each larger size when nothing was found, px of that size.
const CLOSER: usize = 1200;

/// All dials of a photo, from left to right. The same photo gives the same dials, ticks and numbers.
///
/// Counts as a dial: at least five straight strokes whose lines meet at one point and that end on one ring about it, more than
/// chance would put there; as many in a round outline that end on one ring about its middle; or four and more strokes and dots at even places
/// about one point, over 52 degrees and more, by a score that strokes and dots lying anyhow do not reach; inside a round outline such are sought as if
/// it were seen straight on. Numbers are read by nobody: what a tick stands for is the
/// caller's knowledge.
///
/// A photo of more than some 2000 px is searched at half the size, a quarter and so on; when that shows no dial, at twice that size where most
/// strokes are, and so on: so the work is bounded, whatever the photo shows.
pub fn find_dials(photo: &Photo) -> Vec<FoundDial> {
    let levels = Levels::of(photo);
    let mut part = [0, 0, photo.width, photo.height];
    for halvings in (0..=halvings(photo.width, photo.height)).rev() {
        let strokes = strokes(&levels, part, halvings, Clear::ANYWHERE);
        let mut found: Vec<FoundDial> = Vec::new();
        for group in strokes.groups.iter().take(MOST_GROUPS) {
            if !found.iter().any(|d| of_dial(d, group)) {
                found.extend(refined(&levels, group, ASIDE));
            }
        }
        let mut scales = strokes.scales;
        // arcs and rims are large: once is enough
        if part[2] == photo.width && part[3] == photo.height {
            let rims = rims(&levels, part, halvings + 1);
            found.extend(in_outlines(&levels, &rims, &found));
            scales.extend(rims.iter().flat_map(Rim::scales));
        }
        scales.sort_by(|a, b| b.odds.total_cmp(&a.odds));
        let mut found = apart(found);
        with_sparse(&mut found, &scales, (photo, &strokes.bars));
        if !found.is_empty() {
            return from_left(found);
        }
        // a dial that is small in a large photo shows its ticks at a larger size only
        let Some(next) = closer(&strokes.bars, part, CLOSER << halvings.saturating_sub(1)) else { return Vec::new() };
        part = next;
    }
    Vec::new()
}

/// The part of at most so many px on a side where most bars are; `None` where there are none.
fn closer(bars: &[Bar], [left, top, width, height]: [usize; 4], side: usize) -> Option<[usize; 4]> {
    let (w, h) = (side.min(width), side.min(height));
    let inside = |c: Vector2<f64>, x: f64, y: f64| (c.x - x).abs() < 0.5 * w as f64 && (c.y - y).abs() < 0.5 * h as f64;
    let count = |m: &Bar| bars.iter().filter(|b| inside(b.centre, m.centre.x, m.centre.y)).count();
    // of many bars, some: the answer is a place among them, not one of them
    let some = bars.iter().step_by(bars.len() / 300 + 1);
    let middle = some.map(|b| (count(b), b)).max_by(|a, b| a.0.cmp(&b.0).then(b.1.centre.x.total_cmp(&a.1.centre.x)))?.1.centre;
    let from = |c: f64, side: usize, low: usize, size: usize| ((c - 0.5 * side as f64).max(low as f64) as usize).min(low + size - side);
    Some([from(middle.x, w, left, width), from(middle.y, h, top, height), w, h])
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

/// As [`find_dials`], but only inside a region in which somebody says that a dial is: for fainter strokes too, and down to the photo's own
/// pixels. Of what is found at one place the one with most ticks without a doubt is kept. Every pivot lies inside.
pub fn find_dials_in(photo: &Photo, region: Region) -> Vec<FoundDial> {
    let Some(mut part) = region.part(photo) else { return Vec::new() };
    let levels = Levels::of(photo);
    for halvings in (0..=halvings(part[2], part[3])).rev() {
        let at = |least| strokes(&levels, part, halvings, least);
        let (clear, faint) = (at(Clear::TOLD_CLEAR), at(Clear::TOLD));
        let groups = clear.groups.iter().take(MOST_GROUPS).chain(faint.groups.iter().take(MOST_GROUPS));
        let inside = |d: &FoundDial| d.pivot.distance(region.centre) < region.radius;
        let mut found: Vec<FoundDial> = groups.filter_map(|g| refined(&levels, g, ASIDE)).filter(inside).collect();
        let mut scales: Vec<SparseScale> = clear.scales.into_iter().chain(faint.scales).collect();
        if found.is_empty() {
            let large = part[2].max(part[3]) >> halvings > SOUGHT_AT / 2;
            let rims = rims(&levels, part, halvings + u32::from(large));
            found.extend(in_outlines(&levels, &rims, &[]).into_iter().filter(inside));
            scales.extend(rims.iter().flat_map(Rim::scales));
        }
        scales.retain(|s| (s.pivot - region.centre.vector()).norm() < region.radius);
        scales.sort_by(|a, b| b.odds.total_cmp(&a.odds));
        found.sort_by_key(|d| std::cmp::Reverse(sound(&d.ticks)));
        let mut found = apart(found);
        with_sparse(&mut found, &scales, (photo, &faint.bars));
        found.retain(inside);
        if found.is_empty() {
            let told = |s: &&SparseScale| likely(s, LIKELY_TOLD);
            found.extend(scales.iter().filter(told).filter_map(|s| sparse_dial(photo, s, &faint.bars)).find(|d| inside(d)));
        }
        if !found.is_empty() {
            return from_left(found);
        }
        let Some(next) = closer(&faint.bars, part, CLOSER << halvings.saturating_sub(1)) else { return Vec::new() };
        part = next;
    }
    Vec::new()
}

/// Least log odds of a scale of few marks: with every place taken, with one empty, with more. In a whole photo, and where a person says that
/// a dial is.
const LIKELY: [f64; 3] = [5.0, 7.0, 12.0];
const LIKELY_TOLD: [f64; 3] = [0.0, 2.0, 7.0];

fn likely(scale: &SparseScale, least: [f64; 3]) -> bool {
    scale.odds > least[scale.empty().min(2)]
}

/// Takes the scales of few marks in that are likely enough, no part of another that is, and none of the dials known. `bars`: what may be further ticks of theirs, photo px.
fn with_sparse(found: &mut Vec<FoundDial>, scales: &[SparseScale], (photo, bars): (&Photo, &[Bar])) {
    let some: Vec<&SparseScale> = scales.iter().filter(|s| likely(s, LIKELY)).collect();
    for scale in &some {
        // a whole that is a neighbour's in part is no dial, and its other part may be one
        let is_dial = |s: &SparseScale| !is_known(found, s) || found.iter().any(|d| d.holds(s));
        if !is_known(found, scale) && !some.iter().any(|s| scale.is_part_of(s) && is_dial(s)) {
            found.extend(sparse_dial(photo, scale, bars));
        }
    }
}

/// How often a picture is halved until it is no larger than `SOUGHT_AT`.
pub(super) fn halvings(width: usize, height: usize) -> u32 {
    (0..usize::BITS).find(|k| width.max(height) >> k <= SOUGHT_AT).unwrap_or(0)
}

/// What a part of a photo shows, photo px.
struct Strokes {
    bars: Vec<Bar>,
    groups: Vec<Group>,
    scales: Vec<SparseScale>,
}

/// Bars, their groups and scales of few marks in a part of the photo (left, top, width, height) halved so often.
fn strokes(levels: &Levels, part: [usize; 4], halvings: u32, least: Clear) -> Strokes {
    let (all, frame, size) = levels.marks(halvings, part, least);
    let groups = groups(&all.bars, size, least.cells).iter().map(|g| frame.group_back(g)).collect();
    let scales = sparse_scales(&all, size).iter().map(|s| frame.scale_back(s)).collect();
    Strokes { bars: all.bars.iter().map(|b| frame.bar_back(b)).collect(), groups, scales }
}

/// Whether a group's ring is that of a dial already found.
fn of_dial(dial: &FoundDial, group: &Group) -> bool {
    dial.is_about(group.pivot) && !another_ring(dial.radius, group.radius)
}

/// Dials whose ticks stand on a drawn arc or inside a rim; not those found already.
fn in_outlines(levels: &Levels, rims: &[Rim], known: &[FoundDial]) -> Vec<FoundDial> {
    let mut found: Vec<FoundDial> = Vec::new();
    for Rim { view, ring, centre, radius } in rims {
        let of_known = |d: &FoundDial| d.is_about(*centre) && (0.7..1.4).contains(&(radius / d.radius));
        if known.iter().chain(&found).any(of_known) {
            continue;
        }
        let dial = |g: &Group, aside: f64| refined(levels, &view.frame.group_back(g), aside);
        let looks = looks(&view.luma, ring);
        let at_it = looks.iter().flat_map(|l| &l.at_it).filter_map(|g| dial(g, ASIDE)).collect::<Vec<_>>();
        let evenly = |d: &FoundDial| even(&angles(&d.ticks));
        let scale = |d: &FoundDial| evenly(d) >= SECOND_SCALE && 3 * evenly(d) >= 2 * sound(&d.ticks);
        let about_it = looks.iter().flat_map(|l| &l.about_it).filter_map(|g| dial(g, FAR_ASIDE)).filter(scale);
        // of equals the last: the one whose ticks point at its middle
        found.extend(about_it.chain(at_it).max_by_key(evenly));
    }
    found
}

/// The dial that a group is, if it is one.
fn refined(levels: &Levels, group: &Group, aside: f64) -> Option<FoundDial> {
    let view = levels.about(group.pivot, group.radius);
    let frame = view.frame;
    let found = laid(&view.luma, &view.camera, &frame.group(group), levels.view_prior(), aside)?;
    let (plane, ticks) = (frame.plane_back(&found.plane), found.ticks.iter().map(|t| frame.tick_back(t)).collect::<Vec<_>>());
    let doubts = doubt::of(&ticks, frame.back(found.meet));
    let ticks = numbered(&ticks.iter().map(Tick::ends).zip(doubts).collect::<Vec<_>>(), &plane);
    let pivot = frame.back(found.pose.origin);
    is_dial(&ticks, (pivot - group.pivot).norm() / group.radius).then(|| FoundDial {
        pivot: PhotoPoint::new(pivot.x, pivot.y),
        radius: frame.step * found.pose.scale,
        tilt: found.pose.rx.hypot(found.pose.ry).to_degrees(),
        plane,
        ticks,
        seen: found.seen,
    })
}

/// Whether ticks are those of a dial; `aside`: how far the middle of their ring lies from where the bars' lines meet, radii.
fn is_dial(ticks: &[NumberedTick], aside: f64) -> bool {
    let angles = angles(ticks);
    let (sound, even) = (angles.len(), even(&angles));
    let regular = even >= LEAST_TICKS && 3 * even >= 2 * sound;
    let share = sound as f64 / ticks.len().max(1) as f64;
    let plain = share > SOUND[0] && aside < SAME_PIVOT[0];
    let even = regular && share > SOUND[1] && aside < SAME_PIVOT[1];
    let many = sound >= MANY.0 && share > MANY.1 && aside < SAME_PIVOT[2];
    sound >= LEAST_TICKS && (plain || even || many)
}
