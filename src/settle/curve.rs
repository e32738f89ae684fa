//! The shapes that a run of readings may have, and their weighted fit.
use crate::maths::variable_projection::{Separable, SeparableFit, solve_linear};
use nalgebra::DMatrix;

/// The shortest time constant looked for, as a share of the usual distance of two readings, and the longest, in spans.
const TAU_RANGE: (f64, f64) = (0.2, 30.0);
/// Starts of the search, evenly on the logarithm of tau.
const STARTS: usize = 28;

/// A shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shape {
    /// A level.
    Steady,
    /// A level and a slope.
    Line,
    /// A level and a first-order approach to it.
    Approach,
    /// An approach to a level that drifts.
    Drifting,
}

/// A fitted shape. Times in seconds.
#[derive(Clone, Debug)]
pub(super) struct Curve {
    /// Coefficients: level; then slope (line), amplitude (approach), or amplitude and slope (drifting).
    pub linear: Vec<f64>,
    /// Time constant, where the shape has one.
    pub tau: Option<f64>,
    pub residuals: Vec<f64>,
    pub rss: f64,
    /// Derivatives: a row a reading; the coefficients, then tau.
    pub jacobian: DMatrix<f64>,
    /// (JᵀWJ)⁻¹; `None` when the readings leave a parameter open.
    pub covariance: Option<DMatrix<f64>>,
}

impl Shape {
    /// How many parameters.
    pub fn parameters(self) -> usize {
        match self {
            Shape::Steady => 1,
            Shape::Line => 2,
            Shape::Approach => 3,
            Shape::Drifting => 4,
        }
    }
    /// The functions at the times, for a time constant.
    pub fn basis(self, times: &[f64], tau: f64) -> DMatrix<f64> {
        let decay = |t: f64| (-t / tau).exp();
        let columns: &[fn(f64, f64) -> f64] = match self {
            Shape::Steady => &[|_, _| 1.0],
            Shape::Line => &[|_, _| 1.0, |t, _| t],
            Shape::Approach => &[|_, _| 1.0, |_, e| e],
            Shape::Drifting => &[|_, _| 1.0, |_, e| e, |t, _| t],
        };
        DMatrix::from_fn(times.len(), columns.len(), |i, j| columns[j](times[i], decay(times[i])))
    }
    fn bends(self) -> bool {
        matches!(self, Shape::Approach | Shape::Drifting)
    }
    /// The weighted fit; `near` starts the search at a known time constant and not from end to end. Times in order, more
    /// than one of them.
    pub fn fit(self, times: &[f64], y: &[f64], weights: &[f64], near: Option<f64>) -> Option<Curve> {
        if !self.bends() {
            let jacobian = self.basis(times, 1.0);
            let at = solve_linear(&jacobian, y, weights)?;
            let covariance = (at.solved.rank == jacobian.ncols()).then_some(at.solved.covariance);
            let linear = at.solved.x.iter().copied().collect();
            return Some(Curve { linear, tau: None, residuals: at.residuals, rss: at.rss, jacobian, covariance });
        }
        let range = tau_range(times)?;
        let grid = |k: usize| range.0 * (range.1 / range.0).powf(k as f64 / (STARTS - 1) as f64);
        let starts: Vec<f64> = near.map_or_else(|| (0..STARTS).map(grid).collect(), |t| vec![t]);
        let found = Separable { basis: |tau: f64| self.basis(times, tau), y, weights }.fit(&starts, range)?;
        let SeparableFit { theta, linear, residuals, rss, jacobian, covariance, converged } = found;
        Some(Curve { linear, tau: Some(theta), residuals, rss, jacobian, covariance: covariance.filter(|_| converged) })
    }
}

/// Between which time constants the search runs.
pub(super) fn tau_range(times: &[f64]) -> Option<(f64, f64)> {
    let span = times.last()? - times.first()?;
    let step = span / times.len() as f64;
    (span > 0.0 && span.is_finite()).then_some((TAU_RANGE.0 * step, TAU_RANGE.1 * span))
}
