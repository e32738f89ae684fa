//! A number with its uncertainty as signed, independent terms keyed by where they come from.
//!
//! sigma² = Σ terms²; a difference is taken term by term, so what both sides share cancels as far as it is the same,
//! and `x - x` is exactly 0 ± 0. Source identities survive saving. Linear propagation (JCGM 100:2008, 5.1 and F.1.2.3).
use super::source::{Source, Which};
use super::units::Unit;
use nalgebra::{DMatrix, SymmetricEigen};
use std::collections::BTreeMap;

/// A value and the signed one-sigma contribution of each independent source.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Measured {
    value: f64,
    terms: BTreeMap<Source, f64>,
}

impl Measured {
    /// A value without uncertainty.
    pub fn exact(value: f64) -> Self {
        Self { value, terms: BTreeMap::new() }
    }
    /// A value with the given terms (signed one-sigma contributions, same unit as the value).
    pub fn new<S: Into<Source>>(value: f64, terms: impl IntoIterator<Item = (S, f64)>) -> Self {
        Self { value, terms: terms.into_iter().map(|(s, t)| (s.into(), t)).collect() }
    }
    /// The value.
    pub fn value(&self) -> f64 {
        self.value
    }
    /// The terms, by source.
    pub fn terms(&self) -> &BTreeMap<Source, f64> {
        &self.terms
    }
    /// The contribution of one source, where it has one.
    pub fn term(&self, source: impl Into<Source>) -> Option<f64> {
        self.terms.get(&source.into()).copied()
    }
    /// Standard uncertainty: root of the sum of the squared terms.
    pub fn sigma(&self) -> f64 {
        self.terms.values().map(|t| t * t).sum::<f64>().sqrt()
    }
    /// Adds a signed one-sigma contribution of a source (to what that source already contributes).
    pub fn with_term(mut self, source: impl Into<Source>, contribution: f64) -> Self {
        *self.terms.entry(source.into()).or_insert(0.0) += contribution;
        self
    }
    /// The sum, term by term.
    pub fn plus(&self, other: &Self) -> Self {
        self.combine(other, 1.0)
    }
    /// The difference, term by term: shared sources cancel as far as they contribute the same.
    pub fn minus(&self, other: &Self) -> Self {
        self.combine(other, -1.0)
    }
    /// Multiplied by an exact factor.
    pub fn scaled(&self, factor: f64) -> Self {
        Self { value: self.value * factor, terms: self.terms.iter().map(|(k, t)| (k.clone(), t * factor)).collect() }
    }
    /// The mean of several, term by term; `None` when there are none.
    pub fn mean(all: &[Self]) -> Option<Self> {
        let first = all.first()?;
        let sum = all[1..].iter().fold(first.clone(), |s, m| s.plus(m));
        Some(sum.scaled(1.0 / all.len() as f64))
    }
    /// Sigma² from the sources for which `which` holds.
    pub fn variance_of(&self, which: impl Fn(&Source) -> bool) -> f64 {
        self.terms.iter().filter(|(k, _)| which(k)).map(|(_, t)| t * t).sum()
    }
    /// The terms of the sources for which `which` holds, and the value.
    pub fn only(&self, which: impl Fn(&Source) -> bool) -> Self {
        Self { value: self.value, terms: self.terms.iter().filter(|(k, _)| which(k)).map(|(k, t)| (k.clone(), *t)).collect() }
    }
    /// With the terms of the sources for which `which` holds so many times as large.
    pub fn enlarged(&self, which: impl Fn(&Source) -> bool, by: f64) -> Self {
        let terms = self.terms.iter().map(|(k, t)| (k.clone(), if which(k) { t * by } else { *t })).collect();
        Self { value: self.value, terms }
    }
    /// With the sources as they are on a side of a comparison ([`Source::on`]).
    pub fn on(&self, side: Which) -> Self {
        Self { value: self.value, terms: self.terms.iter().map(|(k, t)| (k.on(side), *t)).collect() }
    }
    /// A temperature in another unit; terms are differences and convert without the offset.
    pub fn converted(&self, from: Unit, to: Unit) -> Self {
        let terms = self.terms.iter().map(|(k, t)| (k.clone(), from.convert_difference(*t, to))).collect();
        Self { value: from.convert(self.value, to), terms }
    }
    /// With another value and the same terms.
    pub fn at(self, value: f64) -> Self {
        Self { value, ..self }
    }
    fn combine(&self, other: &Self, sign: f64) -> Self {
        let mut terms = self.terms.clone();
        for (k, t) in &other.terms {
            *terms.entry(k.clone()).or_insert(0.0) += sign * t;
        }
        Self { value: self.value + sign * other.value, terms }
    }
}

/// Splits a covariance into independent terms: row i of the answer is the signed contribution of each unit-variance
/// source to quantity i, so that `L Lᵀ` is the covariance. Through the eigenvectors of the correlation matrix, so that
/// quantities of different units are treated alike. Negative eigenvalues (rounding) count as zero. A quantity whose variance or
/// covariances are not finite gets NaN contributions: unknown, never zero.
pub fn independent_terms(covariance: &DMatrix<f64>) -> DMatrix<f64> {
    let n = covariance.nrows();
    let sd: Vec<f64> = (0..n)
        .map(|i| match covariance.row(i).iter().chain(covariance.column(i).iter()).all(|c| c.is_finite()) {
            true => covariance[(i, i)].max(0.0).sqrt(),
            false => f64::NAN,
        })
        .collect();
    let corr = DMatrix::from_fn(n, n, |i, j| {
        let d = sd[i] * sd[j];
        if d > 0.0 {
            0.5 * (covariance[(i, j)] + covariance[(j, i)]) / d
        } else if i == j {
            1.0
        } else {
            0.0
        }
    });
    let eigen = SymmetricEigen::new(corr);
    DMatrix::from_fn(n, n, |i, j| sd[i] * eigen.eigenvectors[(i, j)] * eigen.eigenvalues[j].max(0.0).sqrt())
}
