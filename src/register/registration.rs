//! What an alignment says of the dial's place in the photo.
use super::align::Aligned;
use super::template::Blur;
use crate::maths::homography::mean_scale;
use crate::maths::measured::independent_terms;
use nalgebra::{DMatrix, Matrix3};

/// Radius out to which print counts as the dial's own where no bezel ends it.
pub(super) const OWN_PRINT: f64 = 1.35;

/// Where the dial is in the photo.
#[derive(Clone, Debug)]
pub struct Registration {
    /// Dial plane to photo px.
    pub homography: Matrix3<f64>,
    /// Photo px to dial plane.
    pub back: Matrix3<f64>,
    /// Covariance of the eight parameters D of a small homography on the dial side (back <- (1 + D) back), row by row.
    pub covariance: DMatrix<f64>,
    /// Agreement with the print, -1..1: correlation by cells, weighted by how much print a cell has.
    pub print_match: f64,
    /// Share of the print (by weight) in cells that agree.
    pub seen: f64,
    /// Share of the print (by weight) in cells where the photo clearly shows something else.
    pub contradicted: f64,
    /// Matches that proposed the place; 0 where an earlier photo did.
    pub matches: usize,
    /// px per unit.
    pub scale: f64,
    /// Blur of the photo against the reference as a covariance in dial units² (x right, y up).
    pub blur: [f64; 3],
    /// Robust noise of the comparison, levels.
    pub noise: f64,
    /// Photo levels per reference level of the whole face.
    pub gain: f64,
}

impl Registration {
    /// Standard deviation of the photo's blur, the mean of all directions, dial units.
    pub fn round_blur(&self) -> f64 {
        (0.5 * (self.blur[0] + self.blur[2])).max(0.0).sqrt()
    }
    /// Small homographies on the dial side, one sigma along each independent direction of the covariance.
    pub fn shifts(&self) -> Vec<Matrix3<f64>> {
        let l = independent_terms(&self.covariance);
        let small = |k: usize| {
            Matrix3::new(1.0 + l[(0, k)], l[(1, k)], l[(2, k)], l[(3, k)], 1.0 + l[(4, k)], l[(5, k)], l[(6, k)], l[(7, k)], 1.0)
        };
        (0..l.ncols()).map(small).collect()
    }
}

pub(super) fn registration(homography: Matrix3<f64>, a: &Aligned, matches: usize, k: f64, blur: Blur) -> Option<Registration> {
    let weight: f64 = a.cells.iter().map(|c| c.0.sqrt()).sum::<f64>() + 1e-9;
    let (print_match, seen) = agreement(a);
    let gain = a.cells.iter().zip(&a.gain_offset).map(|(c, l)| c.0.sqrt() * l.0).sum::<f64>() / weight;
    let contradicted = share(a.cells.iter().zip(&a.contradicts).filter(|c| *c.1).map(|c| c.0.0), weight);
    Some(Registration {
        homography,
        back: homography.try_inverse()?,
        covariance: a.covariance.clone(),
        print_match,
        seen,
        contradicted,
        matches,
        scale: mean_scale(&homography),
        blur: [blur[0] / (k * k), -blur[1] / (k * k), blur[2] / (k * k)],
        noise: a.noise,
        gain,
    })
}

/// Correlation with the print by cells, weighted by how much print a cell has, and the share of the print that agrees.
pub(super) fn agreement(a: &Aligned) -> (f64, f64) {
    let weight: f64 = a.cells.iter().map(|c| c.0.sqrt()).sum::<f64>() + 1e-9;
    let print_match = a.cells.iter().map(|c| c.0.sqrt() * c.1).sum::<f64>() / weight;
    let seen = share(a.cells.iter().filter(|c| c.1 > 0.5).map(|c| c.0), weight);
    (print_match, seen)
}

/// What cells of this much print have of the whole weight; of none 0, where an empty sum is -0.
fn share(print: impl Iterator<Item = f64>, weight: f64) -> f64 {
    print.map(f64::sqrt).fold(0.0, |sum, v| sum + v) / weight
}

/// Keeps the blur a covariance: eigenvalues between nothing and 6 px.
pub(super) fn clamp_blur(b: Blur) -> Blur {
    let m = nalgebra::Matrix2::new(b[0], b[1], b[1], b[2]);
    if m.iter().any(|v| !v.is_finite()) {
        return [0.5, 0.0, 0.5];
    }
    let e = m.symmetric_eigen();
    let d = nalgebra::Matrix2::from_diagonal(&e.eigenvalues.map(|v| v.clamp(0.0, 36.0)));
    let c = e.eigenvectors * d * e.eigenvectors.transpose();
    [c[(0, 0)], c[(0, 1)], c[(1, 1)]]
}
