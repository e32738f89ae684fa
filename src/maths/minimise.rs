//! Nonlinear least squares: Levenberg–Marquardt with the model's own Jacobian or a numeric one, and losses that bound what an outlier can do.
//!
//! Sources: Marquardt 1963 (damping relative to the diagonal); Bates & Watts 1981 (relative offset as the test for having
//! arrived); Huber, Robust Statistics (1981), section 7.6 (covariance under a robust loss).
use super::solve::{Noise, Solved, normal_solve};
use nalgebra::{DMatrix, DVector};

/// How much a residual r costs; the limit c is in the unit of the residuals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Loss {
    /// r²: plain least squares.
    Squares,
    /// r² up to c, then straight.
    Huber(f64),
    /// 2c² (√(1 + r²/c²) - 1): Huber without a corner.
    SoftL1(f64),
    /// c² ln(1 + r²/c²): far outliers lose their pull. May have several minima.
    Cauchy(f64),
}

/// What the loss says of one residual.
struct Influence {
    /// ρ(r), equal to r² near zero.
    cost: f64,
    /// ψ(r)/r with ψ = ρ'/2.
    weight: f64,
    /// ψ'(r).
    curvature: f64,
}

impl Loss {
    fn at(self, r: f64) -> Influence {
        match self {
            Loss::Squares => Influence { cost: r * r, weight: 1.0, curvature: 1.0 },
            Loss::Huber(c) if r.abs() <= c => Influence { cost: r * r, weight: 1.0, curvature: 1.0 },
            Loss::Huber(c) => Influence { cost: c * (2.0 * r.abs() - c), weight: c / r.abs(), curvature: 0.0 },
            Loss::SoftL1(c) => {
                let root = 1.0_f64.hypot(r / c);
                Influence { cost: 2.0 * c * c * (root - 1.0), weight: 1.0 / root, curvature: root.powi(-3) }
            }
            Loss::Cauchy(c) => {
                let z2 = (r / c).powi(2);
                Influence { cost: c * c * z2.ln_1p(), weight: 1.0 / (1.0 + z2), curvature: (1.0 - z2) / (1.0 + z2).powi(2) }
            }
        }
    }
}

/// How to minimise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// The loss.
    pub loss: Loss,
    /// Noise of one residual.
    pub noise: Noise,
    /// Most steps taken.
    pub max_iterations: usize,
    /// Relative offset (share of the residual that a further step could explain) below which the fit has arrived.
    pub tolerance: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self { loss: Loss::Squares, noise: Noise::FromScatter, max_iterations: 200, tolerance: 1e-9 }
    }
}

/// Where the minimisation ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The parameters.
    pub x: Vec<f64>,
    /// Covariance of the parameters. For plain squares s² (JᵀJ)⁻¹; under another loss and noise from the scatter Huber's
    /// κ² Σψ²/(n-p) / mean(ψ')² (JᵀJ)⁻¹; under another loss and a given sigma σ² (JᵀWJ)⁻¹, an approximation. Its variances were
    /// measured 0 to 15 % too large for clean noise, but 10 to 30 % too small with one reading in ten ten times as noisy: where
    /// outliers are expected take the noise from the scatter.
    /// Counts: independent noise of the residuals. Does not count: a wrong model, curvature, other minima.
    /// `None` when the residuals leave a parameter open, no degrees of freedom are left for the scatter, or nothing converged.
    pub covariance: Option<DMatrix<f64>>,
    /// Residuals at the end.
    pub residuals: Vec<f64>,
    /// Weight the loss gave to each residual, 1 for plain squares.
    pub weights: Vec<f64>,
    /// Σ ρ(r): the sum of squares for plain squares.
    pub rss: f64,
    /// Degrees of freedom: residuals less parameters (0 when there are fewer residuals).
    pub dof: usize,
    /// Steps taken.
    pub iterations: usize,
    /// Whether a minimum was reached at which every parameter is determined. False on a plateau where the residuals no longer
    /// depend on some parameter, and when steps ran out. True does not exclude a lower minimum elsewhere.
    pub converged: bool,
}

/// What is fitted.
pub trait Model {
    /// The residuals for these parameters.
    fn residuals(&mut self, x: &[f64]) -> Vec<f64>;
    /// Their derivatives, a row to a residual, where there are as many as were found before; `None` when their number changed.
    fn jacobian(&mut self, x: &[f64], count: usize) -> Option<DMatrix<f64>>;
}

/// A model whose derivatives are taken by moving each parameter to both sides.
struct Moved<'a, F> {
    residuals: F,
    steps: &'a [f64],
}

impl<F: FnMut(&[f64]) -> Vec<f64>> Model for Moved<'_, F> {
    fn residuals(&mut self, x: &[f64]) -> Vec<f64> {
        (self.residuals)(x)
    }
    fn jacobian(&mut self, x: &[f64], count: usize) -> Option<DMatrix<f64>> {
        let mut jacobian = DMatrix::zeros(count, x.len());
        for (j, step) in self.steps.iter().enumerate() {
            let mut moved = x.to_vec();
            moved[j] = x[j] + step;
            let (up, above) = (moved[j], self.residuals(&moved));
            moved[j] = x[j] - step;
            let (down, below) = (moved[j], self.residuals(&moved));
            if above.len() != count || below.len() != count {
                return None;
            }
            // The distance as rounded, not as asked for.
            for i in 0..count {
                jacobian[(i, j)] = (above[i] - below[i]) / (up - down);
            }
        }
        Some(jacobian)
    }
}

/// Residuals, what the loss makes of them, and the total.
struct State {
    x: Vec<f64>,
    r: Vec<f64>,
    cost: f64,
}

/// Minimises Σ ρ(r(x)) from `start`. `steps` are the distances by which each parameter is moved to both sides for the
/// derivative: small against the scale on which the model bends, large against rounding (1e-5 of that scale is a fair choice).
///
/// A residual that is not finite, or a list whose length changes, makes that trial count as infinitely bad. Nothing panics: an
/// unusable start comes back unconverged.
pub fn minimise(residuals: impl FnMut(&[f64]) -> Vec<f64>, start: &[f64], steps: &[f64], options: Options) -> Fit {
    let usable = steps.len() == start.len() && steps.iter().all(|s| s.is_finite() && *s != 0.0);
    fitted(Moved { residuals, steps }, start, options, usable)
}

/// As [`minimise`], with the derivatives that the model itself knows.
pub fn minimise_model(model: impl Model, start: &[f64], options: Options) -> Fit {
    fitted(model, start, options, true)
}

fn fitted(mut model: impl Model, start: &[f64], options: Options, usable: bool) -> Fit {
    let r = model.residuals(start);
    let cost = total(&r, options.loss);
    let mut state = State { x: start.to_vec(), r, cost };
    let (mut iterations, mut damping, mut arrived) = (0, 1e-3, false);
    let usable = usable && !start.is_empty() && cost.is_finite();
    let mut local = if usable { Local::at(&mut model, &state, options.loss) } else { None };
    while let Some(here) = &local {
        let offset = here.offset(state.cost);
        if offset <= options.tolerance || iterations >= options.max_iterations {
            arrived = offset <= options.tolerance;
            break;
        }
        let Some(better) = descend(&mut model, &state, here, &mut damping, options.loss) else {
            // Rounding stops the descent near a minimum before the offset is quite zero.
            arrived = offset < 1e-4;
            break;
        };
        state = better;
        iterations += 1;
        local = Local::at(&mut model, &state, options.loss);
    }
    let determined = local.as_ref().is_some_and(|l| l.solved.rank == start.len());
    let converged = arrived && determined;
    let dof = state.r.len().saturating_sub(start.len());
    let covariance = local.filter(|_| converged).and_then(|l| l.covariance(&state, options));
    let weights = state.r.iter().map(|r| options.loss.at(*r).weight).collect();
    Fit { x: state.x, covariance, weights, rss: state.cost, dof, iterations, converged, residuals: state.r }
}

/// Tries ever more damped steps until one lowers the cost; `None` when none does.
fn descend(model: &mut impl Model, state: &State, here: &Local, damping: &mut f64, loss: Loss) -> Option<State> {
    while *damping < 1e18 {
        let mut damped = here.normal.clone();
        for i in 0..damped.nrows() {
            damped[(i, i)] += *damping * here.normal[(i, i)];
        }
        let step = normal_solve(&damped, &here.gradient)?.x;
        let x: Vec<f64> = state.x.iter().zip(step.iter()).map(|(x, s)| x - s).collect();
        let r = model.residuals(&x);
        let cost = if r.len() == state.r.len() { total(&r, loss) } else { f64::INFINITY };
        if cost < state.cost {
            *damping = (*damping * 0.1).max(1e-15);
            return Some(State { x, r, cost });
        }
        *damping *= 10.0;
    }
    None
}

fn total(r: &[f64], loss: Loss) -> f64 {
    let sum: f64 = r.iter().map(|r| loss.at(*r).cost).sum();
    if sum.is_finite() && !r.is_empty() { sum } else { f64::INFINITY }
}

/// The linear picture of the residuals at a point: weighted normal matrix, gradient, and their solution.
struct Local {
    jacobian: DMatrix<f64>,
    normal: DMatrix<f64>,
    gradient: DVector<f64>,
    solved: Solved,
}

impl Local {
    fn at(model: &mut impl Model, state: &State, loss: Loss) -> Option<Self> {
        let (n, k) = (state.r.len(), state.x.len());
        let jacobian = model.jacobian(&state.x, n)?;
        let weights: Vec<f64> = state.r.iter().map(|r| loss.at(*r).weight).collect();
        let weighted = DMatrix::from_fn(n, k, |i, j| weights[i] * jacobian[(i, j)]);
        let normal = jacobian.transpose() * &weighted;
        let gradient = weighted.transpose() * DVector::from_column_slice(&state.r);
        let solved = normal_solve(&normal, &gradient)?;
        Some(Self { jacobian, normal, gradient, solved })
    }
    /// Share of the residuals that lies in the directions still open to a step, 0 at a minimum.
    fn offset(&self, cost: f64) -> f64 {
        if cost > 0.0 { (self.gradient.dot(&self.solved.x).max(0.0) / cost).sqrt() } else { 0.0 }
    }
    fn covariance(&self, state: &State, options: Options) -> Option<DMatrix<f64>> {
        let (n, k) = (state.r.len(), state.x.len());
        if let (Loss::Squares, _) | (_, Noise::Sigma(_)) = (options.loss, options.noise) {
            let variance = options.noise.unit_variance(state.cost, n.saturating_sub(k))?;
            return Some(&self.solved.covariance * variance);
        }
        if n <= k {
            return None;
        }
        let influence: Vec<Influence> = state.r.iter().map(|r| options.loss.at(*r)).collect();
        let count = n as f64;
        let mean = influence.iter().map(|i| i.curvature).sum::<f64>() / count;
        let spread = influence.iter().map(|i| (i.curvature - mean).powi(2)).sum::<f64>() / count;
        let pull: f64 = state.r.iter().zip(&influence).map(|(r, i)| (r * i.weight).powi(2)).sum();
        let correction = 1.0 + k as f64 / count * spread / (mean * mean);
        let variance = correction.powi(2) * pull / (n - k) as f64 / (mean * mean);
        let plain = normal_solve(&(self.jacobian.transpose() * &self.jacobian), &self.gradient)?;
        (mean > 0.0 && variance.is_finite() && plain.rank == k).then(|| plain.covariance * variance)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(x: &[f64]) -> Vec<f64> {
        [(0.0, 1.0), (1.0, 3.1), (2.0, 4.9), (3.0, 7.0), (4.0, 9.1)].iter().map(|(t, y)| x[0] + x[1] * t - y).collect()
    }

    #[test]
    fn a_straight_line_takes_one_good_step() {
        let fit = minimise(line, &[0.0, 0.0], &[1e-3, 1e-3], Options::default());
        assert!(fit.converged && fit.dof == 3);
        assert!((fit.x[0] - 1.0).abs() < 1e-8 && (fit.x[1] - 2.01).abs() < 1e-8, "{:?}", fit.x);
    }

    #[test]
    fn unusable_input_comes_back_unconverged() {
        let nothing = |_: &[f64]| Vec::new();
        let broken = |_: &[f64]| vec![f64::NAN; 3];
        let blind = |_: &[f64]| vec![1.0, -1.0];
        assert!(!minimise(nothing, &[1.0], &[0.1], Options::default()).converged);
        assert!(!minimise(broken, &[1.0], &[0.1], Options::default()).converged);
        assert!(!minimise(line, &[1.0, 2.0], &[0.1], Options::default()).converged);
        assert!(!minimise(line, &[1.0, 2.0], &[0.0, 0.1], Options::default()).converged);
        assert!(!minimise(line, &[f64::INFINITY, 2.0], &[0.1, 0.1], Options::default()).converged);
        let open = minimise(blind, &[1.0], &[0.1], Options::default());
        assert!(!open.converged && open.covariance.is_none());
        let mut calls = 0;
        let growing = |x: &[f64]| {
            calls += 1;
            vec![x[0]; calls]
        };
        assert!(!minimise(growing, &[1.0], &[0.1], Options::default()).converged);
    }

    #[test]
    fn as_many_points_as_parameters_have_no_scatter() {
        let two = |x: &[f64]| line(x)[..2].to_vec();
        let fit = minimise(two, &[0.0, 0.0], &[1e-3, 1e-3], Options::default());
        assert!(fit.converged && fit.covariance.is_none() && fit.dof == 0);
        let known = Options { noise: Noise::Sigma(0.1), ..Options::default() };
        assert!(minimise(two, &[0.0, 0.0], &[1e-3, 1e-3], known).covariance.is_some());
    }
}
