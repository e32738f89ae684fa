//! What an alignment estimates, and what is known of it before.
use crate::maths::homography::WorkToPlane;
use nalgebra::{DMatrix, DVector};

/// Where the map is expected, and the information (inverse covariance) of the eight parameters about it.
#[derive(Clone, Debug)]
pub struct Prior {
    /// Expected map.
    pub to_dial: WorkToPlane,
    /// Information.
    pub information: DMatrix<f64>,
}

impl Prior {
    /// The eight parameters by which a map differs from the expected one.
    pub(super) fn difference(&self, to_dial: &WorkToPlane) -> Option<DVector<f64>> {
        let d = *to_dial * self.to_dial.inverse()?;
        Some(DVector::from_row_slice(&d.parameters()))
    }
}

/// What an alignment estimates, and how long.
#[derive(Clone, Copy, Debug)]
pub struct Task<'a> {
    /// Units out to which the face is compared.
    pub extent: f64,
    /// Most rounds of Gauss-Newton.
    pub rounds: usize,
    /// Whether a change of the template's blur is estimated too.
    pub blur_too: bool,
    /// Whether the photo's blur is taken as it changes over the face.
    pub uneven: bool,
    /// Holds the map near an expected one.
    pub prior: Option<&'a Prior>,
    /// Step below which it stands still, canonical px.
    pub still: f64,
}
