//! The blur of a picture as a covariance in a named plane, so that none in dial units (y up) is taken for one in px (y down).
use nalgebra::Matrix2;
use std::marker::PhantomData;
use std::ops::{Add, Div, Sub};

/// Covariance of a Gaussian blur in the plane of `P`, its unit squared, along its own axes; or what one blur has beyond another, which may
/// be negative in some direction.
#[derive(Debug, PartialEq)]
pub struct BlurCovariance<P> {
    matrix: Matrix2<f64>,
    plane: PhantomData<fn() -> P>,
}

impl<P> BlurCovariance<P> {
    /// From its entries.
    pub fn new(xx: f64, xy: f64, yy: f64) -> Self {
        Self::of(Matrix2::new(xx, xy, xy, yy))
    }
    /// The same in all directions.
    pub fn round(variance: f64) -> Self {
        Self::of(Matrix2::identity() * variance)
    }
    #[inline(always)]
    fn of(matrix: Matrix2<f64>) -> Self {
        Self { matrix, plane: PhantomData }
    }
    /// xx, xy and yy.
    #[inline(always)]
    pub fn entries(&self) -> [f64; 3] {
        [self.matrix.m11, self.matrix.m12, self.matrix.m22]
    }
    /// The same blur in another plane: J C Jᵀ. `jacobian`: derivative of the map from this plane to that one, where the blur is.
    #[inline(always)]
    pub fn carried<Q>(&self, jacobian: &Matrix2<f64>) -> BlurCovariance<Q> {
        BlurCovariance::of(jacobian * self.matrix * jacobian.transpose())
    }
    /// Sum of the variances of two directions at right angles, any two.
    pub fn trace(&self) -> f64 {
        self.matrix.trace()
    }
    /// Standard deviation, the mean of all directions: √(½ trace); 0 for a negative one.
    pub fn standard_deviation(&self) -> f64 {
        (0.5 * self.trace()).max(0.0).sqrt()
    }
    /// Largest and smallest variance, not below 0, and the angle of the largest from x to y, radians.
    pub fn principal(&self) -> (f64, f64, f64) {
        let [a, b, c] = self.entries();
        let mean = 0.5 * (a + c);
        let diff = (0.25 * (a - c) * (a - c) + b * b).sqrt();
        ((mean + diff).max(0.0), (mean - diff).max(0.0), 0.5 * (2.0 * b).atan2(a - c))
    }
    /// The nearest one whose variances lie between 0 and `most` in every direction; `None` where an entry is no number.
    pub fn clamped(&self, most: f64) -> Option<Self> {
        if self.matrix.iter().any(|v| !v.is_finite()) {
            return None;
        }
        let e = self.matrix.symmetric_eigen();
        let d = Matrix2::from_diagonal(&e.eigenvalues.map(|v| v.clamp(0.0, most)));
        let c = e.eigenvectors * d * e.eigenvectors.transpose();
        Some(Self::new(c.m11, c.m12, c.m22))
    }
}

impl<P> Add for BlurCovariance<P> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Self::of(self.matrix + other.matrix)
    }
}

impl<P> Sub for BlurCovariance<P> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        Self::of(self.matrix - other.matrix)
    }
}

/// The same with all variances so many times smaller.
impl<P> Div<f64> for BlurCovariance<P> {
    type Output = Self;
    fn div(self, by: f64) -> Self {
        Self::of(self.matrix / by)
    }
}

impl<P> Clone for BlurCovariance<P> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<P> Copy for BlurCovariance<P> {}
