//! What a needle is told from the face by: an axis of colour, and what one is on it.
use super::paint::along_axis;
use crate::dial::NeedleLook;
use crate::maths::robust::ranked;
use crate::register::rendering::Canonical;
use nalgebra::Vector3;

/// An axis of colour, as weights of the colours, and the colour that measures one on it.
#[derive(Clone, Debug)]
pub(super) struct NeedleAxis {
    pub weights: Vector3<f64>,
    pub contrast: Vector3<f64>,
}

/// One place in so many is surely print: that many stand out at least as far as what is taken for the print's contrast. No curve kept.
const PRINT: usize = 50;
/// Cosine to grey, of either sign, from which a needle is told by brightness already: white and black ones have 1, a red one on grey 0.3.
const GREY: f64 = 0.9;
/// Least contrast of print, levels: less is noise.
const LEAST_PRINT: f64 = 1.0;

impl NeedleAxis {
    /// The needle's colour against the paper in the reference, as far as shade does not have it too.
    pub fn of_look(look: &NeedleLook) -> Self {
        Self { weights: Vector3::from(look.axis), contrast: Vector3::from(look.contrast) }
    }
    /// Brightness, one being the print's contrast in the reference: by night print and needle are lit by the same lamps. `None` where the
    /// needle's own colour is told by brightness or darkness anyway.
    pub fn lit(look: &NeedleLook, coarse: &[Canonical; 3], [inner, outer]: [f64; 2]) -> Option<Self> {
        let grey = Vector3::repeat(1.0 / 3.0);
        let own = Vector3::from(look.axis);
        if own.dot(&grey).abs() > GREY * own.norm() * grey.norm() {
            return None;
        }
        let n = coarse[0].plane.width;
        let place = |i: &usize| {
            let (x, y) = coarse[0].dial(i % n, i / n);
            (inner..outer).contains(&x.hypot(y))
        };
        let level = |i: usize| f64::from(along_axis(&grey, coarse.each_ref().map(|c| c.plane.data[i])));
        let levels: Vec<f64> = (0..n * coarse[0].plane.height).filter(place).map(level).collect();
        let at = |rank: fn(usize) -> usize| ranked(levels.iter().copied(), rank);
        let (dark, middle, light) = (at(|n| n / PRINT)?, at(|n| n / 2)?, at(|n| n.saturating_sub(1 + n / PRINT))?);
        let print = (light - middle).max(middle - dark);
        (print > LEAST_PRINT).then(|| Self { weights: grey / print, contrast: Vector3::repeat(print) })
    }
}
