//! Straight line y = a + b (x - x0) with the covariance of (a, b): noise in y alone, or in both coordinates.
use super::line::LineError;
use super::solve::Noise;
use nalgebra::Matrix2;

/// A fitted straight line y = a + b (x - x0).
#[derive(Clone, Debug, PartialEq)]
pub struct StraightLine {
    /// The reference position (unit of x), chosen by the caller.
    pub x0: f64,
    /// Value at `x0` (unit of y).
    pub a: f64,
    /// Slope (unit of y per unit of x).
    pub b: f64,
    /// Covariance of (a, b); `None` when the noise should come from the scatter of two points.
    pub covariance: Option<Matrix2<f64>>,
    /// Weighted residual sum of squares; chi-square where the sigmas are given. The covariance is never rescaled by it.
    pub rss: f64,
    /// Degrees of freedom: points with a weight, less two.
    pub dof: usize,
}

/// What a fit round the centroid gives, before it is moved to `x0`.
struct Centred {
    x: f64,
    y: f64,
    slope: f64,
    mean_variance: f64,
    slope_variance: f64,
}

impl StraightLine {
    /// Weighted least squares with noise in y alone (GUM H.3, formulae H.13a–e for equal weights). `weights` multiply the
    /// squared residuals (1 when `None`), `noise` is the one sigma of a y of weight 1.
    /// Counts: independent noise of y. Does not count: errors of x, a bend.
    ///
    /// # Errors
    /// [`LineError`]: fewer than two points, lists of different length, not finite, all x equal.
    pub fn new(x: &[f64], y: &[f64], weights: Option<&[f64]>, x0: f64, noise: Noise) -> Result<Self, LineError> {
        let ones = vec![1.0; x.len()];
        let w = weights.unwrap_or(&ones);
        check(x, &[y, w])?;
        if let Some(bad) = w.iter().position(|w| *w < 0.0) {
            return Err(LineError::NotFinite(bad));
        }
        let used = w.iter().filter(|w| **w > 0.0).count();
        if used < 2 {
            return Err(LineError::TooFew(used));
        }
        let total: f64 = w.iter().sum();
        let (xm, ym) = (mean(x, w), mean(y, w));
        let sum = |f: &dyn Fn(f64, f64) -> f64| (0..x.len()).map(|i| w[i] * f(x[i] - xm, y[i] - ym)).sum::<f64>();
        let sxx = sum(&|dx, _| dx * dx);
        let slope = sum(&|dx, dy| dx * dy) / sxx;
        if sxx <= 0.0 || !slope.is_finite() {
            return Err(LineError::Degenerate);
        }
        let rss = sum(&|dx, dy| (dy - slope * dx).powi(2));
        let dof = used - 2;
        let unit = noise.unit_variance(rss, dof);
        let centred = Centred { x: xm, y: ym, slope, mean_variance: 1.0 / total, slope_variance: 1.0 / sxx };
        Ok(centred.at(x0, unit, rss, dof))
    }
    /// Least squares with independent noise in both coordinates, one sigma each (York, Can. J. Phys. 44 (1966) 1079; standard
    /// errors of York et al., Am. J. Phys. 72 (2004) 367). One of the two sigmas of a point may be zero.
    /// Counts: the given sigmas. Does not count: correlation between x and y of a point, and scatter beyond the sigmas
    /// (compare `rss` with `dof`).
    ///
    /// # Errors
    /// [`LineError`], also `NotSettled` for a line too steep to be y = a + b x.
    pub fn york(x: &[f64], y: &[f64], sigma_x: &[f64], sigma_y: &[f64], x0: f64) -> Result<Self, LineError> {
        check(x, &[y, sigma_x, sigma_y])?;
        if let Some(bad) = (0..x.len()).find(|&i| sigma_x[i] < 0.0 || sigma_y[i] < 0.0 || sigma_x[i] + sigma_y[i] == 0.0) {
            return Err(LineError::NotFinite(bad));
        }
        let (vx, vy): (Vec<f64>, Vec<f64>) = sigma_x.iter().zip(sigma_y).map(|(a, b)| (a * a, b * b)).unzip();
        let mut slope = Self::new(x, y, None, x0, Noise::FromScatter)?.b;
        for _ in 0..500 {
            let step = York::at(slope, x, y, &vx, &vy);
            if !step.slope.is_finite() {
                break;
            }
            let settled = (step.slope - slope).abs() <= 4.0 * f64::EPSILON * step.slope.abs();
            slope = step.slope;
            if settled {
                return Ok(York::at(slope, x, y, &vx, &vy).finish(x, y, x0));
            }
        }
        Err(LineError::NotSettled)
    }
    /// The value of the line at `x`.
    pub fn value(&self, x: f64) -> f64 {
        self.a + self.b * (x - self.x0)
    }
    /// Standard uncertainty of [`Self::value`], the correlation of a and b included: u² = u_a² + 2 d u_ab + d² u_b², d = x - x0
    /// (GUM H.15). Does not count the noise of a further observation. `None` as [`Self::covariance`].
    pub fn sigma(&self, x: f64) -> Option<f64> {
        let d = x - self.x0;
        self.covariance.map(|c| (c[(0, 0)] + 2.0 * d * c[(0, 1)] + d * d * c[(1, 1)]).max(0.0).sqrt())
    }
    /// Correlation coefficient of a and b. `None` as [`Self::covariance`], or when one of them has no uncertainty.
    pub fn correlation(&self) -> Option<f64> {
        let c = self.covariance?;
        let r = c[(0, 1)] / (c[(0, 0)] * c[(1, 1)]).sqrt();
        r.is_finite().then_some(r)
    }
}

impl Centred {
    /// Moved to the reference position; `unit` is the variance of an observation of weight 1.
    fn at(&self, x0: f64, unit: Option<f64>, rss: f64, dof: usize) -> StraightLine {
        let lever = x0 - self.x;
        let covariance = unit.map(|v| {
            let cross = lever * self.slope_variance;
            Matrix2::new(self.mean_variance + lever * cross, cross, cross, self.slope_variance) * v
        });
        StraightLine { x0, a: self.y + self.slope * lever, b: self.slope, covariance, rss, dof }
    }
}

/// One pass of York's iteration: weights, centroid, adjusted deviations β and the slope that follows from them.
struct York {
    weights: Vec<f64>,
    xm: f64,
    ym: f64,
    beta: Vec<f64>,
    slope: f64,
}

impl York {
    fn at(slope: f64, x: &[f64], y: &[f64], vx: &[f64], vy: &[f64]) -> Self {
        let weights: Vec<f64> = vx.iter().zip(vy).map(|(vx, vy)| 1.0 / (vy + slope * slope * vx)).collect();
        let (xm, ym) = (mean(x, &weights), mean(y, &weights));
        let beta: Vec<f64> = (0..x.len()).map(|i| weights[i] * ((x[i] - xm) * vy[i] + slope * (y[i] - ym) * vx[i])).collect();
        let sum = |v: &[f64], m: f64| (0..x.len()).map(|i| weights[i] * beta[i] * (v[i] - m)).sum::<f64>();
        let next = sum(y, ym) / sum(x, xm);
        Self { xm, ym, beta, slope: next, weights }
    }
    /// Standard errors at the adjusted points (York et al. 2004, equations 13a–d) and chi-square.
    fn finish(&self, x: &[f64], y: &[f64], x0: f64) -> StraightLine {
        let total: f64 = self.weights.iter().sum();
        let adjusted = mean(&self.beta, &self.weights);
        let spread: f64 = self.weights.iter().zip(&self.beta).map(|(w, b)| w * (b - adjusted).powi(2)).sum();
        let rss = (0..x.len()).map(|i| self.weights[i] * (y[i] - self.ym - self.slope * (x[i] - self.xm)).powi(2)).sum();
        let centre = self.xm + adjusted;
        let y_there = self.ym + self.slope * adjusted;
        let centred = Centred { x: centre, y: y_there, slope: self.slope, mean_variance: 1.0 / total, slope_variance: 1.0 / spread };
        centred.at(x0, Some(1.0), rss, x.len() - 2)
    }
}

fn mean(v: &[f64], w: &[f64]) -> f64 {
    let total: f64 = w.iter().sum();
    v.iter().zip(w).map(|(v, w)| v * (w / total)).sum()
}

/// Same lengths, at least two, all finite.
fn check(x: &[f64], others: &[&[f64]]) -> Result<(), LineError> {
    for list in others {
        if list.len() != x.len() {
            return Err(LineError::Lengths { points: x.len(), other: list.len() });
        }
    }
    if x.len() < 2 {
        return Err(LineError::TooFew(x.len()));
    }
    match (0..x.len()).find(|&i| !x[i].is_finite() || others.iter().any(|l| !l[i].is_finite())) {
        Some(bad) => Err(LineError::NotFinite(bad)),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_noise_in_x_is_the_ordinary_weighted_line() {
        let (x, y) = ([0.0, 1.0, 2.0, 5.0], [1.0, 2.5, 4.0, 11.5]);
        let (sx, sy) = ([0.0; 4], [0.1, 0.2, 0.1, 0.4]);
        let w: Vec<f64> = sy.iter().map(|s: &f64| 1.0 / (s * s)).collect();
        let plain = StraightLine::new(&x, &y, Some(&w), 1.5, Noise::Sigma(1.0)).unwrap();
        let york = StraightLine::york(&x, &y, &sx, &sy, 1.5).unwrap();
        assert!((plain.a - york.a).abs() < 1e-12 && (plain.b - york.b).abs() < 1e-12 && (plain.rss - york.rss).abs() < 1e-9);
        assert!((plain.covariance.unwrap() - york.covariance.unwrap()).norm() < 1e-12);
    }

    #[test]
    fn bad_input_is_named() {
        let line = |x: &[f64], y: &[f64]| StraightLine::new(x, y, None, 0.0, Noise::FromScatter);
        assert_eq!(line(&[1.0], &[1.0]), Err(LineError::TooFew(1)));
        assert_eq!(line(&[1.0, 2.0], &[1.0]), Err(LineError::Lengths { points: 2, other: 1 }));
        assert_eq!(line(&[2.0, 2.0], &[1.0, 3.0]), Err(LineError::Degenerate));
        assert_eq!(line(&[2.0, f64::NAN], &[1.0, 3.0]), Err(LineError::NotFinite(1)));
        assert_eq!(line(&[2.0, 3.0], &[1.0, 3.0]).unwrap().covariance, None);
        let both_zero = StraightLine::york(&[0.0, 1.0], &[0.0, 1.0], &[0.0, 0.0], &[1.0, 0.0], 0.0);
        assert_eq!(both_zero, Err(LineError::NotFinite(1)));
    }
}
