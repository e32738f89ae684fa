//! Maps between two planes seen in perspective: u = (h11 x + h12 y + h13) / w, v = (h21 x + h22 y + h23) / w with
//! w = h31 x + h32 y + 1. Units are those of the caller's points. Fitting is in `homography_fit`.
//! Source: Hartley & Zisserman, Multiple View Geometry, 2nd ed. (2004), chapters 2 and 4.
use nalgebra::{Matrix2, Matrix3, SMatrix, SVector, Vector2, Vector3};
use thiserror::Error;

/// Least determinant of a map scaled to unit norm; below it one of the planes is seen edge on (or was crushed to a line).
const LEAST_DETERMINANT: f64 = 1e-12;

/// Why there is no usable homography.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum HomographyError {
    /// Fewer than four points with a weight.
    #[error("a perspective map needs at least 4 point pairs, got {0}")]
    TooFew(usize),
    /// The lists differ in length.
    #[error("{src} source points, {dst} target points and {weights} weights: each pair needs all")]
    Lengths {
        /// Source points.
        src: usize,
        /// Target points.
        dst: usize,
        /// Weights.
        weights: usize,
    },
    /// A coordinate is not finite, or a weight is negative or not finite.
    #[error("point pair {0} holds a number that is not finite, or a bad weight")]
    NotFinite(usize),
    /// The points do not fix the map.
    #[error("the points do not fix a perspective map: points coincide or too many lie on one line; add points off that line")]
    Degenerate,
    /// No camera can see the points so: the horizon of the plane would run between them.
    #[error("the horizon of the plane would run between the points: no view does that; check the order of the points")]
    HorizonBetweenPoints,
    /// The map sends the origin to infinity, so that h33 cannot be 1.
    #[error("the map sends the origin of its source plane to infinity: choose another origin")]
    OriginAtInfinity,
}

/// An invertible perspective map of the plane, scaled so that h33 = 1.
///
/// Guarantee: all entries are finite and the determinant is not zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Homography {
    matrix: Matrix3<f64>,
}

impl Homography {
    /// From any multiple of the matrix.
    ///
    /// # Errors
    /// `Degenerate` when singular or not finite; `OriginAtInfinity` when h33 is zero.
    pub fn from_matrix(matrix: &Matrix3<f64>) -> Result<Self, HomographyError> {
        if !matrix.iter().all(|e| e.is_finite()) {
            return Err(HomographyError::Degenerate);
        }
        // Each row and column brought to its own scale first: pixels against radii must not look like a flat map.
        let balanced = balance(*matrix);
        if balanced.determinant().abs() < LEAST_DETERMINANT {
            return Err(HomographyError::Degenerate);
        }
        let scaled = matrix / matrix[(2, 2)];
        if balanced[(2, 2)].abs() < f64::EPSILON || !scaled.iter().all(|e| e.is_finite()) {
            return Err(HomographyError::OriginAtInfinity);
        }
        Ok(Self { matrix: scaled })
    }
    /// The map that changes nothing.
    pub fn identity() -> Self {
        Self { matrix: Matrix3::identity() }
    }
    /// The matrix, h33 = 1.
    pub fn matrix(&self) -> &Matrix3<f64> {
        &self.matrix
    }
    /// h11, h12, h13, h21, h22, h23, h31, h32: the order of every 8x8 covariance.
    pub fn parameters(&self) -> SVector<f64, 8> {
        SVector::from_fn(|i, _| self.matrix[(i / 3, i % 3)])
    }
    /// The image of a point. Infinite or NaN on the horizon, where [`Self::denominator`] is zero.
    pub fn apply(&self, p: Vector2<f64>) -> Vector2<f64> {
        let q = self.matrix * Vector3::new(p.x, p.y, 1.0);
        Vector2::new(q.x / q.z, q.y / q.z)
    }
    /// w = h31 x + h32 y + 1: zero on the horizon, 1 at the origin, negative beyond the horizon from the origin.
    pub fn denominator(&self, p: Vector2<f64>) -> f64 {
        self.matrix[(2, 0)] * p.x + self.matrix[(2, 1)] * p.y + 1.0
    }
    /// Derivative of the image by the point, [[du/dx, du/dy], [dv/dx, dv/dy]].
    pub fn jacobian(&self, p: Vector2<f64>) -> Matrix2<f64> {
        let (h, w, q) = (&self.matrix, self.denominator(p), self.apply(p));
        Matrix2::from_fn(|i, j| (h[(i, j)] - q[i] * h[(2, j)]) / w)
    }
    /// Derivative of the image by the eight parameters (order of [`Self::parameters`]).
    pub fn parameter_jacobian(&self, p: Vector2<f64>) -> SMatrix<f64, 2, 8> {
        let (w, q) = (self.denominator(p), self.apply(p));
        let (x, y, one) = (p.x / w, p.y / w, 1.0 / w);
        SMatrix::<f64, 2, 8>::from_row_slice(&[
            x,
            y,
            one,
            0.0,
            0.0,
            0.0,
            -q.x * x,
            -q.x * y, //
            0.0,
            0.0,
            0.0,
            x,
            y,
            one,
            -q.y * x,
            -q.y * y,
        ])
    }
    /// The map back.
    ///
    /// # Errors
    /// `OriginAtInfinity` when the origin of the target plane lies on the horizon.
    pub fn inverse(&self) -> Result<Self, HomographyError> {
        let inverse = self.matrix.try_inverse().ok_or(HomographyError::Degenerate)?;
        Self::from_matrix(&inverse)
    }
    /// First this map, then `next`.
    ///
    /// # Errors
    /// `OriginAtInfinity` when this map sends the origin onto the horizon of `next`.
    pub fn then(&self, next: &Self) -> Result<Self, HomographyError> {
        Self::from_matrix(&(next.matrix * self.matrix))
    }
}

/// Rows and columns scaled to comparable size, norm about 1: scaling coordinates does not change whether a map is flat.
fn balance(mut m: Matrix3<f64>) -> Matrix3<f64> {
    for _ in 0..4 {
        for i in 0..3 {
            let row = m.row(i).norm();
            if row > 0.0 {
                m.row_mut(i).unscale_mut(row);
            }
        }
        for j in 0..3 {
            let column = m.column(j).norm();
            if column > 0.0 {
                m.column_mut(j).unscale_mut(column);
            }
        }
    }
    m
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn singular_and_unscalable_matrices_are_refused() {
        let flat = Matrix3::new(1.0, 2.0, 3.0, 2.0, 4.0, 6.0, 0.0, 0.0, 1.0);
        assert_eq!(Homography::from_matrix(&flat), Err(HomographyError::Degenerate));
        let away = Matrix3::new(1.0, 0.0, 0.0, 0.0, 1.0, 1.0, 0.0, 1.0, 0.0);
        assert_eq!(Homography::from_matrix(&away), Err(HomographyError::OriginAtInfinity));
        assert_eq!(Homography::from_matrix(&Matrix3::from_element(f64::NAN)), Err(HomographyError::Degenerate));
        assert_eq!(Homography::from_matrix(&Matrix3::zeros()), Err(HomographyError::Degenerate));
    }

    #[test]
    fn very_different_units_are_not_degenerate() {
        let radii_to_pixels = Matrix3::new(900.0, 3.0, 2016.0, 5.0, -880.0, 1512.0, 0.01, 0.02, 1.0);
        let there = Homography::from_matrix(&radii_to_pixels).unwrap();
        let back = there.inverse().unwrap();
        let p = Vector2::new(0.3, -0.8);
        assert!((back.apply(there.apply(p)) - p).norm() < 1e-12);
        let nothing = there.then(&back).unwrap();
        assert!((nothing.matrix() - Matrix3::identity()).norm() < 1e-9);
    }
}
