//! A pivot that lies elsewhere than the dial file says, as seen from where the needle's line passes it.
//!
//! A click on the cap over a pivot, a ring of marks that is no circle or a plane fitted too steeply put the file's pivot some hundredths of the
//! radius beside the true one. The needle's line passes through the true one, and the marks' angles are those about the file's: so the reading
//! is where the line crosses the ring of the marks, and not its direction. A line that is displaced as a whole, by a needle that stands higher
//! than supposed, passes beside the pivot too, and there its direction is right. Where the line passes in this photo and in the reference
//! photo, from two sides, tells the two apart as far as they can be told apart.
//!
//! Unknown are the fault (x, y, radii) and by how much the needle stands higher or lower than supposed (share of its height); each line is an
//! observation beside = x cos a - y sin a + share · parallax, of an angle a. A file either has a fault or has none, so the posterior is the
//! mixture of the two (linear Gaussian updates, weighed by their likelihood: D. S. Sivia and J. Skilling, Data Analysis, 2006, 4.1; from
//! memory).
use crate::dial::Dial;
use crate::needle::{NeedleFit, Parallax};
use crate::register::Registration;
use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

/// Share of dial files with a fault, beforehand.
const SHARE: f64 = 0.1;
/// Standard deviation of a fault in each direction, radii.
const FAULT: f64 = 0.03;
/// A fault less likely than this moves no end of a 95 % band and counts as none: an end is passed in one of forty cases.
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
    /// By how much further to the right than supposed, radii.
    beside: f64,
    /// What parallax does to it at the supposed height, radii.
    across: f64,
    /// Variance of `beside` but for fault and height, radii².
    variance: f64,
}

impl Pass {
    /// Of a line at an angle (degrees) and offset (radii) whose offset has this variance.
    fn new(angle: f64, offset: f64, parallax: &Parallax, variance: f64) -> Self {
        let (s, c) = angle.to_radians().sin_cos();
        let across = parallax.across(angle);
        // the camera's direction is not known exactly either: the doubt of the shift has no direction
        let other = ((parallax.spread * parallax.size()).powi(2) - (parallax.spread * across).powi(2)).max(0.0);
        let beside = offset - across - parallax.axis.0;
        Self { right: Vector2::new(c, -s), beside, across, variance: LINE * LINE + other + variance }
    }
}

/// What the passes tell where faults have a given standard deviation.
struct Supposed {
    /// Logarithm of how likely they are, but for a constant.
    log: f64,
    mean: Vector2<f64>,
    covariance: Matrix2<f64>,
}

impl Supposed {
    fn of(passes: &[Pass], fault: f64, spread: f64) -> Self {
        let (mut log, mut mean) = (0.0, Vector3::zeros());
        let mut covariance = Matrix3::from_diagonal(&Vector3::new(fault * fault, fault * fault, spread * spread));
        for p in passes {
            let row = Vector3::new(p.right.x, p.right.y, p.across);
            let gain = covariance * row;
            let (variance, off) = (row.dot(&gain) + p.variance, p.beside - row.dot(&mean));
            log -= 0.5 * (variance.ln() + off * off / variance);
            mean += gain * (off / variance);
            covariance -= gain * gain.transpose() / variance;
        }
        Self { log, mean: mean.xy(), covariance: covariance.fixed_view::<2, 2>(0, 0).into_owned() }
    }
}

/// Where the true pivot lies from the file's, radii.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PivotFault {
    mean: Vector2<f64>,
    covariance: Matrix2<f64>,
}

impl PivotFault {
    /// As a needle's fit in a photo and the needle of the reference photo tell it.
    pub fn seen(dial: &Dial, registration: &Registration, needle: &NeedleFit) -> Self {
        let stand = &dial.needle.stand;
        let variance = needle.covariance[(0, 0)].max(0.0) + registration.across_pivot(needle.angle);
        let own = Pass::new(needle.angle, needle.offset, &needle.parallax, variance);
        let reference = dial.face.camera.map(|c| {
            let parallax = Parallax::from_camera(Some(c.into()), stand);
            Pass::new(dial.needle.angle, dial.needle.offset, &parallax, 0.0)
        });
        let passes: Vec<Pass> = std::iter::once(own).chain(reference).collect();
        Self::told_by(&passes, needle.parallax.spread)
    }
    fn told_by(passes: &[Pass], spread: f64) -> Self {
        let (faulty, sound) = (Supposed::of(passes, FAULT, spread), Supposed::of(passes, 0.0, spread));
        let likely = (1.0 + (1.0 - SHARE) / SHARE * (sound.log - faulty.log).exp()).recip();
        let share = ((likely - UNLIKELY) / (1.0 - UNLIKELY)).max(0.0);
        // without a fault the pivot is where the file says
        let (shown, mean) = (share * SHOWN, faulty.mean);
        Self { mean: mean * shown, covariance: faulty.covariance * share + mean * mean.transpose() * (shown * (1.0 - shown)) }
    }
    /// By how much the place where a line of this angle (degrees) crosses the marks' ring stands further on than its direction, degrees; and
    /// the signed one-sigma contributions to it of two independent directions.
    pub fn turns(&self, angle: f64) -> (f64, [f64; 2]) {
        let (s, c) = angle.to_radians().sin_cos();
        let right = Vector2::new(c, -s);
        let e = self.covariance.symmetric_eigen();
        let root = e.eigenvectors * Matrix2::from_diagonal(&e.eigenvalues.map(|v| v.max(0.0).sqrt())) * e.eigenvectors.transpose();
        let term = root * right;
        (right.dot(&self.mean).to_degrees(), [term.x.to_degrees(), term.y.to_degrees()])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pass(angle: f64, beside: f64, across: f64, sigma: f64) -> Pass {
        let (s, c) = angle.to_radians().sin_cos();
        Pass { right: Vector2::new(c, -s), beside, across, variance: sigma * sigma }
    }

    /// One line straight up, by hand: normal densities of `beside` with and without a fault, and the fault's share of it.
    #[test]
    fn one_line_by_hand() {
        let (beside, across, sigma, spread) = (0.04, 0.02, 0.01, 0.5);
        let other = sigma * sigma + (spread * across) * (spread * across);
        let density = |variance: f64| (-0.5 * beside * beside / variance).exp() / variance.sqrt();
        let (with, without) = (SHARE * density(other + FAULT * FAULT), (1.0 - SHARE) * density(other));
        let share = (with / (with + without) - UNLIKELY) / (1.0 - UNLIKELY);
        let (mean, variance) = (beside * FAULT * FAULT / (other + FAULT * FAULT), FAULT * FAULT * other / (other + FAULT * FAULT));
        let (turned, terms) = PivotFault::told_by(&[pass(0.0, beside, across, sigma)], spread).turns(0.0);
        let shown = share * SHOWN;
        assert!((turned - (shown * mean).to_degrees()).abs() < 1e-9, "{turned}");
        let expected = (share * variance + shown * (1.0 - shown) * mean * mean).sqrt().to_degrees();
        assert!((terms[0].hypot(terms[1]) - expected).abs() < 1e-9, "{terms:?} for {expected}");
    }

    /// A needle that stands higher than supposed passes beside the pivot by its parallax, in the reference photo as in this one.
    #[test]
    fn a_line_that_parallax_explains_tells_no_fault() {
        let high = PivotFault::told_by(&[pass(20.0, 0.02, 0.04, 0.004), pass(-60.0, 0.015, 0.03, 0.004)], 0.5);
        assert_eq!(high.turns(20.0), (0.0, [0.0; 2]));
        // as far beside, but to the other side in the reference photo, where parallax goes the same way
        let fault = PivotFault::told_by(&[pass(20.0, 0.05, 0.04, 0.004), pass(-160.0, -0.05, 0.04, 0.004)], 0.5);
        assert!(fault.turns(20.0).0 > 1.5, "{:?}", fault.turns(20.0));
        assert!(fault.turns(-160.0).0 < -1.5);
    }

    /// A line across tells of a fault along another line nothing.
    #[test]
    fn lines_at_right_angles_tell_their_own_direction_only() {
        let fault = PivotFault::told_by(&[pass(0.0, 0.06, 0.0, 0.003)], 0.5);
        assert!((fault.turns(0.0).0 - 2.7).abs() < 0.1 && fault.turns(90.0).0.abs() < 1e-9);
        let unknown = fault.turns(90.0).1;
        assert!((unknown[0].hypot(unknown[1]) - FAULT.to_degrees()).abs() < 0.05, "{unknown:?}");
        // differences of readings at one place cancel, as of one source
        let (a, b) = (fault.turns(31.0).1, fault.turns(31.0).1);
        assert_eq!(a, b);
    }
}
