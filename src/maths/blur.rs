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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::homography::StraightPoint;
    use crate::maths::point::{DialPoint, PhotoPoint};
    use nalgebra::Vector2;

    fn near(a: [f64; 3], b: [f64; 3]) -> bool {
        a.iter().zip(b).all(|(x, y)| (x - y).abs() < 1e-12 * (1.0 + y.abs()))
    }

    /// σ² along a direction becomes (k σ)² along the turned one, and nothing across it.
    #[test]
    fn a_turn_and_a_scale_carry_a_streak_with_them() {
        let (angle, sigma, k) = (0.4_f64, 0.03, 120.0);
        let streak = |angle: f64, sigma: f64| {
            let u = Vector2::new(angle.cos(), angle.sin()) * sigma;
            [u.x * u.x, u.x * u.y, u.y * u.y]
        };
        let [xx, xy, yy] = streak(angle, sigma);
        let blur = BlurCovariance::<DialPoint>::new(xx, xy, yy);
        let turn = 0.9_f64;
        let jacobian = k * Matrix2::new(turn.cos(), -turn.sin(), turn.sin(), turn.cos());
        let there: BlurCovariance<PhotoPoint> = blur.carried(&jacobian);
        assert!(near(there.entries(), streak(angle + turn, k * sigma)), "{there:?}");
        let (large, small, at) = there.principal();
        assert!((large - (k * sigma).powi(2)).abs() < 1e-9 && small < 1e-9 && (at - angle - turn).abs() < 1e-9);
        // y up to y down: the angle is mirrored
        let down: BlurCovariance<StraightPoint> = blur.carried(&Matrix2::new(k, 0.0, 0.0, -k));
        assert!(near(down.entries(), streak(-angle, k * sigma)), "{down:?}");
        let back: BlurCovariance<DialPoint> = down.carried(&Matrix2::new(1.0 / k, 0.0, 0.0, -1.0 / k));
        assert!(near(back.entries(), [xx, xy, yy]));
    }

    #[test]
    fn sums_deviations_and_bounds() {
        let blur = BlurCovariance::<DialPoint>::new(5.0, 2.0, 3.0);
        assert_eq!((blur - BlurCovariance::round(1.0)).entries(), [4.0, 2.0, 2.0]);
        assert_eq!((blur + BlurCovariance::round(1.0)).entries(), [6.0, 2.0, 4.0]);
        assert_eq!(blur.standard_deviation(), 2.0);
        assert_eq!(BlurCovariance::<DialPoint>::round(-1.0).standard_deviation(), 0.0);
        assert!(near(blur.clamped(36.0).unwrap().entries(), blur.entries()));
        // variances 49 and -9 along the diagonals
        let odd = BlurCovariance::<DialPoint>::new(20.0, 29.0, 20.0).clamped(36.0).unwrap();
        assert!(near(odd.entries(), [18.0, 18.0, 18.0]), "{odd:?}");
        assert!(BlurCovariance::<DialPoint>::new(1.0, f64::NAN, 1.0).clamped(36.0).is_none());
    }
}
