//! Least squares with one nonlinear parameter: y ≈ Σ c_j φ_j(x; θ), the linear part solved out for each θ.
//!
//! Sources: Golub & Pereyra 1973 (variable projection: what is left is a curve of one parameter, which can be searched from end to
//! end, so that no start leads astray); Bates & Watts, Nonlinear Regression Analysis (1988), 2.2 (Gauss–Newton and its covariance).
//! A model of this kind: b1 (1 - exp(-b2 x)), or level + amplitude exp(-t/tau).
use super::solve::{Solved, normal_solve};
use nalgebra::{DMatrix, DVector};

/// Share of θ by which it is moved to both sides for the derivative of the basis.
const STEP: f64 = 1e-5;
/// First move of ln θ when a start stands alone.
const STRIDE: f64 = 0.35;
/// ln θ is searched down to this before Gauss–Newton takes over.
const COARSE: f64 = 1e-5;

/// Data and basis functions. θ > 0.
#[derive(Clone, Copy, Debug)]
pub struct Separable<'a, B> {
    /// For a θ the matrix of φ_j at each observation: a row an observation, a column a function.
    pub basis: B,
    /// The observations.
    pub y: &'a [f64],
    /// Their weights (1/sigma², or 1).
    pub weights: &'a [f64],
}

/// The best linear part for one θ.
#[derive(Clone, Debug, PartialEq)]
pub struct At {
    /// The linear coefficients and their covariance at this θ for observations of weight 1 and variance 1.
    pub solved: Solved,
    /// Observation minus model.
    pub residuals: Vec<f64>,
    /// Σ w r².
    pub rss: f64,
}

/// Where the search ended.
#[derive(Clone, Debug, PartialEq)]
pub struct SeparableFit {
    /// The nonlinear parameter.
    pub theta: f64,
    /// The linear coefficients, in the order of the columns.
    pub linear: Vec<f64>,
    /// Observation minus model.
    pub residuals: Vec<f64>,
    /// Σ w r².
    pub rss: f64,
    /// Derivatives of the model: a row an observation; the linear coefficients, then θ.
    pub jacobian: DMatrix<f64>,
    /// (JᵀWJ)⁻¹ in the order of the Jacobian: the covariance for a unit variance of weight 1. `None` when the data leave a
    /// parameter open.
    pub covariance: Option<DMatrix<f64>>,
    /// Whether a minimum inside the range was reached at which every parameter is determined.
    pub converged: bool,
}

impl<B: Fn(f64) -> DMatrix<f64>> Separable<'_, B> {
    /// The best linear part at `theta`; `None` for shapes that do not fit, too few columns, or something not finite.
    pub fn at(&self, theta: f64) -> Option<At> {
        solve_linear(&(self.basis)(theta), self.y, self.weights)
    }
    /// The lowest minimum that is met downhill from any of the `starts` within `range` (both θ > 0). A start between two higher
    /// neighbours is searched between them; the others are passed over; a single start goes downhill to whatever end.
    ///
    /// `None` when no start can be used.
    pub fn fit(&self, starts: &[f64], range: (f64, f64)) -> Option<SeparableFit> {
        let (low, high) = (range.0.ln(), range.1.ln());
        if !(low.is_finite() && high.is_finite() && low < high) {
            return None;
        }
        let mut places: Vec<f64> = starts.iter().map(|s| s.ln().clamp(low, high)).filter(|u| u.is_finite()).collect();
        places.sort_by(f64::total_cmp);
        let costs: Vec<f64> = places.iter().map(|u| self.cost(*u)).collect();
        let mut best: Option<(f64, f64)> = None;
        for (k, (u, cost)) in places.iter().zip(&costs).enumerate() {
            let lower = |j: Option<usize>| j.and_then(|j| costs.get(j)).is_some_and(|c| c < cost);
            if lower(k.checked_sub(1)) || lower(k.checked_add(1)) || !cost.is_finite() {
                continue;
            }
            let found = self.downhill(*u, *cost, (low, high));
            if best.is_none_or(|b| found.1 < b.1) {
                best = Some(found);
            }
        }
        self.polish(best?.0.exp(), range)
    }
    fn cost(&self, ln_theta: f64) -> f64 {
        self.at(ln_theta.exp()).map_or(f64::INFINITY, |a| a.rss)
    }
    /// Strides downhill until the cost rises or the range ends, then golden section (Kiefer 1953) between the last three places.
    fn downhill(&self, start: f64, cost: f64, (low, high): (f64, f64)) -> (f64, f64) {
        let ahead = |u: f64, by: f64| (u + by).clamp(low, high);
        let up = self.cost(ahead(start, STRIDE));
        let mut by = if up < cost { STRIDE } else { -STRIDE };
        let (mut before, mut here, mut value) = (ahead(start, -by), start, cost);
        let mut next = ahead(here, by);
        while next != here {
            let v = self.cost(next);
            if v >= value {
                break;
            }
            (before, here, value) = (here, next, v);
            by *= 1.6;
            next = ahead(here, by);
        }
        self.golden(before.min(next), before.max(next))
    }
    fn golden(&self, mut a: f64, mut b: f64) -> (f64, f64) {
        let share = (5.0_f64.sqrt() - 1.0) / 2.0;
        let (mut c, mut d) = (b - share * (b - a), a + share * (b - a));
        let (mut fc, mut fd) = (self.cost(c), self.cost(d));
        while b - a > COARSE {
            if fc <= fd {
                (b, d, fd) = (d, c, fc);
                c = b - share * (b - a);
                fc = self.cost(c);
            } else {
                (a, c, fc) = (c, d, fd);
                d = a + share * (b - a);
                fd = self.cost(d);
            }
        }
        if fc <= fd { (c, fc) } else { (d, fd) }
    }
    /// Gauss–Newton in all parameters; the linear ones are solved anew after each step, which is halved while it does not help.
    fn polish(&self, start: f64, range: (f64, f64)) -> Option<SeparableFit> {
        let (mut theta, mut at) = (start, self.at(start)?);
        let mut small = false;
        for _ in 0..60 {
            let (_, solved) = self.local(theta, &at)?;
            let mut step = *solved.x.iter().next_back()?;
            small = step.abs() <= 1e-6 * theta;
            let better = (0..30).find_map(|_| {
                let trial = theta + step;
                step *= 0.5;
                let new = if trial > range.0 && trial < range.1 { self.at(trial) } else { None };
                new.filter(|a| a.rss < at.rss).map(|a| (trial, a))
            });
            let Some((trial, new)) = better else { break };
            let done = (trial - theta).abs() <= 1e-13 * theta;
            (theta, at) = (trial, new);
            if done {
                break;
            }
        }
        let (jacobian, solved) = self.local(theta, &at)?;
        let determined = solved.rank == jacobian.ncols();
        let inside = theta > range.0 * (1.0 + 10.0 * COARSE) && theta < range.1 * (1.0 - 10.0 * COARSE);
        Some(SeparableFit {
            theta,
            linear: at.solved.x.iter().copied().collect(),
            residuals: at.residuals,
            rss: at.rss,
            jacobian,
            covariance: determined.then_some(solved.covariance),
            converged: determined && inside && small,
        })
    }
    /// The model's derivatives at θ and the Gauss–Newton step there.
    fn local(&self, theta: f64, at: &At) -> Option<(DMatrix<f64>, Solved)> {
        let phi = (self.basis)(theta);
        let (up, down) = (theta * (1.0 + STEP), theta * (1.0 - STEP));
        let bent = ((self.basis)(up) - (self.basis)(down)) / (up - down) * &at.solved.x;
        let k = phi.ncols();
        let jacobian = DMatrix::from_fn(phi.nrows(), k + 1, |i, j| if j < k { phi[(i, j)] } else { bent[i] });
        let weighted = DMatrix::from_fn(phi.nrows(), k + 1, |i, j| self.weights[i] * jacobian[(i, j)]);
        let normal = jacobian.transpose() * &weighted;
        let gradient = weighted.transpose() * DVector::from_column_slice(&at.residuals);
        let solved = normal_solve(&normal, &gradient)?;
        Some((jacobian, solved))
    }
}

/// Weighted linear least squares: a row of `phi` an observation, a column a coefficient. `None` for shapes that do not fit or
/// something not finite.
pub fn solve_linear(phi: &DMatrix<f64>, y: &[f64], weights: &[f64]) -> Option<At> {
    let n = phi.nrows();
    if n != y.len() || n != weights.len() || n < phi.ncols() {
        return None;
    }
    let weighted = DMatrix::from_fn(n, phi.ncols(), |i, j| weights[i] * phi[(i, j)]);
    let values = DVector::from_column_slice(y);
    let solved = normal_solve(&(phi.transpose() * &weighted), &(weighted.transpose() * &values))?;
    let residuals: Vec<f64> = (values - phi * &solved.x).iter().copied().collect();
    let rss: f64 = residuals.iter().zip(weights).map(|(r, w)| w * r * r).sum();
    rss.is_finite().then_some(At { solved, residuals, rss })
}
