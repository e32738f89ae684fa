//! How the camera sees the face, as far as it is known before the dial's own ticks are seen: what is usual, and what other dials of the same
//! face show.
//!
//! Dials that lie in one another are printed on one face, so that a sub-dial of three marks, whose ring hardly tells its tilt, is seen at the
//! tilt of the dial about it. What another dial's ticks tell is the quotient of its posterior and the prior it was fitted with (normal
//! densities), widened by how far two such planes are from parallel ([`NESTED`], [`BESIDE`]); all quotients together with the usual prior are
//! the new one.
use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

/// Usual tilt of a reference photo, radians: the width of the prior (common practice; a person holds the phone about so).
const TILT: f64 = 0.122;
/// How many times as wide it is for a ring that is not the circle which would tell its tilt.
const LESS_USUAL: f64 = 2.0;
/// Standard uncertainty of the log of the focal length where EXIF tells it, in whole millimetres; where nothing does, a phone's main or tele lens
/// is possible; and of a part of a larger photo: the half of it has twice the whole's.
const FOCAL: [f64; 3] = [0.03, 0.4, 0.7];
/// How far the tilts of two dials in one another differ, radians: lenses bend the view, and faces. Standard deviation about each axis; with 0.02
/// to 0.08 a drawn sub-dial's readings scatter by 0.21 to 0.27 % of span, without neighbours by 0.30.
pub const NESTED: f64 = 0.04;
/// The same of two dials of one photo that lie side by side, on one plate or each in a housing of its own: two large dials of a photographed
/// cluster seem 3 to 9° apart, in one photo 17°, each to its own side, as where a lens bends the view.
pub const BESIDE: f64 = 0.1;

/// How a face is seen: tilts about the camera's x and y (radians) and the log of the focal length over the one assumed, in that order. A
/// normal density.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeenFace {
    /// Its mean.
    pub mean: Vector3<f64>,
    /// Its covariance.
    pub covariance: Matrix3<f64>,
}

/// What is known of tilt and focal length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ViewPrior {
    /// Usual tilt and focal length (the log of it): standard deviations.
    usual: (f64, f64),
    /// What other dials tell: information, and information times mean.
    told: (Matrix3<f64>, Vector3<f64>),
    mean: Vector3<f64>,
    /// Turns a distance from the mean into standard deviations.
    whitening: Matrix3<f64>,
}

impl ViewPrior {
    /// What is usual; `focal_told`: whether EXIF tells the focal length.
    pub fn usual(focal_told: bool) -> Self {
        Self::with((TILT, if focal_told { FOCAL[0] } else { FOCAL[1] }), (Matrix3::zeros(), Vector3::zeros()))
    }
    /// The same where the usual tilts are in doubt.
    pub fn less_usual(&self) -> Self {
        Self::with((LESS_USUAL * TILT, self.usual.1), self.told)
    }
    /// The same for a part of a larger photo, whose focal length EXIF does not tell; `None` where it told none anyhow.
    pub fn of_a_part(&self) -> Option<Self> {
        (self.usual.1 == FOCAL[0]).then(|| Self::with((self.usual.0, FOCAL[2]), self.told))
    }
    /// The same knowing how another dial is seen, fitted as if no focal length were told, whose tilt differs so much (radians).
    pub fn beside(&self, other: &SeenFace, differs: f64) -> Self {
        let quotient = || {
            let own = other.covariance.try_inverse()?;
            let usual = information((TILT, FOCAL[1]));
            let spread = Matrix3::from_diagonal(&Vector3::new(differs * differs, differs * differs, 0.0));
            // where the prior told nearly all, rounding may leave less than nothing
            let told = (own - usual).symmetric_eigen();
            let kept = told.eigenvalues.map(|v| v.max(1e-9));
            let covariance = told.eigenvectors * Matrix3::from_diagonal(&kept.map(f64::recip)) * told.eigenvectors.transpose();
            let told = (covariance + spread).try_inverse()?;
            let mean = covariance * (own * other.mean);
            Some((self.told.0 + told, self.told.1 + told * mean))
        };
        quotient().map_or(*self, |told| Self::with(self.usual, told))
    }
    /// Distance of tilts and log focal length from what is known, in standard deviations.
    pub fn residuals(&self, [rx, ry, log_focal]: [f64; 3]) -> [f64; 3] {
        (self.whitening * (Vector3::new(rx, ry, log_focal) - self.mean)).into()
    }
    /// Distance of tilts from what is known of them, in standard deviations.
    pub fn off_tilt(&self, [rx, ry]: [f64; 2]) -> f64 {
        let covariance = (self.whitening.transpose() * self.whitening).try_inverse().unwrap_or_else(Matrix3::identity);
        let off = Vector2::new(rx - self.mean[0], ry - self.mean[1]);
        let tilts: Matrix2<f64> = covariance.fixed_view::<2, 2>(0, 0).into();
        tilts.try_inverse().map_or(0.0, |i| (off.transpose() * i * off)[(0, 0)].max(0.0).sqrt())
    }
    fn with(usual: (f64, f64), told: (Matrix3<f64>, Vector3<f64>)) -> Self {
        let known = information(usual) + told.0;
        match known.cholesky() {
            Some(c) => Self { usual, told, mean: c.solve(&told.1), whitening: c.l().transpose() },
            None => Self { usual, told, mean: Vector3::zeros(), whitening: information(usual).map(f64::sqrt) },
        }
    }
}

/// Information of the usual prior.
fn information((tilt, focal): (f64, f64)) -> Matrix3<f64> {
    Matrix3::from_diagonal(&Vector3::new(tilt, tilt, focal).map(|s| 1.0 / (s * s)))
}
