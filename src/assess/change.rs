//! The smallest change that a dial can show with so many photos a side.
//!
//! A change counts as shown when its 95 % band leaves out zero. It is told of the change that is shown in 95 of 100 cases
//! ([`crate::base::detection`]).
use crate::base::detection::detection_limit;
use crate::base::measured::Measured;
use crate::dial::Dial;
use crate::scale::{STICTION, Scale};

/// What one photo adds to a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PhotoNoise {
    /// One sigma, dial unit.
    pub sigma: f64,
    /// Its degrees of freedom: infinite where it is worked out, photos less one where it was seen.
    pub dof: f64,
    /// Where it is from.
    pub from: NoiseFrom,
}

/// Where a photo's share is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoiseFrom {
    /// No photo was given: [`USUAL_TIP`] at [`USUAL_WIDTH`].
    Assumed,
    /// What the one photo given explains of itself.
    Explained,
    /// Repeated readings.
    Seen,
}

/// How well a usual photo fixes the needle's tip, px, one sigma (72 renderings of four dials: half of them better than 0.1, nine of ten
/// better than 0.3).
pub const USUAL_TIP: f64 = 0.3;
/// Width of the dial in a usual photo, px.
pub const USUAL_WIDTH: f64 = 400.0;

impl PhotoNoise {
    /// For want of a photo. `per_degree`: dial unit per degree of needle.
    pub(super) fn assumed(dial: &Dial, per_degree: f64) -> Self {
        let degrees = (USUAL_TIP / (0.5 * USUAL_WIDTH * dial.needle.span[1])).to_degrees();
        Self { sigma: degrees * per_degree, dof: f64::INFINITY, from: NoiseFrom::Assumed }
    }
}

/// The smallest change for a number of photos.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Smallest {
    /// Photos on each side.
    pub photos: usize,
    /// The change, dial unit.
    pub change: f64,
}

/// Photos a side for which it is told.
const PHOTOS: [usize; 4] = [1, 3, 5, 10];

/// The smallest change from the place nearest to the middle of the scale at which the needle moves, for several numbers of photos; none
/// where flat zones leave no such place. Counts: the photos, what marks, shape and gauge leave in the difference of the two places, a
/// needle that sticks on each side. Does not count: unlike conditions.
pub(super) fn smallest(dial: &Dial, scale: &Scale, noise: PhotoNoise) -> Vec<Smallest> {
    PHOTOS
        .into_iter()
        .filter_map(|photos| {
            let own = noise.sigma * (2.0 / photos as f64).sqrt();
            let mut change = detection_limit(own, noise.dof);
            for _ in 0..6 {
                change = detection_limit(own.hypot(dial_leaves(dial, scale, change)?), noise.dof);
            }
            Some(Smallest { photos, change })
        })
        .collect()
}

/// What the dial leaves in a change of this size, one sigma, dial unit; `None` when no two places so far apart lie outside its zones.
fn dial_leaves(dial: &Dial, scale: &Scale, change: f64) -> Option<f64> {
    let (a, b) = (dial.marks.first()?, dial.marks.last()?);
    let at = |angle: f64| scale.temperature(&Measured::exact(angle));
    let span = b.angle - a.angle;
    // from the middle outwards in steps of a hundredth of the sweep
    let starts = (0..100).map(|k| 0.5 + if k % 2 == 0 { 0.005 } else { -0.005 } * f64::from(k)).map(|u| a.angle + u * span);
    starts
        .filter_map(|start| {
            let reach = (a.angle - start).abs().max((b.angle - start).abs());
            let away = (change / scale.slope(start)).clamp(-reach, reach);
            let other = [start + away, start - away].into_iter().find(|x| (x - a.angle) * (x - b.angle) <= 0.0)?;
            let (here, there) = (at(start), at(other));
            (here.flat.is_none() && there.flat.is_none()).then_some((here.measured, there.measured))
        })
        .map(|(here, there)| {
            // the plane moves needle and marks together: most of it is not seen in a change; a needle sticks on each side anew
            let difference = there.minus(&here).variance_of(|id| !id.contains("/plane/") && id != STICTION);
            (difference + 2.0 * here.variance_of(|id| id == STICTION)).sqrt()
        })
        .next()
}
