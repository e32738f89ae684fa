//! What is held likely of a scale's curve before its marks are seen.
//!
//! A rising curve v(u), u from 0 to 1 over the sweep, is written by the logarithm of its slope, w(u) = ln dv/du, which may be any
//! function (Ramsay, Estimating smooth monotone functions, J. R. Statist. Soc. B 60 (1998) 365; from memory). w is taken as a Gaussian process: a
//! constant that the marks fix, and the sum of
//!
//! - a **rough part** of intensity s: either smooth on half of the sweep (Matérn 3/2, length 0.5: one end compressed, a root) or a random walk
//!   (Wiener, of variance 2u: a scale in pieces, a knee). Rasmussen & Williams, Gaussian Processes for Machine Learning (2006), 4.2.1;
//! - a **bend to both ends** alike, b (3/2 (2u - 1)² - 1/2): thermistors, and movements whose torque falls off to both sides. It has
//!   an intensity of its own, because three marks with equal halves say nothing of it.
//!
//! Kind and intensities are not known; each combination is weighed by how well it explains the marks (its evidence). The weights
//! below were set by simulation over linear scales, scales compressed to one or to both ends, roots, flat middles and scales in
//! pieces, of slopes within 1 to 4.5 (docs/measurements/scale-shape.md).

/// Kind of the rough part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Rough {
    /// Matérn 3/2.
    Smooth,
    /// Random walk.
    Walk,
}

/// One combination of kind and intensities.
#[derive(Clone, Copy, Debug)]
pub(super) struct Prior {
    pub rough: Rough,
    /// Standard deviation of the rough part of w.
    pub intensity: f64,
    /// Standard deviation of the bend to both ends.
    pub bend: f64,
    /// Weight before the marks are seen.
    pub weight: f64,
}

/// Intensities of the rough part with their weights.
const ROUGH: [(f64, f64); 4] = [(0.02, 0.2), (0.2, 0.3), (0.5, 0.3), (1.2, 0.2)];
/// Intensities of the bend with their weights.
const BEND: [(f64, f64); 2] = [(0.15, 0.75), (0.5, 0.25)];
/// Length of the smooth kind, as a share of the sweep.
const LENGTH: f64 = 0.5;
/// Variance of the constant: wide open, the marks fix it.
const LEVEL: f64 = 9.0;

/// All combinations.
pub(super) fn all() -> impl Iterator<Item = Prior> {
    [Rough::Smooth, Rough::Walk].into_iter().flat_map(|rough| {
        ROUGH
            .iter()
            .flat_map(move |&(intensity, a)| BEND.iter().map(move |&(bend, b)| Prior { rough, intensity, bend, weight: 0.5 * a * b }))
    })
}

impl Prior {
    /// Covariance of w at two places of the sweep.
    pub fn covariance(&self, a: f64, b: f64) -> f64 {
        let rough = match self.rough {
            Rough::Smooth => {
                let d = 3f64.sqrt() * (a - b).abs() / LENGTH;
                (1.0 + d) * (-d).exp()
            }
            Rough::Walk => 2.0 * a.min(b),
        };
        LEVEL + self.intensity.powi(2) * rough + self.bend.powi(2) * both_ends(a) * both_ends(b)
    }
}

/// The bend to both ends: the second Legendre polynomial.
fn both_ends(u: f64) -> f64 {
    1.5 * (2.0 * u - 1.0).powi(2) - 0.5
}
