//! Fitting a homography to point pairs: normalised direct linear transform (Hartley & Zisserman 2004, algorithm 4.2), then
//! Gauss–Newton on the forward transfer error Σ w |H(src) - dst|² (section 4.2.2): noise is taken to sit in the target points.
use super::homography::{Homography, HomographyError};
use super::solve::Noise;
use nalgebra::{DMatrix, Matrix2, Matrix3, SMatrix, SVector, Vector2};

/// Covariance of the eight parameters h11..h32.
pub type Matrix8 = SMatrix<f64, 8, 8>;

/// Least second-smallest singular value of the linear system, as a share of the largest, that still fixes the map.
const LEAST_SHARE: f64 = 1e-9;

/// A fitted homography with what the fit says of itself.
#[derive(Clone, Debug, PartialEq)]
pub struct HomographyFit {
    /// The map from source to target.
    pub homography: Homography,
    /// Covariance of the parameters (order of [`Homography::parameters`]).
    ///
    /// Counts: independent noise of equal size in both target coordinates (variance / weight). Does not count: errors of the
    /// source points, lens distortion, wrong pairs, nor the choice of weights when they were set from the residuals.
    /// `None` when the noise should come from the scatter and no point is left over (four pairs).
    pub covariance: Option<Matrix8>,
    /// H(src) - dst for every pair, also those of weight zero (target units).
    pub residuals: Vec<Vector2<f64>>,
    /// Weighted residual sum of squares (both coordinates).
    pub rss: f64,
    /// Degrees of freedom: twice the pairs with a weight, less eight.
    pub dof: usize,
    /// Sum of the weights.
    pub weight: f64,
}

/// Pairs checked once: at least four with a weight, all finite.
struct Pairs<'a> {
    src: &'a [Vector2<f64>],
    dst: &'a [Vector2<f64>],
    weights: Vec<f64>,
}

/// Shift and scale that bring points to mean zero and mean distance √2.
#[derive(Clone, Copy)]
struct Normal {
    centre: Vector2<f64>,
    scale: f64,
}

impl Homography {
    /// The map that takes each `src[i]` to `dst[i]` with least squared transfer error; exact for four pairs.
    ///
    /// # Errors
    /// [`HomographyError`]: too few, not finite, lists of different length, degenerate, horizon between the points.
    pub fn from_points(src: &[Vector2<f64>], dst: &[Vector2<f64>]) -> Result<Self, HomographyError> {
        Ok(HomographyFit::new(src, dst, None, Noise::FromScatter)?.homography)
    }
    /// The direct linear transform alone, without refinement: fast, for trial maps in a consensus search.
    ///
    /// # Errors
    /// As [`Self::from_points`].
    pub fn direct(src: &[Vector2<f64>], dst: &[Vector2<f64>]) -> Result<Self, HomographyError> {
        let pairs = Pairs::new(src, dst, None)?;
        let (a, b) = (Normal::of(pairs.src, &pairs.weights)?, Normal::of(pairs.dst, &pairs.weights)?);
        Self::from_matrix(&restore(&direct(&pairs, a, b)?, a, b))
    }
}

impl HomographyFit {
    /// Fits the map from `src` to `dst`. `weights` multiply the squared residuals (1 when `None`; zero leaves a pair out);
    /// `noise` is that of one target coordinate of weight 1.
    ///
    /// # Errors
    /// [`HomographyError`]: too few, not finite, lists of different length, degenerate, horizon between the points.
    pub fn new(src: &[Vector2<f64>], dst: &[Vector2<f64>], weights: Option<&[f64]>, noise: Noise) -> Result<Self, HomographyError> {
        let pairs = Pairs::new(src, dst, weights)?;
        let (a, b) = (Normal::of(pairs.src, &pairs.weights)?, Normal::of(pairs.dst, &pairs.weights)?);
        let start = Homography::from_matrix(&direct(&pairs, a, b)?).map_err(|_| HomographyError::Degenerate)?;
        let inside = Pairs { src: &a.all(src), dst: &b.all(dst), weights: pairs.weights };
        let (fitted, normal_matrix) = gauss_newton(&inside, start)?;
        let homography = Homography::from_matrix(&restore(fitted.matrix(), a, b))?;
        let residuals: Vec<_> = src.iter().zip(dst).map(|(p, q)| homography.apply(*p) - q).collect();
        let rss = residuals.iter().zip(&inside.weights).map(|(r, w)| if *w > 0.0 { w * r.norm_squared() } else { 0.0 }).sum();
        let dof = 2 * inside.weights.iter().filter(|w| **w > 0.0).count() - 8;
        // Residuals and sigma in normalised target units are larger by the factor b.scale.
        let covariance = noise.unit_variance(rss, dof).and_then(|variance| {
            let inverse = normal_matrix.cholesky()?.inverse() * (variance * b.scale * b.scale);
            let j = restore_jacobian(&homography, &fitted, a, b);
            Some(j * inverse * j.transpose())
        });
        let weight = inside.weights.iter().sum();
        Ok(Self { homography, covariance, residuals, rss, dof, weight })
    }
    /// Covariance of the image of a source point that has no error of its own (target units squared). `None` as
    /// [`Self::covariance`].
    pub fn point_covariance(&self, p: Vector2<f64>) -> Option<Matrix2<f64>> {
        let j = self.homography.parameter_jacobian(p);
        self.covariance.map(|c| j * c * j.transpose())
    }
    /// Root mean square of the residual distances, weighted (target units).
    pub fn rms(&self) -> f64 {
        (self.rss / self.weight).sqrt()
    }
}

impl<'a> Pairs<'a> {
    fn new(src: &'a [Vector2<f64>], dst: &'a [Vector2<f64>], weights: Option<&[f64]>) -> Result<Self, HomographyError> {
        let count = weights.map_or(src.len(), <[f64]>::len);
        if src.len() != dst.len() || src.len() != count {
            return Err(HomographyError::Lengths { src: src.len(), dst: dst.len(), weights: count });
        }
        let weights = weights.map_or_else(|| vec![1.0; count], <[f64]>::to_vec);
        let good = |i: usize| {
            src[i].iter().chain(dst[i].iter()).all(|e| e.is_finite() && e.abs() < 1e100) && weights[i].is_finite() && weights[i] >= 0.0
        };
        if let Some(bad) = (0..count).find(|&i| !good(i)) {
            return Err(HomographyError::NotFinite(bad));
        }
        let used = weights.iter().filter(|w| **w > 0.0).count();
        if used < 4 { Err(HomographyError::TooFew(used)) } else { Ok(Self { src, dst, weights }) }
    }
    fn used(&self) -> impl Iterator<Item = (Vector2<f64>, Vector2<f64>, f64)> + '_ {
        let pairs = self.src.iter().zip(self.dst).zip(&self.weights);
        pairs.filter(|(_, w)| **w > 0.0).map(|((p, q), w)| (*p, *q, *w))
    }
    fn rss(&self, h: &Homography) -> f64 {
        self.used().map(|(p, q, w)| w * (h.apply(p) - q).norm_squared()).sum()
    }
}

impl Normal {
    fn of(points: &[Vector2<f64>], weights: &[f64]) -> Result<Self, HomographyError> {
        let total: f64 = weights.iter().sum();
        let mean =
            |f: &dyn Fn(&Vector2<f64>) -> Vector2<f64>| points.iter().zip(weights).map(|(p, w)| f(p) * (*w / total)).sum::<Vector2<f64>>();
        let centre = mean(&|p| *p);
        let spread = mean(&|p| Vector2::new((p - centre).norm(), 0.0)).x;
        let scale = std::f64::consts::SQRT_2 / spread;
        if scale.is_finite() && centre.norm().is_finite() { Ok(Self { centre, scale }) } else { Err(HomographyError::Degenerate) }
    }
    fn apply(self, p: Vector2<f64>) -> Vector2<f64> {
        (p - self.centre) * self.scale
    }
    fn all(self, points: &[Vector2<f64>]) -> Vec<Vector2<f64>> {
        points.iter().map(|p| self.apply(*p)).collect()
    }
    fn matrix(self) -> Matrix3<f64> {
        let (s, c) = (self.scale, self.centre);
        Matrix3::new(s, 0.0, -s * c.x, 0.0, s, -s * c.y, 0.0, 0.0, 1.0)
    }
    fn inverse_matrix(self) -> Matrix3<f64> {
        let (s, c) = (1.0 / self.scale, self.centre);
        Matrix3::new(s, 0.0, c.x, 0.0, s, c.y, 0.0, 0.0, 1.0)
    }
}

/// Takes a map between normalised planes back to the planes themselves.
fn restore(m: &Matrix3<f64>, a: Normal, b: Normal) -> Matrix3<f64> {
    b.inverse_matrix() * m * a.matrix()
}

/// Derivative of the parameters by those of the map between normalised planes. The restored matrix is linear in them;
/// dividing by its last entry g gives d h_i = (d g_i - h_i d g) / g.
fn restore_jacobian(h: &Homography, fitted: &Homography, a: Normal, b: Normal) -> Matrix8 {
    let last = restore(fitted.matrix(), a, b)[(2, 2)];
    let parameters = h.parameters();
    let mut j = Matrix8::zeros();
    for k in 0..8 {
        let mut unit = Matrix3::zeros();
        unit[(k / 3, k % 3)] = 1.0;
        let change = restore(&unit, a, b);
        for i in 0..8 {
            j[(i, k)] = (change[(i / 3, i % 3)] - parameters[i] * change[(2, 2)]) / last;
        }
    }
    j
}

/// The direct linear transform between normalised planes: the right singular vector of least singular value.
fn direct(pairs: &Pairs, a: Normal, b: Normal) -> Result<Matrix3<f64>, HomographyError> {
    let used: Vec<_> = pairs.used().map(|(p, q, w)| (a.apply(p), b.apply(q), w.sqrt())).collect();
    // At least nine rows, so that the thin decomposition holds all nine right vectors.
    let mut m = DMatrix::zeros((2 * used.len()).max(9), 9);
    let heaviest = used.iter().fold(0.0_f64, |h, u| h.max(u.2));
    for (k, (p, q, w)) in used.iter().enumerate() {
        let w = w / heaviest;
        let rows =
            [[p.x, p.y, 1.0, 0.0, 0.0, 0.0, -q.x * p.x, -q.x * p.y, -q.x], [0.0, 0.0, 0.0, p.x, p.y, 1.0, -q.y * p.x, -q.y * p.y, -q.y]];
        for (r, row) in rows.iter().enumerate() {
            for (c, e) in row.iter().enumerate() {
                m[(2 * k + r, c)] = w * e;
            }
        }
    }
    let svd = m.try_svd(false, true, f64::EPSILON, 500).ok_or(HomographyError::Degenerate)?;
    let v = svd.v_t.ok_or(HomographyError::Degenerate)?;
    let h = Matrix3::from_fn(|i, j| v[(8, 3 * i + j)]);
    let fixed = svd.singular_values[7] > LEAST_SHARE * svd.singular_values[0];
    if !fixed || h.determinant().abs() < LEAST_SHARE {
        return Err(HomographyError::Degenerate);
    }
    let sides: Vec<f64> = used.iter().map(|(p, ..)| h[(2, 0)] * p.x + h[(2, 1)] * p.y + h[(2, 2)]).collect();
    if sides.iter().any(|w| (*w > 0.0) != (sides[0] > 0.0) || *w == 0.0) {
        return Err(HomographyError::HorizonBetweenPoints);
    }
    Ok(h)
}

/// Least forward transfer error between normalised planes, from `start`; also the normal matrix JᵀWJ at the end.
fn gauss_newton(pairs: &Pairs, start: Homography) -> Result<(Homography, Matrix8), HomographyError> {
    let (mut h, mut rss) = (start, pairs.rss(&start));
    for _ in 0..30 {
        let (n, v) = normal_equations(pairs, &h);
        let step = n.cholesky().ok_or(HomographyError::Degenerate)?.solve(&v);
        let Some((next, lower)) = shorten(pairs, &h, &step, rss) else { break };
        let small = step.norm() < 1e-14 || rss - lower <= 1e-16 * rss;
        (h, rss) = (next, lower);
        if small {
            break;
        }
    }
    Ok((h, normal_equations(pairs, &h).0))
}

fn normal_equations(pairs: &Pairs, h: &Homography) -> (Matrix8, SVector<f64, 8>) {
    let (mut n, mut v) = (Matrix8::zeros(), SVector::<f64, 8>::zeros());
    for (p, q, w) in pairs.used() {
        let j = h.parameter_jacobian(p);
        n += j.transpose() * j * w;
        v -= j.transpose() * (h.apply(p) - q) * w;
    }
    (n, v)
}

/// The step, halved until it lowers the error; `None` when it no longer can.
fn shorten(pairs: &Pairs, h: &Homography, step: &SVector<f64, 8>, rss: f64) -> Option<(Homography, f64)> {
    let mut part = 1.0;
    for _ in 0..12 {
        let mut m = *h.matrix();
        for i in 0..8 {
            m[(i / 3, i % 3)] += part * step[i];
        }
        let next = Homography::from_matrix(&m).ok()?;
        let lower = pairs.rss(&next);
        if lower < rss {
            return Some((next, lower));
        }
        part *= 0.5;
    }
    None
}
