//! The needle's own shadow on the face: the same outline, shifted, for the sun's rays are parallel and so is the face to the needle.
//!
//! A shadow close beside the needle pulls the edge on its side. Once the line is roughly known the shift is sought by comparing the
//! evidence beside the needle with the shifted outline; the fit then carries the shadow as a level of its own, block by block.
use super::rows::{Shape, cdf};

/// Where a shadow stands and how soft it is; radii.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shadow {
    /// Shift to the right of the needle's direction.
    pub across: f64,
    /// Shift along it.
    pub along: f64,
    /// Standard deviation of its edges.
    pub soft: f64,
}

/// A place beside the needle: along, across, evidence, weight.
pub type Beside = (f64, f64, f64, f64);

/// Standard deviations of its edge beyond which a shadow is nothing (3e-5 of it is left).
const FAR: f64 = 4.0;

/// Least height of a shadow against the needle's own contrast.
const FAINT: f64 = 0.06;
/// Least share of the variance beside the needle that a shadow must explain, and of what is left to explain it improves on.
const TELLS: f64 = 0.25;
/// Most places that are looked at.
const MOST: usize = 4000;
/// Most places that are looked at to find roughly where a shadow is.
const FEW: usize = 1000;

/// Every so many of some places, so that about `most` are left.
fn thinned(places: &[Beside], most: usize) -> Vec<Beside> {
    places.iter().step_by(places.len() / most + 1).copied().collect()
}

impl Shadow {
    /// Share of a place that lies in the shadow, 0..1.
    pub fn share(&self, shape: &Shape, s: f64, t: f64) -> f64 {
        let half = shape.half_width(s - self.along);
        if half <= 0.0 {
            return 0.0;
        }
        let t = t - self.across;
        // most places lie far outside
        if t.abs() > half + FAR * self.soft {
            return 0.0;
        }
        cdf((t + half) / self.soft) - cdf((t - half) / self.soft)
    }
    /// Seeks a shadow among the places beside the needle; `step`: the needle's own contrast.
    pub fn seek(shape: &Shape, places: &[Beside], step: f64) -> Option<Self> {
        let (few, thin) = (thinned(places, FEW), thinned(places, MOST));
        let softs = [0.8, 2.0].map(|f| f * shape.blur0.max(0.006));
        let shifts = (-12..=12).map(|i| 0.01 * f64::from(i));
        let all =
            shifts.flat_map(|across| [-0.06, 0.0, 0.06].into_iter().flat_map(move |along| softs.map(|soft| Self { across, along, soft })));
        let best = best_of(shape, &few, all)?;
        let best = best.refined(shape, &thin, 0.005).refined(shape, &thin, 0.0025);
        let (height, explained) = best.test(shape, &thin)?;
        (height.abs() > FAINT * step && explained > TELLS).then_some(best)
    }
    /// The best of the neighbours at a distance, itself among them.
    fn refined(self, shape: &Shape, places: &[Beside], by: f64) -> Self {
        let moves = [-1.0, 0.0, 1.0];
        let near = moves.into_iter().flat_map(|a| {
            moves.into_iter().flat_map(move |b| {
                moves.map(|c| Self { across: self.across + a * by, along: self.along + 2.0 * b * by, soft: self.soft * 1.25f64.powf(c) })
            })
        });
        best_of(shape, places, near).unwrap_or(self)
    }
    /// Moved a little to where it explains more.
    pub fn followed(self, shape: &Shape, places: &[Beside]) -> Self {
        self.refined(shape, &thinned(places, MOST), 0.0025)
    }
    /// Height of the shadow and share of the variance that it explains, by weighted regression on its share.
    fn test(&self, shape: &Shape, places: &[Beside]) -> Option<(f64, f64)> {
        let (mut n, mut x, mut y, mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
        for &(s, t, v, w) in places {
            let h = self.share(shape, s, t);
            n += w;
            x += w * h;
            y += w * v;
            xx += w * h * h;
            xy += w * h * v;
            yy += w * v * v;
        }
        let (xx, xy, yy) = (xx - x * x / n, xy - x * y / n, yy - y * y / n);
        (n > 0.0 && xx > 1e-6 * n && yy > 0.0).then(|| (xy / xx, xy * xy / (xx * yy)))
    }
}

fn best_of(shape: &Shape, places: &[Beside], candidates: impl Iterator<Item = Shadow>) -> Option<Shadow> {
    let tested = candidates.filter_map(|c| c.test(shape, places).map(|t| (c, t.1)));
    tested.max_by(|a, b| a.1.total_cmp(&b.1)).map(|b| b.0)
}
