//! What an alignment says of the dial's place in the photo.
use super::align::Aligned;
use crate::maths::blur::BlurCovariance;
use crate::maths::homography::{Homography, PlaneInPhoto};
use crate::maths::measured::independent_terms;
use crate::maths::plane_view::PlaneView;
use crate::maths::point::DialPoint;
use crate::photo::Photo;
use nalgebra::{DMatrix, Vector3};

/// Radius out to which print counts as the dial's own where no bezel ends it.
pub(super) const OWN_PRINT: f64 = 1.35;

/// Where the dial is in the photo.
#[derive(Clone, Debug)]
pub struct Registration {
    /// Dial plane to photo px.
    pub dial_to_photo: PlaneInPhoto,
    /// Covariance of the eight parameters D of a small homography on the dial side, row by row: photo px to dial plane W <- (1 + D) W.
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
    /// Blur of the photo against the reference picture, dial units².
    pub blur: BlurCovariance<DialPoint>,
    /// Robust noise of the comparison, levels.
    pub noise: f64,
    /// Photo levels per reference level of the whole face.
    pub gain: f64,
}

impl Registration {
    /// How the dial's plane was seen by the photo's camera.
    pub(crate) fn view(&self, photo: &Photo) -> PlaneView {
        PlaneView::new((photo.width, photo.height), photo.focal_ratio, &self.dial_to_photo, &self.shifts())
    }
    /// Where the camera stood in the dial frame, radii, as far as the photo tells; `None` where the map is not that of a plane before a camera.
    pub fn seen_from(&self, photo: &Photo) -> Option<Vector3<f64>> {
        self.view(photo).centre
    }
    /// Small homographies on the dial side, one sigma along each independent direction of the covariance.
    pub fn shifts(&self) -> Vec<Homography<DialPoint, DialPoint>> {
        let l = independent_terms(&self.covariance);
        (0..l.ncols()).map(|k| Homography::small(std::array::from_fn(|i| l[(i, k)]))).collect()
    }
    /// Variance of the pivot's place across a direction (degrees clockwise from up), radii².
    pub fn across_pivot(&self, angle: f64) -> f64 {
        let (s, c) = angle.to_radians().sin_cos();
        let across = |d: Homography<DialPoint, DialPoint>| {
            let moved = d.at(0.0, 0.0);
            moved.x * c - moved.y * s
        };
        self.shifts().into_iter().map(across).map(|v| v * v).sum()
    }
}

pub(super) fn registration(dial_to_photo: PlaneInPhoto, a: &Aligned, matches: usize, blur: BlurCovariance<DialPoint>) -> Registration {
    let weight: f64 = a.cells.iter().map(|c| c.0.sqrt()).sum::<f64>() + 1e-9;
    let (print_match, seen) = agreement(a);
    let gain = a.cells.iter().zip(&a.gain_offset).map(|(c, l)| c.0.sqrt() * l.0).sum::<f64>() / weight;
    let contradicted = share(a.cells.iter().zip(&a.contradicts).filter(|c| *c.1).map(|c| c.0.0), weight);
    Registration {
        dial_to_photo,
        covariance: a.covariance.clone(),
        print_match,
        seen,
        contradicted,
        matches,
        scale: dial_to_photo.mean_scale(),
        blur,
        noise: a.noise,
        gain,
    }
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
