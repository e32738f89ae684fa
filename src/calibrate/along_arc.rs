//! Ticks that touch a drawn arc, or stand inside a rim: bars of the ring about it, in which the arc itself is the ground.
use super::polar::{Polar, R_IN};
use crate::maths::homography::PlaneInWork;
use crate::photo::Plane;
use crate::register::Ellipse;
use crate::tick_detection::{Bar, Clear, Group, groups_about, marks};
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
    fn plane(&self) -> PlaneInWork {
        PlaneInWork::affine(self.shape * Matrix2::new(1.0, 0.0, 0.0, -1.0), self.centre)
    }
}

/// Ends that fix a ring anew.
const FIXED: usize = 8;

/// Groups of the bars about an arc that may point beside its middle, px of the view, at most one of bright and one of dark bars. An outline cut
/// by a shadow or a frame lies some way off the ring that the bars end on: they are sought once more along the ring through those found.
pub fn groups_along(luma: &Plane, arc: &Ring, bars: &[Bar]) -> Vec<Group> {
    let again = |g: Group| {
        let own = Ring::through(&g).filter(|_| g.ticks.len() >= FIXED);
        let more = own.and_then(|r| groups_about(&bars_along(luma, &r), r.centre).into_iter().max_by_key(|g| g.ticks.len()));
        more.filter(|m| m.ticks.len() > g.ticks.len()).unwrap_or(g)
    };
    groups_about(bars, arc.centre).into_iter().map(again).collect()
}

/// The bars of the ring about an arc, px of the view.
pub fn bars_along(luma: &Plane, arc: &Ring) -> Vec<Bar> {
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
