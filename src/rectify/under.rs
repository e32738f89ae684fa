//! The reference face without its needle under a strip of the photo, along an axis of colour.
use super::paint::{along_axis, covered, mixed, paint_over};
use crate::dial::NeedleLook;
use crate::maths::homography::{Homography, WorkPoint};
use crate::maths::point::{DialPoint, PhotoPoint};
use crate::photo::{Plane, warped};
use crate::register::face::{FaceModel, NeedlePlace};
use crate::register::template::blurred;
use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

/// px per unit above which nothing is gained on the needle's edges.
const FINEST: f64 = 300.0;

/// The reference picture, and what must be known to take its needle off.
#[derive(Clone, Debug)]
pub(super) struct FineReference {
    /// Red, green, blue.
    planes: [Plane; 3],
    /// Dial plane to px of them.
    homography: Homography<DialPoint, PhotoPoint>,
    covering: NeedleLook,
    /// Angle and offset of the reference's needle.
    needle: (f64, f64),
    /// Colour of the paper by radius, steps of 0.01.
    paper: Vec<[f32; 3]>,
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

impl FineReference {
    pub fn new(face: &FaceModel, paper: &[[f32; 3]]) -> Self {
        let dial = &face.dial;
        let k = dial.face.scale.min(FINEST);
        let (planes, map) = face.soft_colours(k);
        Self {
            planes,
            homography: Homography::new(map * dial.face.plane),
            covering: face.covering().clone(),
            needle: (dial.needle.angle, dial.needle.offset),
            paper: paper.to_vec(),
            k,
            own_blur: face.resampling_blur(k),
        }
    }
    /// The reference within the rectangle of these dial points (given round it), blurred by a covariance (dial units², x right, y up:
    /// xx, xy, yy) against the reference picture; its colours weighted by `axis`.
    pub fn strip(&self, [xx, xy, yy]: [f64; 3], corners: &[Vector2<f64>; 4], axis: &Vector3<f64>) -> Strip {
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
        let grid = Homography::<WorkPoint, DialPoint>::new(Matrix3::new(a.x, b.x, origin.x, a.y, b.y, origin.y, 0.0, 0.0, 1.0));
        let colours = warped(self.planes.each_ref(), &(self.homography * grid), size(length), size(height));
        let mut plane = mixed(axis, colours.each_ref());
        let needle = NeedlePlace::new(&self.covering, self.needle.0, self.needle.1);
        let covered = covered((plane.width, plane.height), &needle, |i, j| {
            let p = grid.matrix() * Vector3::new(i as f64, j as f64, 1.0);
            (p.x, p.y)
        });
        paint_over(&mut plane, &covered, |step| along_axis(axis, self.paper[step]));
        Strip { k: self.k, origin, along, across, plane: blurred(&plane, [c[(0, 0)], c[(0, 1)], c[(1, 1)]]) }
    }
}

impl Strip {
    /// The level at a dial point; the border's beyond the strip.
    pub fn at(&self, x: f64, y: f64) -> f32 {
        let d = Vector2::new(x, y) - self.origin;
        self.plane.clamped(self.k * d.dot(&self.along), self.k * d.dot(&self.across))
    }
}
