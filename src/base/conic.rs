//! Circles and ellipses through points. Lengths in the caller's unit, angles in radians from the x axis towards the y axis.
//!
//! Circle: the linear fit of Kåsa (1976) as a start, then Gauss–Newton on the distances to the circle (Gander, Golub & Strebel,
//! BIT 34 (1994) 558). Ellipse: the direct fit of Halir & Flusser (WSCG 1998): least algebraic distance under 4ac - b² = 1, so that
//! the answer is always an ellipse; it is biased towards smaller, more eccentric ones when the arc is short or the noise large.
use super::solve::Noise;
use nalgebra::{Matrix3, Rotation2, SymmetricEigen, Vector2, Vector3};
use thiserror::Error;

/// Why no circle or ellipse can be fitted.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ConicError {
    /// Too few points.
    #[error("{needed} points are needed, got {got}")]
    TooFew {
        /// Least number of points.
        needed: usize,
        /// Points given.
        got: usize,
    },
    /// A coordinate is not finite.
    #[error("point {0} holds a number that is not finite")]
    NotFinite(usize),
    /// The points fix no circle or ellipse.
    #[error("the points lie on one line or coincide: they fix no circle or ellipse")]
    Degenerate,
    /// The geometric fit ran away.
    #[error("the fit did not settle: the arc is too short for its noise")]
    NotSettled,
}

/// A circle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// Centre.
    pub centre: Vector2<f64>,
    /// Radius, positive.
    pub radius: f64,
}

/// A fitted circle with what the fit says of itself.
#[derive(Clone, Debug, PartialEq)]
pub struct CircleFit {
    /// The circle.
    pub circle: Circle,
    /// Covariance of (centre x, centre y, radius). Counts: independent noise of the points across the circle. Does not count: a
    /// shape that is no circle. A short arc gives large, strongly correlated entries. `None` when the noise should come from
    /// the scatter of three points.
    pub covariance: Option<Matrix3<f64>>,
    /// Sum of squared distances to the circle.
    pub rss: f64,
    /// Degrees of freedom: points less three.
    pub dof: usize,
}

impl Circle {
    /// The linear fit of Kåsa: least Σ (|p - c|² - r²)². Its answer does not depend on the frame; short arcs come out too small.
    ///
    /// # Errors
    /// [`ConicError`]: fewer than three points, not finite, all on one line.
    pub fn algebraic(points: &[Vector2<f64>]) -> Result<Self, ConicError> {
        let (centre, scale) = frame(points, 3)?;
        // Unknowns 2cx, 2cy, k = r² - |c|² in |p|² = 2 c·p + k, in a frame of unit size round the mean.
        let (mut n, mut v) = (Matrix3::zeros(), Vector3::zeros());
        for p in points {
            let q = (p - centre) / scale;
            let row = Vector3::new(q.x, q.y, 1.0);
            n += row * row.transpose();
            v += row * q.norm_squared();
        }
        let s = solve_positive(&n, &v).ok_or(ConicError::Degenerate)?;
        let c = Vector2::new(0.5 * s.x, 0.5 * s.y);
        let radius = (s.z + c.norm_squared()).sqrt();
        if !(radius.is_finite() && radius > 0.0) {
            return Err(ConicError::Degenerate);
        }
        Ok(Self { centre: centre + c * scale, radius: radius * scale })
    }
    /// Signed distance of a point from the circle: positive outside.
    pub fn distance(&self, p: Vector2<f64>) -> f64 {
        (p - self.centre).norm() - self.radius
    }
}

impl CircleFit {
    /// Least squared distance to the circle; `noise` is the one sigma of a point across it.
    ///
    /// # Errors
    /// [`ConicError`]: fewer than three points, not finite, on one line, or no minimum found.
    pub fn new(points: &[Vector2<f64>], noise: Noise) -> Result<Self, ConicError> {
        let mut circle = Circle::algebraic(points)?;
        let rss_of = |c: &Circle| points.iter().map(|p| c.distance(*p).powi(2)).sum::<f64>();
        let (mut rss, mut damping) = (rss_of(&circle), 1e-4);
        for _ in 0..500 {
            let (n, v) = normal_equations(&circle, points);
            let damped = n + Matrix3::from_diagonal(&n.diagonal()) * damping;
            let step = solve_positive(&damped, &v).ok_or(ConicError::Degenerate)?;
            let next = Circle { centre: circle.centre + step.xy(), radius: circle.radius + step.z };
            let lower = rss_of(&next);
            let small = step.norm() <= 1e-13 * circle.radius;
            if lower <= rss && next.radius > 0.0 {
                (circle, rss) = (next, lower);
                damping *= 0.1;
            } else {
                damping = (damping * 10.0).max(1e-12);
            }
            if small || damping > 1e12 {
                let dof = points.len() - 3;
                let inverse = normal_equations(&circle, points).0;
                let inverse = solve_columns(&inverse).ok_or(ConicError::Degenerate)?;
                let covariance = noise.unit_variance(rss, dof).map(|v| inverse * v);
                return Ok(Self { circle, covariance, rss, dof });
            }
        }
        Err(ConicError::NotSettled)
    }
}

/// JᵀJ and -Jᵀr of the distances, J = (-cos, -sin, -1) seen from the centre.
fn normal_equations(circle: &Circle, points: &[Vector2<f64>]) -> (Matrix3<f64>, Vector3<f64>) {
    points.iter().fold((Matrix3::zeros(), Vector3::zeros()), |(n, v), p| {
        let out = (p - circle.centre).try_normalize(0.0).unwrap_or_default();
        let row = Vector3::new(out.x, out.y, 1.0);
        (n + row * row.transpose(), v + row * circle.distance(*p))
    })
}

/// An ellipse.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ellipse {
    /// Centre.
    pub centre: Vector2<f64>,
    /// Longer half axis.
    pub semi_major: f64,
    /// Shorter half axis, positive.
    pub semi_minor: f64,
    /// Direction of the longer axis, radians from x towards y in (-π/2, π/2]; says nothing when the axes are equal.
    pub angle: f64,
}

impl Ellipse {
    /// The direct fit of Halir & Flusser, in a frame of unit size round the mean (which does not change its answer).
    ///
    /// # Errors
    /// [`ConicError`]: fewer than five points, not finite, on one line or otherwise no ellipse.
    pub fn direct(points: &[Vector2<f64>]) -> Result<Self, ConicError> {
        let (centre, scale) = frame(points, 5)?;
        let (mut s1, mut s2, mut s3) = (Matrix3::zeros(), Matrix3::zeros(), Matrix3::zeros());
        for p in points {
            let q = (p - centre) / scale;
            let (square, linear) = (Vector3::new(q.x * q.x, q.x * q.y, q.y * q.y), Vector3::new(q.x, q.y, 1.0));
            s1 += square * square.transpose();
            s2 += square * linear.transpose();
            s3 += linear * linear.transpose();
        }
        let to_linear = -(solve_columns(&s3).ok_or(ConicError::Degenerate)? * s2.transpose());
        let reduced = s1 + s2 * to_linear;
        let quadratic = least_under_constraint(0.5 * (reduced + reduced.transpose())).ok_or(ConicError::Degenerate)?;
        let linear = to_linear * quadratic;
        let (a, b, c, d, e, f) = (quadratic.x, quadratic.y, quadratic.z, linear.x, linear.y, linear.z);
        let conic = Matrix3::new(a, 0.5 * b, 0.5 * d, 0.5 * b, c, 0.5 * e, 0.5 * d, 0.5 * e, f);
        let unit = Self::from_conic(&conic).ok_or(ConicError::Degenerate)?;
        Ok(Self { centre: centre + unit.centre * scale, semi_major: unit.semi_major * scale, semi_minor: unit.semi_minor * scale, ..unit })
    }
    /// The ellipse pᵀ M p = 0, p = (x, y, 1), of a symmetric matrix; `None` when that is no real ellipse.
    pub fn from_conic(m: &Matrix3<f64>) -> Option<Self> {
        let quadratic = m.fixed_view::<2, 2>(0, 0).into_owned();
        let half_linear = Vector2::new(m[(0, 2)], m[(1, 2)]);
        if quadratic.determinant().is_nan() || quadratic.determinant() <= 0.0 {
            return None;
        }
        let centre = -(quadratic.try_inverse()? * half_linear);
        let level = -(m[(2, 2)] + half_linear.dot(&centre));
        // Principal axes of the quadratic form; the longer axis belongs to the smaller coefficient.
        let (mean, half_gap) = (0.5 * quadratic.trace(), 0.5 * (quadratic[(0, 0)] - quadratic[(1, 1)]));
        let swing = half_gap.hypot(quadratic[(0, 1)]);
        let (small, large) = if mean > 0.0 { (mean - swing, mean + swing) } else { (mean + swing, mean - swing) };
        let (semi_major, semi_minor) = ((level / small).sqrt(), (level / large).sqrt());
        let sign = if mean > 0.0 { -1.0 } else { 1.0 };
        let angle = 0.5 * (sign * quadratic[(0, 1)]).atan2(sign * half_gap);
        let good = semi_major.is_finite() && semi_minor > 0.0 && centre.iter().all(|e| e.is_finite());
        good.then_some(Self { centre, semi_major, semi_minor, angle })
    }
    /// The symmetric matrix M of pᵀ M p = 0: negative inside, scaled so that M = (x/a)² + (y/b)² - 1 in the axes' own frame.
    pub fn conic(&self) -> Matrix3<f64> {
        let turn = Rotation2::new(-self.angle).into_inner();
        let shift = -(turn * self.centre);
        let to_axes = Matrix3::new(turn[(0, 0)], turn[(0, 1)], shift.x, turn[(1, 0)], turn[(1, 1)], shift.y, 0.0, 0.0, 1.0);
        let own = Matrix3::from_diagonal(&Vector3::new(self.semi_major.powi(-2), self.semi_minor.powi(-2), -1.0));
        to_axes.transpose() * own * to_axes
    }
    /// The point at parameter `t` (radians): centre + a cos t along the longer axis + b sin t along the shorter.
    pub fn point(&self, t: f64) -> Vector2<f64> {
        self.centre + Rotation2::new(self.angle) * Vector2::new(self.semi_major * t.cos(), self.semi_minor * t.sin())
    }
}

/// The vector q = (a, b, c) with least qᵀ S q under 4ac - b² = 1: the one positive eigenvalue of S⁻¹C, found in the eigenvectors of
/// S so that points lying exactly on an ellipse (S singular) need no special case.
fn least_under_constraint(s: Matrix3<f64>) -> Option<Vector3<f64>> {
    let constraint = Matrix3::new(0.0, 0.0, 2.0, 0.0, -1.0, 0.0, 2.0, 0.0, 0.0);
    let eigen = SymmetricEigen::try_new(s, f64::EPSILON, 500)?;
    let floor = 1e-18 * eigen.eigenvalues.max();
    if floor.is_nan() || floor <= 0.0 {
        return None;
    }
    let shrink = Matrix3::from_diagonal(&eigen.eigenvalues.map(|e| 1.0 / e.max(floor).sqrt()));
    let basis = eigen.eigenvectors * shrink;
    let inner = SymmetricEigen::try_new(basis.transpose() * constraint * basis, f64::EPSILON, 500)?;
    let best = inner.eigenvalues.imax();
    (inner.eigenvalues[best] > 0.0).then(|| (basis * inner.eigenvectors.column(best)).normalize())
}

/// Mean and size (root mean square distance from it) of at least `needed` finite points.
fn frame(points: &[Vector2<f64>], needed: usize) -> Result<(Vector2<f64>, f64), ConicError> {
    if points.len() < needed {
        return Err(ConicError::TooFew { needed, got: points.len() });
    }
    if let Some(bad) = points.iter().position(|p| !p.iter().all(|e| e.is_finite() && e.abs() < 1e100)) {
        return Err(ConicError::NotFinite(bad));
    }
    let n = points.len() as f64;
    let mean = points.iter().sum::<Vector2<f64>>() / n;
    let size = (points.iter().map(|p| (p - mean).norm_squared()).sum::<f64>() / n).sqrt();
    if size > 0.0 { Ok((mean, size)) } else { Err(ConicError::Degenerate) }
}

/// Solves a positive 3x3 system; `None` when it is singular to rounding.
fn solve_positive(n: &Matrix3<f64>, v: &Vector3<f64>) -> Option<Vector3<f64>> {
    solve_columns(n).map(|inverse| inverse * v)
}

fn solve_columns(n: &Matrix3<f64>) -> Option<Matrix3<f64>> {
    let factor = n.cholesky()?;
    let pivots = factor.l_dirty().diagonal();
    (pivots.min() > 1e-7 * pivots.max()).then(|| factor.inverse())
}
