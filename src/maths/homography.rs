//! Projective maps between named planes, so that none is applied to the points of another. A plane is named by the type of its points.
use super::point::{DialPoint, PhotoPoint};
use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};
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

/// A point of the picture of its face that a dial keeps: px, the corner of this part of the reference photo being (0, 0).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FacePoint;

/// A point of a picture of the dial's plane seen straight on: px, x right, y down, the pivot in the middle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StraightPoint;

/// A point of a picture from which was taken what would alias on a coarser grid: its px, of the size before or twice that.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SoftPoint;

/// A point of a further photo beside the one that is called the photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ViewPoint;

/// Where a dial's plane lies in a photo.
pub type PlaneInPhoto = Homography<DialPoint, PhotoPoint>;

/// Where a dial's plane lies in a working picture, and the way back.
pub type PlaneInWork = Homography<DialPoint, WorkPoint>;
/// See [`PlaneInWork`].
pub type WorkToPlane = Homography<WorkPoint, DialPoint>;

/// Where a dial's plane lies in the picture of its face.
pub type PlaneInFace = Homography<DialPoint, FacePoint>;

impl<A, B> Homography<A, B> {
    /// From its matrix, which is applied to columns (x, y, 1).
    pub fn new(matrix: Matrix3<f64>) -> Self {
        Self { matrix, planes: PhantomData }
    }
    /// A shift by (x, y) after a change of size.
    pub fn scaled(by: f64, shift: Vector2<f64>) -> Self {
        Self::affine(Matrix2::new(by, 0.0, 0.0, by), shift)
    }
    /// A shift of px by whole or other numbers of them.
    pub fn shifted(x: f64, y: f64) -> Self {
        Self::scaled(1.0, Vector2::new(x, y))
    }
    /// A linear map, then a shift.
    pub fn affine(a: Matrix2<f64>, shift: Vector2<f64>) -> Self {
        Self::new(Matrix3::new(a.m11, a.m12, shift.x, a.m21, a.m22, shift.y, 0.0, 0.0, 1.0))
    }
    /// px of a picture to px of the same averaged down by 2 x 2 so many times (pixel centres at integers).
    pub fn halved(times: usize) -> Self {
        let f = (1u64 << times) as f64;
        Self::scaled(1.0 / f, Vector2::repeat(0.5 / f - 0.5))
    }
    /// Coordinates as they are.
    pub fn identity() -> Self {
        Self::new(Matrix3::identity())
    }
    /// From its matrix row by row.
    pub fn from_rows([[a, b, c], [d, e, f], [g, h, i]]: [[f64; 3]; 3]) -> Self {
        Self::new(Matrix3::new(a, b, c, d, e, f, g, h, i))
    }
    /// The matrix row by row.
    pub fn rows(&self) -> [[f64; 3]; 3] {
        self.matrix.transpose().into()
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
        let h = &self.matrix;
        let w = h[(2, 0)] * x + h[(2, 1)] * y + h[(2, 2)];
        Vector2::new((h[(0, 0)] * x + h[(0, 1)] * y + h[(0, 2)]) / w, (h[(1, 0)] * x + h[(1, 1)] * y + h[(1, 2)]) / w)
    }
    /// The same for a plane before a camera: `None` for what lies behind it. Before it lies the origin, so the third coordinate of all that is
    /// seen has its sign.
    pub fn seen_at(&self, x: f64, y: f64) -> Option<[f64; 2]> {
        let p = self.matrix * Vector3::new(x, y, 1.0);
        let side = self.matrix[(2, 2)];
        let seen = p.z * side > 1e-9 * side * side && p.iter().all(|v| v.is_finite());
        seen.then(|| [p.x / p.z, p.y / p.z])
    }
    /// The box (left, top, right, bottom) round the image of a circle about the origin, by so many of its points; it holds what is infinite.
    pub fn box_of_circle(&self, radius: f64, points: u32) -> [f64; 4] {
        let turn = |i: u32| (f64::from(i) * std::f64::consts::PI / (0.5 * f64::from(points))).sin_cos();
        let places = (0..points).map(turn).map(|(s, c)| self.at(radius * s, radius * c));
        places.fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |[l, t, r, b], q| [l.min(q.x), t.min(q.y), r.max(q.x), b.max(q.y)])
    }
    /// Largest and smallest local scale at the origin (px per unit) and the signed area factor (negative where y up meets y down).
    pub fn local_scale(&self) -> (f64, f64, f64) {
        let e = 1e-4;
        let o = self.at(0.0, 0.0);
        let (a, b) = ((self.at(e, 0.0) - o) / e, (self.at(0.0, e) - o) / e);
        let j = Matrix2::from_columns(&[a, b]);
        let s = j.singular_values();
        (s[0], s[1], j.determinant())
    }
    /// Geometric mean of the two local scales at the origin.
    pub fn mean_scale(&self) -> f64 {
        let (a, b, _) = self.local_scale();
        (a * b).sqrt()
    }
    /// The same map with 1 as its last entry.
    pub fn normalised(&self) -> Self {
        Self::new(self.matrix / self.matrix[(2, 2)])
    }
    /// The same numbers where another picture stands for that of `B`: a further photo is the photo for the while.
    pub fn onto<C>(&self) -> Homography<A, C> {
        Homography::new(self.matrix)
    }
}

/// Maps near the identity, as 1 + D.
impl<A> Homography<A, A> {
    /// From the eight parameters of D, row by row; its ninth entry is 0.
    pub fn small(d: [f64; 8]) -> Self {
        Self::new(Matrix3::new(1.0 + d[0], d[1], d[2], d[3], 1.0 + d[4], d[5], d[6], d[7], 1.0))
    }
    /// The eight parameters of D.
    pub fn parameters(&self) -> [f64; 8] {
        let d = self.normalised().matrix;
        [d.m11 - 1.0, d.m12, d.m13, d.m21, d.m22 - 1.0, d.m23, d.m31, d.m32]
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
