//! Least squares of which each residual counts in its own way: Levenberg–Marquardt with numeric derivatives.
use nalgebra::{DMatrix, DVector};

/// Distance from its ring, in sigmas, beyond which a tick's end counts as spoilt rather than uncertain: a numeral or the needle that
/// touches a tick moves its end by a pixel and more, always to the same side.
const SPOILT: f64 = 3.0;

/// How far a residual counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// In full.
    Firm,
    /// An outlier pulls, but no harder than one sigma (pseudo-Huber).
    Soft,
    /// An outlier does not pull (Geman and McClure 1985).
    Spoilable,
}

impl Kind {
    fn loss(self, v: f64) -> f64 {
        match self {
            Kind::Firm => v * v,
            Kind::Soft => 2.0 * ((1.0 + v * v).sqrt() - 1.0),
            Kind::Spoilable => v * v / (1.0 + (v / SPOILT).powi(2)),
        }
    }
    pub fn weight(self, v: f64) -> f64 {
        match self {
            Kind::Firm => 1.0,
            Kind::Soft => 1.0 / (1.0 + v * v).sqrt(),
            Kind::Spoilable => (1.0 + (v / SPOILT).powi(2)).powi(-2),
        }
    }
    /// What a first fit counts with, whose start may be far off: there an end that is right may look spoilt.
    pub fn at_first(self) -> Self {
        if self == Kind::Spoilable { Kind::Soft } else { self }
    }
}

/// Residuals in units of sigma at the unknowns, and how each counts.
pub type Residuals<'a> = dyn Fn(&DVector<f64>) -> Vec<(f64, Kind)> + 'a;

/// Levenberg–Marquardt from a start along the first unknowns, as many as there are `steps` of numeric derivatives; `counts` says how each kind of
/// residual counts. Unknowns and what they cost, twice the negative log likelihood less a constant.
pub fn descend(residuals: &Residuals, start: DVector<f64>, steps: &[f64], counts: fn(Kind) -> Kind) -> Option<(DVector<f64>, f64)> {
    let loss = |p: &DVector<f64>| residuals(p).iter().map(|(v, k)| counts(*k).loss(*v)).sum::<f64>();
    let (mut p, mut lambda, mut cost) = (start, 1e-4, f64::MAX);
    for _ in 0..60 {
        let (mut damped, gradient) = normal_equations(residuals, &p, steps, counts);
        for i in 0..steps.len() {
            damped[(i, i)] *= 1.0 + lambda;
        }
        let step = damped.lu().solve(&gradient)?;
        let mut next = p.clone();
        next.rows_mut(0, steps.len()).zip_apply(&step, |a, b| *a -= b);
        let c = loss(&next);
        if c <= cost + 1e-12 {
            let done = (cost - c).abs() < 1e-9 * (1.0 + c);
            (p, cost, lambda) = (next, c, (lambda * 0.3).max(1e-9));
            if done {
                break;
            }
        } else {
            lambda = (lambda * 8.0).min(1e6);
            if lambda >= 1e6 {
                break;
            }
        }
    }
    Some((p, cost))
}

/// JᵀWJ and JᵀWr along the first unknowns, as many as there are `steps`.
pub fn normal_equations(residuals: &Residuals, p: &DVector<f64>, steps: &[f64], counts: fn(Kind) -> Kind) -> (DMatrix<f64>, DVector<f64>) {
    let r = residuals(p);
    let w: Vec<f64> = r.iter().map(|(v, k)| counts(*k).weight(*v)).collect();
    let mut j = DMatrix::zeros(r.len(), steps.len());
    for (c, step) in steps.iter().enumerate() {
        let (mut a, mut b) = (p.clone(), p.clone());
        a[c] += step;
        b[c] -= step;
        for (i, (a, b)) in residuals(&a).iter().zip(residuals(&b)).enumerate() {
            j[(i, c)] = (a.0 - b.0) / (2.0 * step);
        }
    }
    let wj = DMatrix::from_fn(r.len(), steps.len(), |i, c| w[i] * j[(i, c)]);
    (wj.transpose() * &j, wj.transpose() * DVector::from_iterator(r.len(), r.iter().map(|v| v.0)))
}
