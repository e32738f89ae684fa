//! Arcs and rims in a photo, the printed line along a scale or the bezel round a face: about their middle a dial may be.
//!
//! As with bars all levels are gone through from the bright end and from the dark one, in coarse steps; a set of joined pixels that lies on a
//! circle (Kåsa's fit, from sums that add up as sets join) over some levels is an arc. Ticks that touch a drawn arc are no bars of their own:
//! they are found in the ring about it.
use super::by_level::by_level;
use super::joined::Joined;
use crate::photo::Plane;
use nalgebra::{Matrix3, Vector2, Vector3};

/// An arc, px of its picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arc {
    /// Middle of its circle.
    pub centre: Vector2<f64>,
    /// Radius.
    pub radius: f64,
    /// Whether it is brighter than what lies round it.
    pub bright: bool,
    /// Pixels on it.
    area: f64,
}

/// Grey levels to a step, and steps over which a set must stay an arc.
const STEP: f32 = 4.0;
const STEPS: u8 = 2;
/// Pixels of the least arc, and its least radius, px.
const LEAST_AREA: f64 = 60.0;
const LEAST_RADIUS: f64 = 24.0;
/// Most that its pixels may lie off the circle, root of the mean square as a share of the radius: a tilted circle, ticks on the arc.
const OFF: f64 = 0.05;
/// Distance of its pixels' mean from the circle's middle at most, radii: an arc of 100° has 0.88.
const SHORT: f64 = 0.88;
/// Arcs that are followed up.
const MOST: usize = 7;

/// The arcs of a plane, the one of most pixels first, one to a circle.
pub fn arcs(luma: &Plane) -> Vec<Arc> {
    let mut all: Vec<Arc> = [true, false].iter().flat_map(|&bright| Flood::new(luma, bright).run()).collect();
    all.sort_by(|a, b| b.area.total_cmp(&a.area).then(a.centre.x.total_cmp(&b.centre.x)));
    let mut out: Vec<Arc> = Vec::new();
    for arc in all {
        let same = |o: &Arc| (o.centre - arc.centre).norm() < 0.08 * arc.radius && (o.radius / arc.radius - 1.0).abs() < 0.08;
        if !out.iter().any(same) {
            out.push(arc);
        }
        if out.len() == MOST {
            break;
        }
    }
    out
}

/// Sums over the pixels of a set, places over the picture's longer side.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    n: f64,
    x: f64,
    y: f64,
    xx: f64,
    xy: f64,
    yy: f64,
    xz: f64,
    yz: f64,
    zz: f64,
}

impl Sums {
    fn of(x: f64, y: f64) -> Self {
        let z = x * x + y * y;
        Self { n: 1.0, x, y, xx: x * x, xy: x * y, yy: y * y, xz: x * z, yz: y * z, zz: z * z }
    }
    fn add(&mut self, o: &Self) {
        let own =
            [&mut self.n, &mut self.x, &mut self.y, &mut self.xx, &mut self.xy, &mut self.yy, &mut self.xz, &mut self.yz, &mut self.zz];
        own.into_iter().zip([o.n, o.x, o.y, o.xx, o.xy, o.yy, o.xz, o.yz, o.zz]).for_each(|(a, b)| *a += b);
    }
    /// The circle through the set, if it lies on one, and how far it lies off.
    fn circle(&self) -> Option<Circle> {
        let normal = Matrix3::new(self.xx, self.xy, self.x, self.xy, self.yy, self.y, self.x, self.y, self.n);
        let right = Vector3::new(self.xz, self.yz, self.xx + self.yy);
        let p = normal.lu().solve(&right)?;
        let centre = Vector2::new(0.5 * p.x, 0.5 * p.y);
        let radius = (p.z + centre.norm_squared()).max(0.0).sqrt();
        let off = ((self.zz - p.dot(&right)).max(0.0) / self.n).sqrt() / (2.0 * radius * radius);
        let mean = Vector2::new(self.x, self.y) / self.n;
        (off < OFF && (mean - centre).norm() < SHORT * radius).then_some(Circle { centre, radius, off, area: self.n })
    }
}

/// A circle, places over the picture's longer side.
#[derive(Clone, Copy, Debug)]
struct Circle {
    centre: Vector2<f64>,
    radius: f64,
    off: f64,
    area: f64,
}

/// A set: its sums, and since which level it has been an arc, with the circle it lay on best.
#[derive(Clone, Copy, Debug)]
struct Set {
    sums: Sums,
    looked: u8,
    arc: Option<(u8, Circle)>,
}

struct Flood {
    levels: Vec<u8>,
    bright: bool,
    width: usize,
    long: f64,
    joined: Joined,
    sets: Vec<Set>,
    found: Vec<Arc>,
}

impl Flood {
    fn new(luma: &Plane, bright: bool) -> Self {
        let level = |v: &f32| ((if bright { *v } else { 255.0 - v }).clamp(0.0, 255.0) / STEP) as u8;
        Self {
            levels: luma.data.iter().map(level).collect(),
            bright,
            width: luma.width,
            long: luma.width.max(luma.height).max(1) as f64,
            joined: Joined::new(luma.data.len()),
            sets: Vec::new(),
            found: Vec::new(),
        }
    }
    fn run(mut self) -> Vec<Arc> {
        let (order, starts) = by_level(&self.levels);
        for level in (0..=(255.0 / STEP) as u8).rev() {
            let pixels = &order[starts[usize::from(level)]..starts[usize::from(level) + 1]];
            for &p in pixels {
                self.add(p as usize, level);
            }
            for &p in pixels {
                let set = self.joined.set(p as usize);
                if self.sets[set].looked != level {
                    self.sets[set].looked = level;
                    self.look(set, level);
                }
            }
        }
        self.found
    }
    /// Whether a set is an arc at this level.
    fn look(&mut self, set: usize, level: u8) {
        let s = &mut self.sets[set];
        let circle = (s.sums.n >= LEAST_AREA).then(|| s.sums.circle()).flatten().filter(|c| c.radius * self.long >= LEAST_RADIUS);
        match (circle, &mut s.arc) {
            (Some(c), Some((_, best))) if c.off < best.off => *best = c,
            (Some(_), Some(_)) => {}
            (Some(c), arc) => *arc = Some((level, c)),
            (None, _) => self.close(set, level),
        }
    }
    /// An arc that ends above this level: kept if it stood over enough levels.
    fn close(&mut self, set: usize, level: u8) {
        if let Some((_, c)) = self.sets[set].arc.take().filter(|(since, _)| *since >= level + STEPS) {
            self.found.push(Arc { centre: c.centre * self.long, radius: c.radius * self.long, bright: self.bright, area: c.area });
        }
    }
    /// A pixel comes up and joins its neighbours, corners too: a thin arc is a chain of them. Without any it begins a set.
    fn add(&mut self, i: usize, level: u8) {
        let w = self.width;
        let (x, y) = (i % w, i / w);
        let own = Sums::of(x as f64 / self.long, y as f64 / self.long);
        for ny in y.saturating_sub(1)..=(y + 1).min(self.levels.len() / w - 1) {
            for nx in x.saturating_sub(1)..=(x + 1).min(w - 1) {
                let n = ny * w + nx;
                if n == i || !self.joined.is_up(n) {
                    continue;
                }
                if self.joined.is_up(i) {
                    self.join(i, n, level);
                } else {
                    let set = self.joined.enter(i, n);
                    self.sets[set].sums.add(&own);
                }
            }
        }
        if !self.joined.is_up(i) {
            self.joined.begin(i, self.sets.len());
            self.sets.push(Set { sums: own, looked: u8::MAX, arc: None });
        }
    }
    /// The larger set goes on.
    fn join(&mut self, a: usize, b: usize, level: u8) {
        if let Some((i, j)) = self.joined.join(a, b, |set| self.sets[set].sums.n) {
            self.close(j, level);
            let sums = self.sets[j].sums;
            self.sets[i].sums.add(&sums);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(ink: impl Fn(f64, f64) -> bool) -> Plane {
        Plane::from_fn(400, 300, |i, j| if ink(i as f64, j as f64) { 180.0 } else { 60.0 })
    }

    #[test]
    fn an_arc_with_ticks_on_it_is_found_and_a_bar_is_none() {
        let found = arcs(&drawn(|x, y| {
            let (dx, dy) = (x - 210.0, y - 160.0);
            let (r, a) = (dx.hypot(dy), dx.atan2(-dy).to_degrees());
            let tick = (a / 15.0 - (a / 15.0).round()).abs() * 15.0 < 1.5 && (88.0..101.0).contains(&r);
            a.abs() < 120.0 && ((r - 100.0).abs() < 1.2 || tick)
        }));
        assert_eq!(found.len(), 1, "{found:?}");
        assert!((found[0].centre - Vector2::new(210.0, 160.0)).norm() < 3.0 && (found[0].radius - 99.0).abs() < 3.0, "{found:?}");
        assert!(arcs(&drawn(|x, y| (100.0..300.0).contains(&x) && (140.0..146.0).contains(&y))).is_empty());
        assert!(arcs(&drawn(|x, y| (x - 200.0).hypot(y - 150.0) < 80.0)).iter().all(|a| a.radius > 100.0), "a disc is no arc");
    }
}
