//! The needle's line in one photo of several, as an observation of the pivot and of how the needle stands over the face.
//!
//! A needle turns about the pivot at some height: seen from the side its line passes the pivot's image at height · (shift of a
//! point one unit high), and beside it by what its axis is off. Lines in different directions and views tell these apart.
use crate::dial::Stand;
use crate::maths::homography::{Homography, PlaneInPhoto, ViewPoint};
use crate::maths::point::{DialPoint, PhotoPoint};
use crate::maths::pose::{Camera, camera_centre};
use crate::needle::Parallax;
use crate::reading::Sight;
use nalgebra::{Matrix2, Vector2};

/// Doubt that one line shares with no other, units: a needle is not quite straight and its outline not quite even.
const OUTLINE: f64 = 0.001;

/// Share of the shift in doubt for each view: the lens's focal length is known to some per cent, and a cover bends what is seen.
pub const VIEW_DOUBT: f64 = 0.08;

/// A needle's line, in the reference photo's pixels.
#[derive(Clone, Copy, Debug)]
pub struct NeedleLine {
    /// Two points on it, the tip's last, carried to the reference photo through the dial's plane.
    pub line: [Vector2<f64>; 2],
    /// Standard uncertainty of its distance from the pivot, units.
    pub sigma: f64,
    /// The camera of its own photo.
    pub camera: Camera,
    /// Reference photo px to its own photo's px, for points of the dial's plane.
    pub to_photo: Homography<PhotoPoint, ViewPoint>,
}

impl NeedleLine {
    /// From what was seen with a dial whose plane lies in the reference photo by `plane`. `None` where the line hardly tells where
    /// it passes the pivot.
    pub fn new(sight: &Sight, plane: &PlaneInPhoto, camera: Camera) -> Option<Self> {
        let (offset, angle, variance) = without_prior(sight)?;
        let sigma = (variance + sight.registration.across_pivot(sight.needle.angle) + OUTLINE * OUTLINE).sqrt();
        let (s, c) = angle.to_radians().sin_cos();
        let at = |r: f64| plane.at(r * s + offset * c, r * c - offset * s);
        let to_photo = sight.registration.dial_to_photo.onto::<ViewPoint>() * plane.inverse()?;
        (sigma < WORTH).then(|| Self { line: [at(0.0), at(0.8)], sigma, camera, to_photo })
    }
    /// Distance from where a needle of this height and axis (units) would pass the pivot, in sigmas. `h`: the dial's plane in the
    /// reference photo; `back`: its inverse.
    pub fn residual(&self, h: &PlaneInPhoto, back: &Homography<PhotoPoint, DialPoint>, height: f64, axis: f64) -> f64 {
        let [a, b] = self.line.map(|p| back.at(p.x, p.y));
        let d = (b - a).normalize();
        let offset = a.x * d.y - a.y * d.x;
        let angle = d.x.atan2(d.y).to_degrees();
        let stand = Stand { height, axis, ..Stand::default() };
        let parallax = Parallax::from_camera(camera_centre(&(self.to_photo * *h), &self.camera), &stand);
        (offset - parallax.across(angle) - axis) / self.sigma.hypot(VIEW_DOUBT * parallax.size())
    }
}

/// A line less certain than this where it passes the pivot (units) adds nothing.
const WORTH: f64 = 0.02;

/// Offset (units), angle (degrees) and the offset's variance as the pixels alone tell: the fit's answer without what it assumed of
/// parallax and axis.
fn without_prior(sight: &Sight) -> Option<(f64, f64, f64)> {
    let n = &sight.needle;
    let information = n.covariance.try_inverse()?;
    let assumed = 1.0 / (n.expected.1 * n.expected.1);
    let free = information - Matrix2::new(assumed, 0.0, 0.0, 0.0);
    let covariance = free.try_inverse().filter(|c| c[(0, 0)] > 0.0 && c[(1, 1)] > 0.0)?;
    let x = covariance * (information * Vector2::new(n.offset, 0.0) - Vector2::new(assumed * n.expected.0, 0.0));
    Some((x[0], n.angle + x[1].to_degrees(), covariance[(0, 0)]))
}
