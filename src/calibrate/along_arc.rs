//! Ticks that touch a drawn arc, or stand inside a rim: bars of the ring about it, in which the arc itself is the ground.
use super::polar::{Polar, R_IN};
use crate::maths::homography::PlaneInWork;
use crate::photo::Plane;
use crate::register::Ellipse;
use crate::tick_detection::{Bar, Clear, Group, groups_about, groups_at, marks};
use nalgebra::{Matrix2, Vector2};

/// Degrees over which the middle level is the ground: an arc is as long, a tick is not half as wide.
const WINDOW: f64 = 14.0;
/// px per unit at which a ring is looked at.
const SCALE: f64 = 150.0;

/// A circle seen obliquely, px of the view: the middle of its image, and the map of unit vectors to its points.
#[derive(Clone, Copy, Debug)]
pub struct Ring {
    /// The middle.
    pub centre: Vector2<f64>,
    pub(super) shape: Matrix2<f64>,
}

impl Ring {
    /// An outline, whose shape turns nothing, in a view so many times as large as its own picture; its centre there.
    pub fn of(outline: &Ellipse, centre: Vector2<f64>, times: f64) -> Self {
        Self { centre, shape: outline.shape * times }
    }
    /// Through the outer ends of a group's bars; `None` where they lie on no ellipse.
    fn through(group: &Group) -> Option<Self> {
        let ends: Vec<Vector2<f64>> = group.ticks.iter().map(|b| b.outer_end(group.pivot)).collect();
        Ellipse::through(&ends).map(|e| Self::of(&e, e.centre, 1.0))
    }
    pub(super) fn radius(&self) -> f64 {
        0.5 * self.shape.trace()
    }
    fn is_near(&self, other: &Self) -> bool {
        let reach = NEAR * other.radius();
        (self.centre - other.centre).norm() < reach && (self.radius() - other.radius()).abs() < reach
    }
    fn plane(&self) -> PlaneInWork {
        PlaneInWork::affine(self.shape * Matrix2::new(1.0, 0.0, 0.0, -1.0), self.centre)
    }
}

/// Bars that fix a ring anew.
const FIXED: usize = 8;
/// How far the new one may lie from the old, and how much larger or smaller it may be, shares of the old one's radius.
const NEAR: f64 = 0.4;

/// What stands about a ring, px of the view.
pub struct Look {
    /// Groups of bars that point at its middle.
    pub at_it: Vec<Group>,
    /// Groups of bars that may point beside it.
    pub about_it: Vec<Group>,
}

impl Look {
    fn along(luma: &Plane, ring: &Ring) -> Self {
        let bars = bars_along(luma, ring);
        Self { at_it: groups_at(&bars, ring.centre), about_it: groups_about(&bars, ring.centre) }
    }
}

/// What stands about an outline, and once more along the ring through the bars that are alike and end on one: an outline that a shadow or a frame
/// cuts lies some way off that ring.
pub fn looks(luma: &Plane, outline: &Ring) -> Vec<Look> {
    let first = Look::along(luma, outline);
    let fixed = first.about_it.iter().filter(|g| g.ticks.len() >= FIXED).filter_map(Ring::through).filter(|r| r.is_near(outline));
    let again: Vec<Look> = fixed.map(|ring| Look::along(luma, &ring)).collect();
    std::iter::once(first).chain(again).collect()
}

/// The bars of the ring about an arc, px of the view.
fn bars_along(luma: &Plane, arc: &Ring) -> Vec<Bar> {
    let ring = Polar::unwrap(luma, &arc.plane(), SCALE.min(arc.radius()));
    let ridge = ring.above_face(WINDOW);
    // two columns to a px at the radius 1; the seam is at the bottom, where a scale has its gap
    let width = ring.columns / 2;
    let level = |x: usize, y: usize| {
        let c = (2 * x + width) as i64;
        128.0 + 0.5 * (ridge.at(y, c) + ridge.at(y, c + 1))
    };
    let plane = Plane::from_fn(width, ring.rows, level);
    let px = arc.radius() * ring.dr;
    let photo = |b: Bar| -> Bar {
        let (s, c) = ring.angle(2.0 * b.centre.x + 0.5 + width as f64).to_radians().sin_cos();
        let (out, on) = (Vector2::new(s, -c), Vector2::new(c, s));
        let r = R_IN + b.centre.y * ring.dr;
        Bar {
            centre: arc.centre + arc.shape * out * r,
            along: (arc.shape * (out * b.along.y + on * (b.along.x * r))).normalize(),
            length: b.length * px,
            width: b.width * px,
            ..b
        }
    };
    let found = marks((width, ring.rows), &|[x, y, w, h]| plane.crop(x, y, w, h), Clear::ANYWHERE);
    found.bars.into_iter().map(photo).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 27 strokes on a ring of 120 px, of which an outline that lies aside and is too small shows some: along the ring through those nearly all are found.
    #[test]
    fn a_ring_is_found_from_an_outline_that_lies_beside_it() {
        let middle = Vector2::new(190.0, 180.0);
        let luma = Plane::from_fn(380, 360, |x, y| {
            let d = Vector2::new(x as f64, y as f64) - middle;
            let (r, a) = (d.norm(), d.x.atan2(-d.y).to_degrees());
            let across = (a - (a / 10.0).round() * 10.0).to_radians() * r;
            let on = a.abs() < 138.0 && (102.0..120.0).contains(&r);
            40.0 + if on { 100.0 * (2.5 - across.abs()).clamp(0.0, 1.0) as f32 } else { 0.0 }
        });
        let arc = Ring { centre: middle + Vector2::new(30.0, -14.0), shape: Matrix2::identity() * 104.0 };
        let most = |l: &Look| l.about_it.iter().map(|g| g.ticks.len()).max().unwrap_or(0);
        let found: Vec<usize> = looks(&luma, &arc).iter().map(most).collect();
        assert!(found[0] >= FIXED && found[0] < 20 && found[1..].iter().any(|n| *n >= 24), "{found:?} of 27");
    }
}
