//! Small dense least squares: solving normal equations, and where the size of the noise comes from.
use nalgebra::{DMatrix, DVector, SymmetricEigen};

/// Smallest share of the largest eigenvalue (matrix scaled to unit diagonal) that still counts as determined by the data:
/// what rounding leaves of a zero in a matrix of this size.
const RANK_SHARE: f64 = 1e-13;

/// Where the noise that scales a covariance comes from. A covariance is never rescaled behind the caller's back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Noise {
    /// The one-sigma noise of an observation of weight 1, known beforehand (unit of the observation).
    Sigma(f64),
    /// Estimated from the residuals: sqrt(rss / degrees of freedom). Unknown when nothing is left over.
    FromScatter,
}

impl Noise {
    /// Variance of an observation of weight 1, given the weighted residual sum of squares and the degrees of freedom left.
    /// `None` when it must come from the scatter and there are no degrees of freedom, or when it is not a number.
    pub fn unit_variance(self, rss: f64, dof: usize) -> Option<f64> {
        let variance = match self {
            Noise::Sigma(s) => s * s,
            Noise::FromScatter if dof == 0 => return None,
            Noise::FromScatter => rss / dof as f64,
        };
        variance.is_finite().then_some(variance)
    }
}

/// Solution of normal equations.
#[derive(Clone, Debug, PartialEq)]
pub struct Solved {
    /// The parameters.
    pub x: DVector<f64>,
    /// Inverse of the normal matrix: the covariance of `x` for observations of unit variance. When `rank` is less than the
    /// number of parameters this is the pseudo-inverse and says **nothing** of the directions the data leave open (it holds
    /// zero there): do not use it as an uncertainty.
    pub covariance: DMatrix<f64>,
    /// How many independent combinations of parameters the data determine.
    pub rank: usize,
}

/// Solves N x = v for a symmetric positive normal matrix N = AᵀWA and v = AᵀWb.
///
/// N is first scaled to unit diagonal, so that parameters of different units are treated alike; then Cholesky. When that
/// fails, or N is singular to rounding, the pseudo-inverse by eigenvectors of the scaled matrix: the answer that is smallest
/// in units of each parameter's own scale, with `rank` telling how much of it the data determine.
/// `None` for shapes that do not fit, no parameters, or something not finite.
pub fn normal_solve(n: &DMatrix<f64>, v: &DVector<f64>) -> Option<Solved> {
    let k = n.nrows();
    if k == 0 || n.ncols() != k || v.len() != k || !n.iter().chain(v.iter()).all(|e| e.is_finite()) {
        return None;
    }
    let d: Vec<f64> = (0..k).map(|i| if n[(i, i)] > 0.0 { n[(i, i)].sqrt() } else { 1.0 }).collect();
    let scaled = DMatrix::from_fn(k, k, |i, j| 0.5 * (n[(i, j)] + n[(j, i)]) / d[i] / d[j]);
    if !scaled.iter().all(|e| e.is_finite()) {
        return None;
    }
    let (inverse, rank) = inverse_or_pseudo(scaled);
    let scaled_v = DVector::from_fn(k, |i, _| v[i] / d[i]);
    let scaled_x = &inverse * scaled_v;
    let x = DVector::from_fn(k, |i, _| scaled_x[i] / d[i]);
    let covariance = DMatrix::from_fn(k, k, |i, j| inverse[(i, j)] / d[i] / d[j]);
    x.iter().chain(covariance.iter()).all(|e| e.is_finite()).then_some(Solved { x, covariance, rank })
}

/// Inverse and rank of a symmetric positive matrix scaled to unit diagonal.
fn inverse_or_pseudo(m: DMatrix<f64>) -> (DMatrix<f64>, usize) {
    let k = m.nrows();
    if let Some(c) = m.clone().cholesky() {
        let least = c.l_dirty().diagonal().iter().fold(f64::INFINITY, |a, b| a.min(b * b));
        if least > RANK_SHARE * k as f64 {
            return (c.inverse(), k);
        }
    }
    let eigen = SymmetricEigen::new(m);
    let floor = RANK_SHARE * k as f64 * eigen.eigenvalues.iter().fold(0.0, |a: f64, b| a.max(*b));
    let kept: Vec<usize> = (0..k).filter(|&i| eigen.eigenvalues[i] > floor).collect();
    let inverse = kept.iter().fold(DMatrix::zeros(k, k), |sum, &i| {
        let e = eigen.eigenvectors.column(i);
        sum + e * e.transpose() / eigen.eigenvalues[i]
    });
    (inverse, kept.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn well_posed_in_very_different_units() {
        let n = DMatrix::from_row_slice(2, 2, &[4.0, 2e-9, 2e-9, 9e-18]);
        let s = normal_solve(&n, &DVector::from_vec(vec![8.0, 4e-9])).unwrap();
        assert_eq!(s.rank, 2);
        assert!((&n * &s.covariance - DMatrix::identity(2, 2)).iter().enumerate().all(|(i, e)| e.abs() < if i == 2 { 1e-3 } else { 1e-9 }));
        assert!((s.x[0] - 2.0).abs() < 1e-12 && s.x[1].abs() < 1e-3);
    }

    #[test]
    fn singular_reports_its_rank_and_the_smallest_answer() {
        // Only the sum of the two is known to be 3.
        let n = DMatrix::from_row_slice(2, 2, &[1.0, 1.0, 1.0, 1.0]);
        let s = normal_solve(&n, &DVector::from_vec(vec![3.0, 3.0])).unwrap();
        assert_eq!(s.rank, 1);
        assert!((s.x[0] - 1.5).abs() < 1e-12 && (s.x[1] - 1.5).abs() < 1e-12);
        assert_eq!(normal_solve(&DMatrix::zeros(2, 2), &DVector::zeros(2)).unwrap().rank, 0);
    }

    #[test]
    fn odd_input_is_no_answer() {
        assert!(normal_solve(&DMatrix::from_element(1, 1, f64::NAN), &DVector::zeros(1)).is_none());
        assert!(normal_solve(&DMatrix::zeros(0, 0), &DVector::zeros(0)).is_none());
        assert!(normal_solve(&DMatrix::zeros(2, 3), &DVector::zeros(2)).is_none());
        assert!(normal_solve(&DMatrix::identity(2, 2), &DVector::from_vec(vec![1.0, f64::INFINITY])).is_none());
        assert_eq!(Noise::FromScatter.unit_variance(1.0, 0), None);
        assert_eq!(Noise::Sigma(2.0).unit_variance(1.0, 0), Some(4.0));
        assert_eq!(Noise::Sigma(f64::NAN).unit_variance(1.0, 3), None);
    }
}
