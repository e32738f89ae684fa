//! The curve through the marks under one prior: a Gauss-Newton iteration on the logarithm of the slope.
//!
//! The sweep is cut into cells, a whole number to each interval between marks; w is constant in a cell. The slope of interval i is the mean
//! of exp(w) over its cells, so its logarithm is, about any w, the mean of w weighted by exp(w): linear, and the Gaussian posterior follows in
//! closed form (Laplace's approximation). The marks' own uncertainty belongs into the weighing of the priors; the curve itself
//! runs through the marks exactly, since what the marks do to a reading is counted as terms of the marks.
use super::prior::Prior;
use nalgebra::{Cholesky, DMatrix, DVector};

/// Steps of the iteration; three bring the curve within 1e-4 of the span of its end on every scale of the simulation.
const STEPS: usize = 3;
/// Cells of the whole sweep at least, and of one interval at least.
const CELLS: (usize, usize) = (48, 4);
/// Added to the variance of a logarithm of slope, so that what is given twice can be inverted.
const JITTER: f64 = 1e-9;

/// The sweep in cells; positions as shares of the sweep, values as shares of the span.
pub(super) struct Cells {
    /// Cells to each interval.
    pub per: usize,
    /// Edges of the cells, one more than cells.
    pub edges: Vec<f64>,
    rises: Vec<f64>,
    logs: DVector<f64>,
    noise: DMatrix<f64>,
}

/// A prior as the marks weigh it.
pub(super) struct Weighed {
    /// Logarithm of the evidence, with the prior's weight.
    pub evidence: f64,
    covariance: DMatrix<f64>,
    w: DVector<f64>,
}

/// A curve under one prior.
pub(super) struct Posterior {
    /// Logarithm of the evidence, with the prior's weight.
    pub evidence: f64,
    /// Values at the edges, as shares of the span.
    pub curve: DVector<f64>,
    /// Their covariance.
    pub covariance: DMatrix<f64>,
}

/// The intervals' weighted means of w under a prior: weights, what is left to explain, covariance with the cells and among themselves.
struct Linear {
    left: DVector<f64>,
    cross: DMatrix<f64>,
    own: DMatrix<f64>,
}

impl Cells {
    /// Marks at `x` (0 to 1, rising) with values `y` (0 to 1, rising) whose positions have the covariance `noise`.
    pub fn new(x: &[f64], y: &[f64], noise: &DMatrix<f64>) -> Self {
        let n = x.len() - 1;
        let per = CELLS.1.max(CELLS.0.div_ceil(n));
        let widths: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
        let rises: Vec<f64> = y.windows(2).map(|w| w[1] - w[0]).collect();
        let mut edges: Vec<f64> =
            (0..n).flat_map(|i| (0..per).map(move |k| (i, k))).map(|(i, k)| x[i] + widths[i] * k as f64 / per as f64).collect();
        edges.push(x[n]);
        let logs = DVector::from_fn(n, |i, _| (rises[i] / widths[i]).ln());
        let differ = DMatrix::from_fn(n, n + 1, |i, j| match j {
            _ if j == i => 1.0 / widths[i],
            _ if j == i + 1 => -1.0 / widths[i],
            _ => 0.0,
        });
        let noise = &differ * noise * differ.transpose();
        Self { per, edges, rises, logs, noise }
    }
    fn intervals(&self) -> usize {
        self.rises.len()
    }
    fn centres(&self) -> Vec<f64> {
        self.edges.windows(2).map(|e| 0.5 * (e[0] + e[1])).collect()
    }
    /// exp(w) of each cell as a share of its interval's sum.
    fn shares(&self, w: &DVector<f64>) -> Vec<f64> {
        w.as_slice()
            .chunks(self.per)
            .flat_map(|c| {
                let top = c.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                let e: Vec<f64> = c.iter().map(|w| (w - top).exp()).collect();
                let sum: f64 = e.iter().sum();
                e.into_iter().map(move |e| e / sum)
            })
            .collect()
    }
    fn linear(&self, k: &DMatrix<f64>, w: &DVector<f64>) -> Linear {
        let (n, per) = (self.intervals(), self.per);
        let p = self.shares(w);
        let cell = |i: usize| i * per..(i + 1) * per;
        // ln of the mean of exp(w), from a cell's own share: exp(w) / sum = p
        let log_mean = |i: usize| w[i * per] - p[i * per].ln() - (per as f64).ln();
        let left = DVector::from_fn(n, |i, _| self.logs[i] - log_mean(i) + cell(i).map(|c| p[c] * w[c]).sum::<f64>());
        let cross = DMatrix::from_fn(n, n * per, |i, c| cell(i).map(|d| p[d] * k[(d, c)]).sum());
        let own = DMatrix::from_fn(n, n, |i, j| cell(j).map(|c| cross[(i, c)] * p[c]).sum());
        Linear { left, cross, own }
    }
    fn factor(own: DMatrix<f64>) -> Option<Cholesky<f64, nalgebra::Dyn>> {
        let n = own.nrows();
        Cholesky::new(own + JITTER * DMatrix::identity(n, n))
    }
    /// How well a prior explains the marks; `None` where numbers fail.
    pub fn weigh(&self, prior: &Prior) -> Option<Weighed> {
        let u = self.centres();
        let k = DMatrix::from_fn(u.len(), u.len(), |i, j| prior.covariance(u[i], u[j]));
        let mut w = DVector::from_element(u.len(), self.logs.mean());
        let mut evidence = f64::NEG_INFINITY;
        for _ in 0..STEPS {
            let l = self.linear(&k, &w);
            let c = Self::factor(&l.own + &self.noise)?;
            let solved = c.solve(&l.left);
            evidence = -0.5 * l.left.dot(&solved) - c.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
            w = l.cross.tr_mul(&solved);
        }
        evidence.is_finite().then(|| Weighed { evidence: evidence + prior.weight.ln(), covariance: k, w })
    }
    /// The curve under a prior that was weighed; `None` where numbers fail. The greater part of the work, so only for priors that count.
    pub fn under(&self, prior: Weighed) -> Option<Posterior> {
        let l = self.linear(&prior.covariance, &prior.w);
        let c = Self::factor(l.own)?;
        let w = l.cross.tr_mul(&c.solve(&l.left));
        let after = prior.covariance - l.cross.tr_mul(&c.solve(&l.cross));
        let (curve, jacobian) = self.curve(&w);
        let covariance = &jacobian * after * jacobian.transpose();
        let sound = curve.iter().chain(covariance.iter()).all(|v| v.is_finite());
        sound.then_some(Posterior { evidence: prior.evidence, curve, covariance })
    }
    /// Values at the edges and their derivatives by the cells' w: within an interval v = rise · C(k), dC(k)/dw(j) = p(j) ([j < k] - C(k)).
    fn curve(&self, w: &DVector<f64>) -> (DVector<f64>, DMatrix<f64>) {
        let (p, per, n) = (self.shares(w), self.per, self.intervals());
        let (mut v, mut j) = (DVector::zeros(n * per + 1), DMatrix::zeros(n * per + 1, n * per));
        let mut from = 0.0;
        for i in 0..n {
            let mut sum = 0.0;
            for k in 1..=per {
                sum += p[i * per + k - 1];
                v[i * per + k] = from + self.rises[i] * sum;
                for c in 0..per {
                    let before = if c < k { 1.0 } else { 0.0 };
                    j[(i * per + k, i * per + c)] = self.rises[i] * p[i * per + c] * (before - sum);
                }
            }
            from += self.rises[i];
        }
        (v, j)
    }
}
