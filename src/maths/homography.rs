//! Projective maps between named planes, so that none is applied to the points of another. A plane is named by the type of its points.
use super::point::{DialPoint, PhotoPoint};
use nalgebra::{Matrix3, Vector2, Vector3};
use std::marker::PhantomData;
use std::ops::Mul;

/// A map from the plane of `A` to that of `B`, known up to a factor.
#[derive(Debug, PartialEq)]
pub struct Homography<A, B> {
    matrix: Matrix3<f64>,
    planes: PhantomData<fn(A) -> B>,
}

/// A point of a working picture: px of a part of a photo, averaged down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WorkPoint;

/// A point of a further photo beside the one that is called the photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ViewPoint;

/// Where a dial's plane lies in a photo.
pub type PlaneInPhoto = Homography<DialPoint, PhotoPoint>;

impl<A, B> Homography<A, B> {
    /// From its matrix, which is applied to columns (x, y, 1).
    pub fn new(matrix: Matrix3<f64>) -> Self {
        Self { matrix, planes: PhantomData }
    }
    /// A shift by (x, y) after a change of size.
    pub fn scaled(by: f64, shift: Vector2<f64>) -> Self {
        Self::new(Matrix3::new(by, 0.0, shift.x, 0.0, by, shift.y, 0.0, 0.0, 1.0))
    }
    /// The matrix.
    pub fn matrix(&self) -> &Matrix3<f64> {
        &self.matrix
    }
    /// The way back; `None` where the map makes a line of the plane.
    pub fn inverse(&self) -> Option<Homography<B, A>> {
        self.matrix.try_inverse().map(Homography::new)
    }
    /// Where it takes a point.
    pub fn at(&self, x: f64, y: f64) -> Vector2<f64> {
        project(&self.matrix, x, y)
    }
    /// The same for a plane before a camera: `None` for what lies behind it. Before it lies the origin, so the third coordinate of all that is
    /// seen has its sign.
    pub fn seen_at(&self, x: f64, y: f64) -> Option<[f64; 2]> {
        let p = self.matrix * Vector3::new(x, y, 1.0);
        let side = self.matrix[(2, 2)];
        let seen = p.z * side > 1e-9 * side * side && p.iter().all(|v| v.is_finite());
        seen.then(|| [p.x / p.z, p.y / p.z])
    }
    /// Geometric mean of the two local scales at the origin.
    pub fn mean_scale(&self) -> f64 {
        mean_scale(&self.matrix)
    }
}

impl<A, B> Clone for Homography<A, B> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<A, B> Copy for Homography<A, B> {}

/// One map after the other: the right one first, as with matrices.
impl<A, B, C> Mul<Homography<A, B>> for Homography<B, C> {
    type Output = Homography<A, C>;
    fn mul(self, first: Homography<A, B>) -> Homography<A, C> {
        Homography::new(self.matrix * first.matrix)
    }
}

/// Applies a homography.
pub fn project(h: &Matrix3<f64>, x: f64, y: f64) -> Vector2<f64> {
    let w = h[(2, 0)] * x + h[(2, 1)] * y + h[(2, 2)];
    Vector2::new((h[(0, 0)] * x + h[(0, 1)] * y + h[(0, 2)]) / w, (h[(1, 0)] * x + h[(1, 1)] * y + h[(1, 2)]) / w)
}

/// Largest and smallest px per unit at the plane's origin and the signed area factor (negative where y up meets y down).
pub fn local_scale(h: &Matrix3<f64>) -> (f64, f64, f64) {
    let e = 1e-4;
    let o = project(h, 0.0, 0.0);
    let (a, b) = ((project(h, e, 0.0) - o) / e, (project(h, 0.0, e) - o) / e);
    let j = nalgebra::Matrix2::from_columns(&[a, b]);
    let s = j.singular_values();
    (s[0], s[1], j.determinant())
}

/// Geometric mean of the two local scales, px per unit.
pub fn mean_scale(h: &Matrix3<f64>) -> f64 {
    let (a, b, _) = local_scale(h);
    (a * b).sqrt()
}
