//! A line through points of the plane: weighted total least squares (the sum of squared perpendicular distances is least).
//!
//! The line runs through the weighted centroid along the principal axis of the scatter (Pearson 1901). Angle and offset at
//! the centroid are independent to first order; at any other origin the lever arm correlates them. Lengths are in the
//! caller's unit, angles in radians from the x axis towards the y axis.
use super::solve::Noise;
use nalgebra::{Matrix2, Vector2};
use thiserror::Error;

/// Why no line can be fitted.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum LineError {
    /// Fewer than two points with a weight.
    #[error("a line needs at least 2 points, got {0}")]
    TooFew(usize),
    /// The lists differ in length.
    #[error("{points} points but {other} weights, values or sigmas: each point needs one")]
    Lengths {
        /// Number of points.
        points: usize,
        /// Length of the list that differs.
        other: usize,
    },
    /// A number is not finite, or a weight or sigma is negative (or both sigmas are zero).
    #[error("point {0} holds a number that is not finite, or a bad weight or sigma")]
    NotFinite(usize),
    /// The points fix no direction.
    #[error("the points coincide or spread alike in all directions: they fix no line")]
    Degenerate,
    /// The iteration did not settle (a line close to vertical, or contradictory sigmas).
    #[error("the slope did not settle: the line may be too steep for y = a + b x")]
    NotSettled,
}

/// A fitted line with its uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct LineFit {
    /// Weighted mean of the points: the line runs through it.
    pub centroid: Vector2<f64>,
    /// Unit vector along the line, x positive (y positive when x is zero). Which end is which is the caller's business.
    pub direction: Vector2<f64>,
    /// Signed distance of each point, also those of weight zero, along [`Self::normal`].
    pub residuals: Vec<f64>,
    /// Weighted sum of squared distances.
    pub rss: f64,
    /// Degrees of freedom: points with a weight, less two.
    pub dof: usize,
    /// Variances of (angle, offset) at the centroid, where they are uncorrelated.
    variances: Option<(f64, f64)>,
}

impl LineFit {
    /// Fits a line; `weights` multiply the squared distances (1 when `None`; zero leaves a point out), `noise` is the one
    /// sigma of a point of weight 1 across the line.
    ///
    /// var(angle) = σ² λ₁ / (λ₁ - λ₂)², var(offset at the centroid) = σ² / Σw, where λ₁ and λ₂ = rss are the weighted scatter
    /// along and across the line (asymptotic variance of a principal axis; for λ₂ much less than λ₁ it is the σ²/Σwt² of a
    /// regression).
    /// Counts: independent noise of the points. Does not count: a bend, a common shift, wrong points.
    ///
    /// # Errors
    /// [`LineError`]: fewer than two points, lists of different length, not finite, no direction.
    pub fn new(points: &[Vector2<f64>], weights: Option<&[f64]>, noise: Noise) -> Result<Self, LineError> {
        let count = weights.map_or(points.len(), <[f64]>::len);
        if points.len() != count {
            return Err(LineError::Lengths { points: points.len(), other: count });
        }
        let weight = |i: usize| weights.map_or(1.0, |w| w[i]);
        let good = |i: usize| points[i].iter().all(|e| e.is_finite()) && weight(i).is_finite() && weight(i) >= 0.0;
        if let Some(bad) = (0..count).find(|&i| !good(i)) {
            return Err(LineError::NotFinite(bad));
        }
        let used = (0..count).filter(|&i| weight(i) > 0.0).count();
        if used < 2 {
            return Err(LineError::TooFew(used));
        }
        let total: f64 = (0..count).map(weight).sum();
        let centroid = (0..count).map(|i| points[i] * (weight(i) / total)).sum::<Vector2<f64>>();
        let scatter = (0..count).fold(Matrix2::zeros(), |s, i| {
            let d = points[i] - centroid;
            s + d * d.transpose() * weight(i)
        });
        let angle = 0.5 * (2.0 * scatter[(0, 1)]).atan2(scatter[(0, 0)] - scatter[(1, 1)]);
        let direction = Vector2::new(angle.cos(), angle.sin());
        let normal = Vector2::new(-direction.y, direction.x);
        let residuals: Vec<f64> = points.iter().map(|p| normal.dot(&(p - centroid))).collect();
        let rss = (0..count).map(|i| weight(i) * residuals[i].powi(2)).sum::<f64>();
        let along = (0..count).map(|i| weight(i) * direction.dot(&(points[i] - centroid)).powi(2)).sum::<f64>();
        let contrast = along - rss;
        if contrast.is_nan() || along.is_infinite() || contrast <= 1e-12 * along || total.is_infinite() {
            return Err(LineError::Degenerate);
        }
        let dof = used - 2;
        let variances = noise.unit_variance(rss, dof).map(|v| (v * along / contrast.powi(2), v / total));
        Ok(Self { centroid, direction, residuals, rss, dof, variances })
    }
    /// Angle of the line from the x axis towards the y axis, radians in (-π/2, π/2].
    pub fn angle(&self) -> f64 {
        self.direction.y.atan2(self.direction.x)
    }
    /// Unit vector across the line: the direction turned by a quarter from x towards y.
    pub fn normal(&self) -> Vector2<f64> {
        Vector2::new(-self.direction.y, self.direction.x)
    }
    /// Signed distance of the line from `origin`, along the normal.
    pub fn offset(&self, origin: Vector2<f64>) -> f64 {
        self.normal().dot(&(self.centroid - origin))
    }
    /// Covariance of (angle in radians, offset from `origin`). `None` when the noise should come from the scatter of two
    /// points. With t the distance along the line from `origin` to the centroid: var(offset) = v + t² var(angle),
    /// cov = -t var(angle).
    pub fn covariance(&self, origin: Vector2<f64>) -> Option<Matrix2<f64>> {
        let t = self.direction.dot(&(self.centroid - origin));
        self.variances.map(|(angle, offset)| Matrix2::new(angle, -t * angle, -t * angle, offset + t * t * angle))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_that_fix_no_line() {
        let p = |x: f64, y: f64| Vector2::new(x, y);
        let fit = |points: &[Vector2<f64>]| LineFit::new(points, None, Noise::FromScatter).unwrap_err();
        assert_eq!(fit(&[p(0.0, 0.0)]), LineError::TooFew(1));
        assert_eq!(fit(&[p(2.0, 1.0), p(2.0, 1.0)]), LineError::Degenerate);
        assert_eq!(fit(&[p(0.0, 0.0), p(1.0, 0.0), p(1.0, 1.0), p(0.0, 1.0)]), LineError::Degenerate);
        assert_eq!(fit(&[p(0.0, 0.0), p(f64::NAN, 1.0)]), LineError::NotFinite(1));
        let weights = LineFit::new(&[p(0.0, 0.0), p(1.0, 1.0)], Some(&[1.0]), Noise::FromScatter);
        assert_eq!(weights, Err(LineError::Lengths { points: 2, other: 1 }));
    }

    #[test]
    fn vertical_line_and_offset_sign() {
        let points = [Vector2::new(3.0, -1.0), Vector2::new(3.0, 5.0), Vector2::new(3.0, 2.0)];
        let fit = LineFit::new(&points, None, Noise::Sigma(0.1)).unwrap();
        assert!((fit.angle().abs() - std::f64::consts::FRAC_PI_2).abs() < 1e-12);
        assert!((fit.offset(Vector2::zeros()).abs() - 3.0).abs() < 1e-12);
        assert!((fit.offset(Vector2::new(3.0, 77.0))).abs() < 1e-12);
        let moved = fit.centroid - fit.normal() * fit.offset(Vector2::zeros());
        assert!(fit.normal().dot(&moved).abs() < 1e-12);
    }
}
