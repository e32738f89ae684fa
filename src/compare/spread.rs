//! A standard uncertainty with its degrees of freedom and its 95 % band.
use crate::maths::student::{coverage_factor_95, welch_satterthwaite};

/// An independent part of an uncertainty that is an estimate itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Part {
    /// One sigma.
    pub sigma: f64,
    /// Degrees of freedom.
    pub dof: f64,
}

/// A standard uncertainty with its degrees of freedom and the half width of its 95 % band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Spread {
    pub sigma: f64,
    pub dof: f64,
    pub half: f64,
}

impl Spread {
    /// Terms that count as known, and parts with their own degrees of freedom.
    pub fn of(terms: f64, parts: &[Part]) -> Self {
        let all: Vec<(f64, f64)> = parts.iter().map(|p| (p.sigma, p.dof)).chain([(terms, f64::INFINITY)]).collect();
        let sigma = all.iter().map(|(s, _)| s * s).sum::<f64>().sqrt();
        // Two photos give one degree of freedom: fewer would say less than nothing was learned from them.
        let dof = welch_satterthwaite(&all).max(1.0);
        Self { sigma, dof, half: if sigma > 0.0 { coverage_factor_95(dof) * sigma } else { 0.0 } }
    }
}
