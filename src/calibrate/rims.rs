//! Round outlines of a photo, drawn arcs and the rims of dials, and the scales of few marks inside them.
//!
//! Seen from aside the even places of a scale are not even, and three bars and two dots do not tell the view themselves: the rim that lies
//! round them does. So what lies inside an outline is looked at as if that were a circle.
use super::along_arc::Ring;
use super::levels::{Frame, Levels, View};
use crate::photo::Plane;
use crate::register::{Ellipse, outlines};
use crate::tick_detection::{Bar, Clear, Dot, Marks, SparseScale, marks, sparse_scales};
use nalgebra::{Matrix2, Vector2};

/// Round outlines that are followed up, and the radius of the least, px of the picture that they are sought in.
const MOST: usize = 5;
const LEAST: f64 = 24.0;
/// Radius of a rectified rim at most, px.
const RECTIFIED: f64 = 180.0;
/// Ratio of its diameters at most: seen from 60 degrees aside a scale says nothing any more.
const FLATTEST: f64 = 2.0;
/// A view of less than this on a side, px, shows nothing: the middle of an outline may lie far beside the photo.
const LEAST_VIEW: usize = 8;

/// A round outline, and the part of the photo about it.
pub struct Rim {
    /// That part.
    pub view: View,
    /// The outline in it.
    pub ring: Ring,
    /// Its middle, photo px.
    pub centre: Vector2<f64>,
    /// Its radius, photo px.
    pub radius: f64,
}

/// The clearest round outlines of a part of the photo (left, top, width and height) halved so often.
pub fn rims(levels: &Levels, [left, top, width, height]: [usize; 4], halvings: u32) -> Vec<Rim> {
    let plane = levels.part(halvings, [left, top, width, height].map(|v| v >> halvings));
    let frame = Frame::of(halvings, [left >> halvings, top >> halvings]);
    let whole = |e: &Ellipse| e.radius() < plane.width.max(plane.height) as f64;
    let rim = |ellipse: Ellipse| {
        let (centre, radius) = (frame.back(ellipse.centre), ellipse.radius() * frame.step);
        let view = levels.about(centre, radius);
        let ring = Ring::of(&ellipse, view.frame.to(centre), frame.step / view.frame.step);
        (view.luma.width.min(view.luma.height) >= LEAST_VIEW).then_some(Rim { view, ring, centre, radius })
    };
    outlines(&plane, LEAST, MOST).into_iter().filter(whole).filter_map(rim).collect()
}

impl Rim {
    /// Scales of few marks inside it, photo px: sought as if it were seen straight on.
    pub fn scales(&self) -> Vec<SparseScale> {
        // a symmetric matrix has its diameters for singular values
        let diameters = self.ring.shape.symmetric_eigenvalues().abs();
        if diameters.max() > FLATTEST * diameters.min() {
            return Vec::new();
        }
        let straight = Straight::of(self);
        let (found, size) = straight.marks();
        let whole = sparse_scales(&found, size).into_iter().filter(|s| straight.holds(s));
        whole.map(|s| self.view.frame.scale_back(&straight.back(&s))).collect()
    }
}

/// A rim as if it were seen straight on: the map of its picture to the view.
struct Straight<'a> {
    view: &'a Plane,
    to_view: Matrix2<f64>,
    centre: Vector2<f64>,
    radius: f64,
    /// px of the view to one of its own.
    step: f64,
}

impl<'a> Straight<'a> {
    fn of(rim: &'a Rim) -> Self {
        let radius = rim.ring.radius().min(RECTIFIED);
        let step = rim.ring.radius() / radius;
        Self { view: &rim.view.luma, to_view: rim.ring.shape / radius, centre: rim.ring.centre, radius, step }
    }
    fn side(&self) -> usize {
        2 * self.radius.ceil() as usize + 1
    }
    fn off_middle(&self, p: Vector2<f64>) -> Vector2<f64> {
        p - Vector2::repeat(self.radius.ceil())
    }
    fn at(&self, p: Vector2<f64>) -> Vector2<f64> {
        self.centre + self.to_view * self.off_middle(p)
    }
    /// What may be marks, and the size of its picture.
    fn marks(&self) -> (Marks, (usize, usize)) {
        let size = (self.side(), self.side());
        let picture = Plane::from_fn(size.0, size.1, |x, y| {
            let p = self.at(Vector2::new(x as f64, y as f64));
            self.view.clamped(p.x, p.y)
        });
        (marks(size, &|[x, y, w, h]| picture.crop(x, y, w, h), Clear::ANYWHERE), size)
    }
    /// Whether all of a scale lies inside the rim and the view.
    fn holds(&self, scale: &SparseScale) -> bool {
        scale.centres().all(|c| {
            let p = self.at(c);
            self.off_middle(c).norm() < self.radius && self.view.holds(p.x, p.y)
        })
    }
    /// A scale in the view.
    fn back(&self, scale: &SparseScale) -> SparseScale {
        let dot = |d: &Dot| Dot { centre: self.at(d.centre), diameter: d.diameter * self.step, ..*d };
        let bar = |b: &Bar| {
            let along = self.to_view * b.along;
            let (length, width) = (b.length * along.norm(), b.width * self.step);
            Bar { centre: self.at(b.centre), along: along.normalize(), length, width, ..*b }
        };
        SparseScale {
            pivot: self.at(scale.pivot),
            radius: scale.radius * self.step,
            bars: scale.bars.iter().map(bar).collect(),
            dots: scale.dots.iter().map(dot).collect(),
            shape: self.to_view / self.step,
            ..*scale
        }
    }
}
