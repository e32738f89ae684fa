//! What an alignment estimates, and what is known of it before.
use super::template::Blur;
use nalgebra::{DMatrix, DVector, Matrix3};

/// Where the map is expected: photo px to dial plane, and the information (inverse covariance) of the eight parameters about it.
#[derive(Clone, Debug)]
pub struct Prior {
    /// Expected map.
    pub w: Matrix3<f64>,
    /// Information.
    pub information: DMatrix<f64>,
}

impl Prior {
    /// The eight parameters by which `w` differs from the expected map.
    pub(super) fn difference(&self, w: &Matrix3<f64>) -> Option<DVector<f64>> {
        let d = w * self.w.try_inverse()?;
        let d = d / d[(2, 2)];
        Some(DVector::from_vec(vec![d[(0, 0)] - 1.0, d[(0, 1)], d[(0, 2)], d[(1, 0)], d[(1, 1)] - 1.0, d[(1, 2)], d[(2, 0)], d[(2, 1)]]))
    }
}

/// What an alignment estimates, and how long.
#[derive(Clone, Copy, Debug)]
pub struct Task<'a> {
    /// Units out to which the face is compared.
    pub extent: f64,
    /// Most rounds of Gauss-Newton.
    pub rounds: usize,
    /// The template's blur, when its change is to be estimated too.
    pub blur: Option<Blur>,
    /// Whether the photo's blur is taken as it changes over the face.
    pub uneven: bool,
    /// Holds the map near an expected one.
    pub prior: Option<&'a Prior>,
    /// Step below which it stands still, canonical px.
    pub still: f64,
}
