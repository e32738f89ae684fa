//! The needle's own shadow on the face: the same outline, shifted, for the sun's rays are parallel and so is the face to the needle.
//!
//! A shadow close beside the needle pulls the edge on its side. Once the line is roughly known the shift is sought by comparing the
//! evidence beside the needle with the shifted outline; the fit then carries the shadow as a level of its own, block by block.
use super::beside::{Beside, Places};
use super::shape::{Shadow, Shape};

/// Least height of a shadow against the needle's own contrast.
const FAINT: f64 = 0.06;
/// Least share of the variance beside the needle that a shadow must explain, and of what is left to explain it improves on.
const TELLS: f64 = 0.25;
/// Most places that are looked at.
const MOST: usize = 4000;
/// Most places that are looked at to find roughly where a shadow is.
const FEW: usize = 1000;

impl Shadow {
    /// Seeks a shadow among the places beside the needle; `step`: the needle's own contrast.
    pub fn seek(shape: &Shape, places: &[Beside], step: f64) -> Option<Self> {
        let (few, thin) = (Places::thinned(places, FEW), Places::thinned(places, MOST));
        let softs = [0.8, 2.0].map(|f| f * shape.blur0.max(0.006));
        let shifts: Vec<f64> = (-12..=12).map(|i| 0.01 * f64::from(i)).collect();
        let best = best_of(shape, &few, &shifts, &[-0.06, 0.0, 0.06], &softs)?;
        let best = best.refined(shape, &thin, 0.005).refined(shape, &thin, 0.0025);
        let (height, explained) = thin.test(&thin.halves(shape, best.along), &best)?;
        (height.abs() > FAINT * step && explained > TELLS).then_some(best)
    }
    /// The best of the neighbours at a distance, itself among them.
    fn refined(self, shape: &Shape, places: &Places, by: f64) -> Self {
        let moves = [-1.0, 0.0, 1.0];
        let [across, along] = [(self.across, by), (self.along, 2.0 * by)].map(|(at, by)| moves.map(|m| at + m * by));
        best_of(shape, places, &across, &along, &moves.map(|m| self.soft * 1.25f64.powf(m))).unwrap_or(self)
    }
    /// Moved a little to where it explains more.
    pub fn followed(self, shape: &Shape, places: &[Beside]) -> Self {
        self.refined(shape, &Places::thinned(places, MOST), 0.0025)
    }
}

/// The shadow that explains most of some places.
fn best_of(shape: &Shape, places: &Places, across: &[f64], along: &[f64], soft: &[f64]) -> Option<Shadow> {
    let mut best: Option<(Shadow, f64)> = None;
    for &along in along {
        let halves = places.halves(shape, along);
        let all = across.iter().flat_map(|&across| soft.iter().map(move |&soft| Shadow { across, along, soft }));
        for (shadow, explained) in all.filter_map(|s| places.test(&halves, &s).map(|t| (s, t.1))) {
            if best.is_none_or(|b| explained > b.1) {
                best = Some((shadow, explained));
            }
        }
    }
    best.map(|b| b.0)
}
