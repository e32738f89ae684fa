//! The reference as a photo would show it: softened against aliasing, resampled to a grid on the dial's plane, blurred as the photo is.
use crate::maths::blur::BlurCovariance;
use crate::maths::homography::{Homography, PlaneInFace, SoftPoint, StraightPoint};
use crate::maths::point::DialPoint;
use crate::photo::{Buffer, Plane, warped};
use nalgebra::{Matrix2, Vector2};
use std::borrow::Cow;
use std::marker::PhantomData;

/// A straight-on picture of the dial plane: `k` px per unit, pivot at the centre, y down.
#[derive(Clone, Debug)]
pub struct Canonical {
    /// px per unit.
    pub k: f64,
    /// The picture (square).
    pub plane: Plane,
    /// Variance of the blur that resampling the reference to it has put in, px².
    own_blur: f64,
}

/// Derivative of straight-on px by dial units, at one px per unit: y down for y up.
const UPRIGHT: Matrix2<f64> = Matrix2::new(1.0, 0.0, 0.0, -1.0);

impl Canonical {
    /// An empty one out to `extent` units.
    pub fn blank(k: f64, extent: f64) -> Self {
        let n = side(k, extent);
        Self { k, plane: Plane { width: n, height: n, data: Buffer::zeroed(n * n) }, own_blur: 0.0 }
    }
    /// Centre pixel coordinate.
    #[inline]
    pub fn centre(&self) -> f64 {
        (self.plane.width as f64 - 1.0) / 2.0
    }
    /// Dial point to canonical px.
    #[inline]
    pub fn px(&self, x: f64, y: f64) -> (f64, f64) {
        (self.centre() + self.k * x, self.centre() - self.k * y)
    }
    /// Canonical px to dial point.
    pub fn dial(&self, i: usize, j: usize) -> (f64, f64) {
        ((i as f64 - self.centre()) / self.k, (self.centre() - j as f64) / self.k)
    }
    /// Its px to dial points.
    pub fn to_dial(&self) -> Homography<StraightPoint, DialPoint> {
        straight_to_dial(self.k, self.plane.width)
    }
    /// What this picture of the reference lacks of a photo's blur against the reference picture.
    pub fn lacking(&self, photo: &BlurCovariance<DialPoint>) -> BlurCovariance<StraightPoint> {
        lacking(photo, &(UPRIGHT * self.k), self.own_blur)
    }
    /// The photo's blur against the reference picture, where this picture lacks so much of it.
    pub fn in_photo(&self, lacking: &BlurCovariance<StraightPoint>) -> BlurCovariance<DialPoint> {
        (*lacking + BlurCovariance::round(self.own_blur)).carried(&UPRIGHT) / (self.k * self.k)
    }
    /// The reference as a photo of this blur shows it, both smoothed by a Gaussian of variance `smoothed` (px²).
    pub fn shown(&self, photo: &BlurCovariance<DialPoint>, smoothed: f64) -> Self {
        let blur = self.lacking(photo) + BlurCovariance::round(smoothed);
        Self { k: self.k, plane: self.plane.blurred(&blur), own_blur: 0.0 }
    }
}

/// Side of a straight-on picture out to `extent` units, px.
fn side(k: f64, extent: f64) -> usize {
    2 * (k * extent).ceil() as usize + 1
}

/// px of a straight-on picture of `k` px per unit and so many px a side to dial points.
fn straight_to_dial(k: f64, n: usize) -> Homography<StraightPoint, DialPoint> {
    let reach = (n as f64 - 1.0) / 2.0 / k;
    Homography::affine(UPRIGHT / k, Vector2::new(-reach, reach))
}

/// J C Jᵀ of a photo's blur without the variance that a picture has of it already.
fn lacking<P>(photo: &BlurCovariance<DialPoint>, jacobian: &Matrix2<f64>, own: f64) -> BlurCovariance<P> {
    photo.carried(jacobian) - BlurCovariance::round(own)
}

/// Planes of the reference picture without what would alias on a grid of `k` px per unit.
#[derive(Clone, Debug)]
pub struct Softened<'a, const N: usize> {
    planes: [Cow<'a, Plane>; N],
    dial_to_px: Homography<DialPoint, SoftPoint>,
    /// px per unit of the grids.
    pub k: f64,
    own_blur: f64,
}

impl<'a, const N: usize> Softened<'a, N> {
    /// `plane`: where the dial lies in the reference picture, with `scale` px per unit. `full`, `half`: the planes, and the same at half the
    /// size; one of the two is asked for.
    pub fn new(
        plane: &PlaneInFace,
        (scale, k): (f64, f64),
        full: impl Fn(usize) -> Cow<'a, Plane>,
        half: impl Fn(usize) -> Cow<'a, Plane>,
    ) -> Self {
        let planes = std::array::from_fn(|i| softened(|| full(i), || half(i), scale / k));
        Self { planes, dial_to_px: to_soft(scale / k) * *plane, k, own_blur: resampling_blur(scale / k) }
    }
    /// Seen straight on, out to `extent` units.
    pub fn straight_on(&self, extent: f64) -> [Canonical; N] {
        let (k, n) = (self.k, side(self.k, extent));
        self.seen(&straight_to_dial(k, n), [n; 2]).map(|plane| Canonical { k, plane, own_blur: self.own_blur })
    }
    /// Seen on a grid of as many px per unit.
    pub fn on<P>(&self, grid: &Grid<P>) -> [Plane; N] {
        self.seen(&grid.to_dial(), grid.size)
    }
    fn seen<P>(&self, to_dial: &Homography<P, DialPoint>, [width, height]: [usize; 2]) -> [Plane; N] {
        warped(self.planes.each_ref().map(|p| p.as_ref()), &(self.dial_to_px * *to_dial), width, height)
    }
    /// What such a picture on a grid lacks of a photo's blur against the reference picture.
    pub fn lacking<P>(&self, photo: &BlurCovariance<DialPoint>, grid: &Grid<P>) -> BlurCovariance<P> {
        let [a, b] = grid.axes.map(|v| v.transpose());
        lacking(photo, &(Matrix2::from_rows(&[a, b]) * self.k), self.own_blur)
    }
}

/// An even grid of px on the dial's plane.
#[derive(Clone, Debug)]
pub struct Grid<P> {
    k: f64,
    /// Dial point of px (0, 0).
    origin: Vector2<f64>,
    /// Directions of the px along a row and down a column, of length 1.
    axes: [Vector2<f64>; 2],
    /// Width and height, px.
    pub size: [usize; 2],
    plane: PhantomData<fn() -> P>,
}

impl<P> Grid<P> {
    /// Over the rectangle of these dial points (given round it), rows along its first side.
    pub fn over(corners: &[Vector2<f64>; 4], k: f64) -> Self {
        let sides = [corners[1] - corners[0], corners[3] - corners[0]];
        let size = sides.map(|s| (s.norm() * k).ceil() as usize + 1);
        Self { k, origin: corners[0], axes: sides.map(|s| s / s.norm()), size, plane: PhantomData }
    }
    /// The same with so many px more at each side.
    pub fn wider(self, room: usize) -> Self {
        let origin = self.origin - (self.axes[0] + self.axes[1]) * (room as f64 / self.k);
        Self { origin, size: self.size.map(|n| n + 2 * room), ..self }
    }
    /// px to dial points.
    pub fn to_dial(&self) -> Homography<P, DialPoint> {
        let steps = self.axes.map(|v| v / self.k);
        Homography::affine(Matrix2::from_columns(&steps), self.origin)
    }
    /// The px of a dial point.
    #[inline]
    pub fn px(&self, x: f64, y: f64) -> (f64, f64) {
        let d = Vector2::new(x, y) - self.origin;
        (self.k * d.dot(&self.axes[0]), self.k * d.dot(&self.axes[1]))
    }
}

/// From this ratio of two scales on the finer picture is softened for the coarser.
const ALIASES: f64 = 1.15;
/// From this ratio on the mean of 2 x 2 px stands for the picture.
const HALVED: f64 = 2.0;

/// A plane with `ratio` times the px per unit of a grid, without what would alias there. `full`, `half`: the plane, and the same at half the
/// size; one of them is asked for.
pub(super) fn softened<'a>(full: impl FnOnce() -> Cow<'a, Plane>, half: impl FnOnce() -> Cow<'a, Plane>, ratio: f64) -> Cow<'a, Plane> {
    let variance = 0.25 * (ratio * ratio - 1.0);
    if ratio <= ALIASES {
        full()
    } else if ratio < HALVED {
        Cow::Owned(full().gaussian(variance.sqrt()))
    } else {
        // the mean of 2 x 2 px has 1/4 px² of it already, and px of twice the size
        Cow::Owned(half().gaussian(0.5 * (variance - 0.25).sqrt()))
    }
}

/// px of a plane to px of what [`softened`] makes of it.
pub(super) fn to_soft<A>(ratio: f64) -> Homography<A, SoftPoint> {
    Homography::halved(usize::from(ratio >= HALVED))
}

/// Variance of the blur that [`softened`] puts in, px² of the grid.
fn resampling_blur(ratio: f64) -> f64 {
    if ratio > ALIASES { 0.25 * (ratio * ratio - 1.0) / (ratio * ratio) } else { 0.0 }
}
