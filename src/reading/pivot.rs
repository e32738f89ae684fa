//! A pivot that lies elsewhere than the dial file says, as seen from where the needle's line passes it.
//!
//! A click on the cap over a pivot, a ring of marks that is no circle or a plane fitted too steeply put the file's pivot some hundredths of the
//! radius beside the true one: a *fault* of the file. The needle's line passes through the true pivot, and the marks' angles are those about the
//! file's: so the reading is where the line crosses the ring of the marks, and not its direction. A line that is displaced as a whole, by a needle
//! that stands higher than supposed, passes beside the pivot too, and there its direction is right. Where the line passes in this photo and in
//! the reference photo, from two sides, tells the two apart as far as they can be told apart.
//!
//! Unknown are the fault (x right, y up in the dial frame, radii) and by how much the needle stands higher or lower than supposed (share of its
//! height); each line is an observation beside = x cos a - y sin a + share · parallax, of an angle a clockwise from up. A file either has a fault
//! or has none, so the posterior is the mixture of the two (linear Gaussian updates, weighed by their likelihood: D. S. Sivia and J. Skilling,
//! Data Analysis, 2006, 4.1; from memory). Numbers and their evidence: docs/decisions/pivot.md.
//!
//! Counts: the fit of the line and the registration where they move it at the pivot, the needle's height, the photo's own camera. Does not count: a bent needle; where the
//! reference photo's camera stood, beyond what its needle's height leaves open; marks at
//! other distances than one radius, for which the shift is right to first order only. A blade that stands beside its axis reads right where it
//! crosses the ring too. What pulls the line at the pivot counts here and in its direction, as if the two were independent: on the safe side.
use crate::dial::{Dial, MarkKind};
use crate::needle::{NeedleFit, Parallax};
use crate::register::Registration;
use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

/// Share of dial files with a fault, beforehand.
const SHARE: f64 = 0.1;
/// Standard deviation of a fault in each direction, radii.
const FAULT: f64 = 0.03;
/// A fault less likely than this counts as none. A band that leaves it out holds the truth up to so much less often.
const UNLIKELY: f64 = 0.025;
/// Share of the lines that pass beside as a fault would make them and show one; the others are themselves displaced, as by a reflection along
/// an edge, and their direction is right.
const SHOWN: f64 = 0.8;
/// Standard uncertainty of where a line passes the pivot that no fit tells of, radii: a needle not quite straight, a cover's bending.
const LINE: f64 = 0.003;

/// Where a needle's line passes the file's pivot.
#[derive(Clone, Copy, Debug)]
struct Pass {
    /// Direction in which a fault moves it: to the right of the line.
    right: Vector2<f64>,
    /// By how much further to the right than supposed, radii. Where little of the needle shows, the fit draws it towards 0.
    beside: f64,
    /// What parallax does to it at the supposed height, radii.
    across: f64,
    /// Variance of `beside` but for fault and height, radii².
    variance: f64,
}

impl Pass {
    /// Of a line at an angle (degrees) and offset (radii) whose offset has this variance; `None` where the camera's place is not known.
    fn new(angle: f64, offset: f64, parallax: &Parallax, variance: f64) -> Option<Self> {
        let across = parallax.across(angle);
        // a cover bends the view, and the camera's direction is not known exactly: the larger of the two doubts, the former of which has no
        // direction
        let other = ((parallax.spread * parallax.size()).powi(2) - (parallax.spread * across).powi(2)).max(0.0);
        let beside = offset - across - parallax.axis.0;
        let variance = LINE * LINE + other.max(parallax.view_across(angle)) + variance;
        let pass = Self { right: right_of(angle), beside, across, variance };
        (parallax.size() > 0.0).then_some(pass)
    }
    /// Of the reference photo's needle.
    fn in_reference(dial: &Dial) -> Option<Self> {
        let parallax = Parallax::from_camera(Some(dial.face.camera?.into()), &dial.needle.stand);
        Self::new(dial.needle.angle, dial.needle.offset, &parallax, 0.0)
    }
}

/// The direction to the right of an angle (degrees).
fn right_of(angle: f64) -> Vector2<f64> {
    let (s, c) = angle.to_radians().sin_cos();
    Vector2::new(c, -s)
}

/// What lines tell of the fault where faults have a given standard deviation: normal density, radii.
struct Supposed {
    /// Logarithm of how likely the lines are, but for a constant.
    log: f64,
    mean: Vector2<f64>,
    covariance: Matrix2<f64>,
    /// The part of it that is the last line's own error.
    own: Matrix2<f64>,
}

impl Supposed {
    fn of(passes: &[Pass], fault: f64, spread: f64) -> Self {
        let (mut log, mut mean, mut own) = (0.0, Vector3::zeros(), Matrix3::zeros());
        let mut covariance = Matrix3::from_diagonal(&Vector3::new(fault * fault, fault * fault, spread * spread));
        for p in passes {
            let row = Vector3::new(p.right.x, p.right.y, p.across);
            let variance = row.dot(&(covariance * row)) + p.variance;
            let (gain, off) = (covariance * row / variance, p.beside - row.dot(&mean));
            log -= 0.5 * (variance.ln() + off * off / variance);
            mean += gain * off;
            covariance -= gain * gain.transpose() * variance;
            own = gain * gain.transpose() * p.variance;
        }
        let xy = |m: &Matrix3<f64>| m.fixed_view::<2, 2>(0, 0).into_owned();
        Self { log, mean: mean.xy(), covariance: xy(&covariance), own: xy(&own) }
    }
}

/// Where the true pivot lies from the file's, radii, as this photo and the reference photo tell it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PivotFault {
    mean: Vector2<f64>,
    /// Covariance that readings of one dial file share.
    shared: Matrix2<f64>,
    /// Covariance from this photo's own line.
    own: Matrix2<f64>,
}

/// By how much the place where a line crosses the marks' ring stands further on than its direction, degrees clockwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RingCrossing {
    /// So much.
    pub further: f64,
    /// Signed one-sigma contributions of two independent directions that readings of one dial file share.
    pub shared: [f64; 2],
    /// One-sigma contribution of this photo's own.
    pub own: f64,
}

impl PivotFault {
    /// As the needle's fit in a photo tells it; `photo`: its hash, or how it begins. None where the marks are known needle angles and no printed
    /// ones, which turn with the needle about whatever point.
    pub fn seen(dial: &Dial, photo: &str, registration: &Registration, needle: &NeedleFit) -> Self {
        let variance = needle.covariance[(0, 0)].max(0.0) + registration.across_pivot(needle.angle);
        let own = Pass::new(needle.angle, needle.offset, &needle.parallax, variance);
        // the reference photo's own line is not seen twice
        let again = !photo.is_empty() && dial.reference.starts_with(photo);
        let reference = if again { None } else { Pass::in_reference(dial) };
        Self::of(dial, reference, own)
    }
    /// As the reference photo alone tells it.
    pub fn in_reference(dial: &Dial) -> Self {
        Self::of(dial, None, Pass::in_reference(dial))
    }
    fn of(dial: &Dial, reference: Option<Pass>, own: Option<Pass>) -> Self {
        let printed = dial.marks.iter().all(|m| matches!(m.kind, MarkKind::Labelled | MarkKind::Counted));
        let Some(own) = own.filter(|_| printed) else { return Self::none() };
        let (passes, stand): (Vec<Pass>, _) = (reference.into_iter().chain([own]).collect(), &dial.needle.stand);
        Self::posterior(&passes, stand.height_sigma / stand.height)
    }
    fn none() -> Self {
        Self { mean: Vector2::zeros(), shared: Matrix2::zeros(), own: Matrix2::zeros() }
    }
    /// `spread`: relative standard uncertainty of the needle's height. The last line is this photo's own.
    fn posterior(passes: &[Pass], spread: f64) -> Self {
        let (faulty, sound) = (Supposed::of(passes, FAULT, spread), Supposed::of(passes, 0.0, spread));
        let likely = (1.0 + (1.0 - SHARE) / SHARE * (sound.log - faulty.log).exp()).recip();
        // what is not a number stays one, so that no reading comes of it
        let share = if likely < UNLIKELY { 0.0 } else { (likely - UNLIKELY) / (1.0 - UNLIKELY) };
        // without a fault the pivot is where the file says; a displaced line is this photo's alone
        let (mean, square) = (faulty.mean, faulty.mean * faulty.mean.transpose());
        Self {
            mean: mean * (share * SHOWN),
            shared: (faulty.covariance - faulty.own) * share + square * (SHOWN * SHOWN * share * (1.0 - share)),
            own: faulty.own * share + square * (share * SHOWN * (1.0 - SHOWN)),
        }
    }
    /// What it does to the reading of a line at this angle, degrees.
    pub fn ring_crossing(&self, angle: f64) -> RingCrossing {
        let right = right_of(angle);
        let e = self.shared.symmetric_eigen();
        let root = e.eigenvectors * Matrix2::from_diagonal(&e.eigenvalues.map(|v| v.max(0.0).sqrt())) * e.eigenvectors.transpose();
        let term = root * right;
        let own = right.dot(&(self.own * right)).max(0.0).sqrt();
        RingCrossing {
            further: right.dot(&self.mean).to_degrees(),
            shared: [term.x.to_degrees(), term.y.to_degrees()],
            own: own.to_degrees(),
        }
    }
}

/// The angle of the scale at which the reference photo's own needle reads, degrees clockwise from up.
pub fn angle_in_reference(dial: &Dial) -> f64 {
    dial.needle.angle + PivotFault::in_reference(dial).ring_crossing(dial.needle.angle).further
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pass(angle: f64, beside: f64, across: f64, sigma: f64) -> Pass {
        Pass { right: right_of(angle), beside, across, variance: sigma * sigma }
    }

    /// One line straight up, by hand: normal densities of `beside` with and without a fault, the fault's share of it, and the update's gain.
    #[test]
    fn one_line_by_hand() {
        let (beside, across, sigma, spread) = (0.04, 0.02, 0.01, 0.5);
        let other = sigma * sigma + (spread * across) * (spread * across);
        let density = |variance: f64| (-0.5 * beside * beside / variance).exp() / variance.sqrt();
        let (with, without) = (SHARE * density(other + FAULT * FAULT), (1.0 - SHARE) * density(other));
        let share = (with / (with + without) - UNLIKELY) / (1.0 - UNLIKELY);
        let gain = FAULT * FAULT / (other + FAULT * FAULT);
        let (mean, shown) = (beside * gain, share * SHOWN);
        let crossing = PivotFault::posterior(&[pass(0.0, beside, across, sigma)], spread).ring_crossing(0.0);
        assert!((crossing.further - (shown * mean).to_degrees()).abs() < 1e-9, "{crossing:?}");
        let own = share * gain * gain * sigma * sigma + shown * (1.0 - SHOWN) * mean * mean;
        assert!((crossing.own - own.sqrt().to_degrees()).abs() < 1e-9, "{crossing:?}");
        // all there is: the fault's own variance, and whether there is one and the line shows it
        let all = share * gain * other + shown * (1.0 - shown) * mean * mean;
        let [x, y] = crossing.shared;
        assert!((x.hypot(y).hypot(crossing.own) - all.sqrt().to_degrees()).abs() < 1e-9, "{crossing:?}");
    }

    /// A needle that stands higher than supposed passes beside the pivot by its parallax, in the reference photo as in this one.
    #[test]
    fn a_line_that_parallax_explains_tells_no_fault() {
        let high = PivotFault::posterior(&[pass(20.0, 0.02, 0.04, 0.004), pass(-60.0, 0.015, 0.03, 0.004)], 0.5);
        assert_eq!(high, PivotFault::none());
        // as far beside, but to the other side in the reference photo, where parallax goes the same way
        let fault = PivotFault::posterior(&[pass(20.0, 0.05, 0.04, 0.004), pass(-160.0, -0.05, 0.04, 0.004)], 0.5);
        assert!(fault.ring_crossing(20.0).further > 1.2, "{fault:?}");
        assert!(fault.ring_crossing(-160.0).further < -1.2, "{fault:?}");
    }

    /// A line tells of a fault across it, and along it nothing.
    #[test]
    fn a_line_tells_its_own_direction_only() {
        let fault = PivotFault::posterior(&[pass(0.0, 0.06, 0.0, 0.003)], 0.5);
        let (across, along) = (fault.ring_crossing(0.0), fault.ring_crossing(90.0));
        assert!((across.further - 2.7).abs() < 0.1 && along.further.abs() < 1e-9, "{across:?} {along:?}");
        let [x, y] = along.shared;
        assert!((x.hypot(y) - FAULT.to_degrees()).abs() < 0.05 && along.own < 1e-9, "{along:?}");
        // across it nearly all that is left is the line's own
        let [x, y] = across.shared;
        assert!(x.hypot(y) < 0.1 * across.own, "{across:?}");
    }

    #[test]
    fn what_is_not_a_number_gives_no_number() {
        assert!(PivotFault::posterior(&[pass(0.0, f64::NAN, 0.0, 0.003)], 0.5).ring_crossing(0.0).further.is_nan());
    }
}
