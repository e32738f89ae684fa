//! Other dials of the photo: their ticks tell how the face is seen where the dial's own are few.
use super::bent::A_CIRCLE;
use super::geometry::DialPlane;
use super::numbered::FoundDial;
use super::sought::find_dials;
use super::view_prior::{BESIDE, NESTED, ViewPrior};
use crate::maths::point::PhotoPoint;
use crate::photo::Photo;

/// Standard uncertainty of a tilt, radians, up to which a dial's own ticks tell it well enough.
const OWN: f64 = 0.015;

/// So far apart the pivots of two dials are, radii of the smaller.
const APART: f64 = 0.3;

/// What the other dials tell.
#[derive(Clone, Copy, Debug)]
pub struct Neighbours {
    /// What is known of the view with them.
    pub view: ViewPrior,
    /// Whether one of them is larger and lies about the dial.
    pub within: bool,
}

/// The neighbours of a dial of so many ticks; `None` where its own ticks tell enough, or there are no others.
pub fn neighbours(photo: &Photo, plane: &DialPlane, ticks: usize, usual: ViewPrior) -> Option<Neighbours> {
    let poorly = |i: usize| plane.covariance[(i, i)] > OWN * OWN;
    if !(poorly(0) || poorly(1) || ticks < A_CIRCLE) {
        return None;
    }
    let (pivot, radius) = (PhotoPoint::new(plane.pose.origin.x, plane.pose.origin.y), plane.pose.scale);
    let mut told: Option<Neighbours> = None;
    for FoundDial { pivot: other, radius: larger, seen, .. } in find_dials(photo) {
        let far = other.distance(pivot);
        // about one pivot it is this very dial, or the ring of its numerals
        let Some(seen) = seen.filter(|_| far > APART * radius.min(larger)) else { continue };
        let differs = if far < radius.max(larger) { NESTED } else { BESIDE };
        let within = told.is_some_and(|n| n.within) || far < larger && larger > radius;
        told = Some(Neighbours { view: told.map_or(usual, |n| n.view).beside(&seen, differs), within });
    }
    told
}
