//! The smallest change that a dial can show with so many photos a side.
//!
//! A change counts as shown when its 95 % band leaves out zero. It is told of the change that is shown in 95 of 100 cases:
//! (t(0.975) + t(0.95)) sigma of the difference, the detection limit with both errors at 5 % (Currie, Anal. Chem. 40 (1968) 586, for
//! a two-sided test; formula from memory).
use crate::base::measured::Measured;
use crate::base::student::t_quantile;
use crate::dial::Dial;
use crate::scale::Scale;

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

/// The smallest change from the middle of the scale upwards, for several numbers of photos. Counts: the photos and the dial's marks and
/// shape between the two places. Does not count: gauge accuracy (it cancels nearby), a needle that sticks, unlike conditions.
pub(super) fn smallest(dial: &Dial, noise: PhotoNoise) -> Vec<Smallest> {
    let factor = t_quantile(0.975, noise.dof) + t_quantile(0.95, noise.dof);
    PHOTOS
        .into_iter()
        .map(|photos| {
            let own = noise.sigma * (2.0 / photos as f64).sqrt();
            let mut change = factor * own;
            for _ in 0..6 {
                change = factor * own.hypot(marks_leave(dial, change));
            }
            Smallest { photos, change }
        })
        .collect()
}

/// What the marks leave in a change of this size, one sigma, dial unit.
fn marks_leave(dial: &Dial, change: f64) -> f64 {
    let scale = Scale::new(dial);
    let (Some(a), Some(b)) = (dial.marks.first(), dial.marks.last()) else { return f64::NAN };
    let middle = 0.5 * (a.angle + b.angle);
    let slope = scale.slope(middle);
    let reach = (0.5 * (b.angle - a.angle)).abs();
    let away = (change / slope).clamp(-reach, reach);
    let at = |angle: f64| scale.read(&Measured::exact(angle));
    let difference = at(middle + away).minus(&at(middle));
    // the plane moves needle and marks together: most of it is not seen in a change
    difference.variance_of(|id| !id.contains("/plane/")).sqrt()
}
