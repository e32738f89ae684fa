//! The reference face without its needle under a strip of the photo, along the needle's colour axis.
use super::bare::{STEPS, along_axis};
use crate::dial::{Face, NeedleLook};
use crate::photo::Plane;
use crate::register::face::{FaceModel, NeedlePlace, sampled};
use crate::register::template::blurred;
use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

/// px per unit above which nothing is gained on the needle's edges.
const FINEST: f64 = 300.0;
/// The reference's needle is painted over this far round it, units.
pub(super) const ROUND: f64 = 0.022;

/// The reference picture along the needle's colour axis, and what must be known to take its needle off.
#[derive(Clone, Debug)]
pub(super) struct Source {
    plane: Plane,
    /// Where the picture lies; its pixels are not needed.
    face: Face,
    covering: NeedleLook,
    /// Angle and offset of the reference's needle.
    needle: (f64, f64),
    /// Level of the paper by radius, steps of 0.01.
    paper: Vec<f32>,
    k: f64,
    /// Blur that sampling puts in, px².
    own_blur: f64,
}

/// A strip of the reference: px along it and across it.
#[derive(Clone, Debug)]
pub(super) struct Strip {
    k: f64,
    /// Dial point of px (0, 0).
    origin: Vector2<f64>,
    along: Vector2<f64>,
    across: Vector2<f64>,
    plane: Plane,
}

impl Source {
    pub fn new(face: &FaceModel, axis: &Vector3<f64>, paper: &[[f32; 3]]) -> Self {
        let dial = &face.dial;
        let k = dial.face.scale.min(FINEST);
        Self {
            plane: face.mixed([0, 1, 2].map(|c| axis[c] as f32)),
            face: Face { rgb: Vec::new(), jpeg: Vec::new(), ..dial.face.clone() },
            covering: face.covering().clone(),
            needle: (dial.needle.angle, dial.needle.offset),
            paper: paper.iter().map(|p| along_axis(axis, *p)).collect(),
            k,
            own_blur: face.resampling_blur(k),
        }
    }
    /// The reference within the rectangle of these dial points (given round it), blurred by a covariance (dial units², x right, y up:
    /// xx, xy, yy) against the reference picture.
    pub fn strip(&self, [xx, xy, yy]: [f64; 3], corners: &[Vector2<f64>; 4]) -> Strip {
        let (length, height) = ((corners[1] - corners[0]).norm(), (corners[3] - corners[0]).norm());
        let (along, across) = ((corners[1] - corners[0]) / length, (corners[3] - corners[0]) / height);
        let turn = Matrix2::from_rows(&[along.transpose(), across.transpose()]);
        let c = turn * Matrix2::new(xx, xy, xy, yy) * turn.transpose() * (self.k * self.k) - Matrix2::identity() * self.own_blur;
        // beyond its ends as far as the blur looks
        let room = (3.0 * (c[(0, 0)] + c[(1, 1)]).max(0.0).sqrt() + 4.0).ceil();
        let origin = corners[0] - (along + across) * (room / self.k);
        let size = |units: f64| (units * self.k + 2.0 * room).ceil() as usize + 1;
        let step = |v: Vector2<f64>| v / self.k;
        let (a, b) = (step(along), step(across));
        let grid = Matrix3::new(a.x, b.x, origin.x, a.y, b.y, origin.y, 0.0, 0.0, 1.0);
        let [plane] = sampled([&self.plane], &self.face, self.k, &grid, (size(length), size(height)));
        let bare = self.without_needle(plane, &grid);
        Strip { k: self.k, origin, along, across, plane: blurred(&bare, [c[(0, 0)], c[(0, 1)], c[(1, 1)]]) }
    }
    /// Paints the reference needle's place with paper, softly at its edge.
    fn without_needle(&self, mut plane: Plane, grid: &Matrix3<f64>) -> Plane {
        let needle = NeedlePlace::new(&self.covering, self.needle.0, self.needle.1);
        let place = |i: usize, j: usize| {
            let (u, v) = (i as f64, j as f64);
            (grid[(0, 0)] * u + grid[(0, 1)] * v + grid[(0, 2)], grid[(1, 0)] * u + grid[(1, 1)] * v + grid[(1, 2)])
        };
        let cover = Plane::from_fn(plane.width, plane.height, |i, j| {
            let (x, y) = place(i, j);
            f32::from(u8::from(needle.covers(x, y, ROUND)))
        });
        let width = plane.width;
        for (o, &c) in cover.gaussian(0.8).data.iter().enumerate().filter(|(_, c)| **c > 0.0) {
            let (x, y) = place(o % width, o / width);
            let paper = self.paper[((x.hypot(y) * 100.0) as usize).min(STEPS - 1)];
            let v = &mut plane.data[o];
            *v = *v * (1.0 - c) + paper * c;
        }
        plane
    }
}

impl Strip {
    /// The level at a dial point; the border's beyond the strip.
    pub fn at(&self, x: f64, y: f64) -> f32 {
        let d = Vector2::new(x, y) - self.origin;
        self.plane.clamped(self.k * d.dot(&self.along), self.k * d.dot(&self.across))
    }
}
