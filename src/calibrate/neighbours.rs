//! Other dials of the photo: their ticks tell how the face is seen where the dial's own are few or go less than half round.
use super::bent::is_round;
use super::clicked::Clicked;
use super::geometry::{DialPlane, HALF_ROUND};
use super::numbered::FoundDial;
use super::sought::find_dials;
use super::tick::Tick;
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

/// The neighbours of a dial of these ticks and marks; `None` where its own ticks tell enough, or there are no others that are large
/// and round enough.
pub fn neighbours(photo: &Photo, (plane, ticks): (&DialPlane, &[Tick]), marks: &[Clicked], usual: ViewPrior) -> Option<Neighbours> {
    let poorly = |i: usize| plane.covariance[(i, i)] > OWN * OWN;
    if !(poorly(0) || poorly(1) || !is_round(ticks)) {
        return None;
    }
    let (pivot, radius) = (PhotoPoint::new(plane.pose.origin.x, plane.pose.origin.y), plane.pose.scale);
    let (mut about, mut beside) = (Vec::new(), Vec::new());
    for dial in find_dials(photo) {
        let far = dial.pivot.distance(pivot);
        let tells = sweep(&dial) > HALF_ROUND;
        let other = far > APART * radius.min(dial.radius) && !is_of(&dial, marks);
        let Some(seen) = dial.seen.filter(|_| tells && other) else { continue };
        match far {
            far if far < dial.radius && radius < dial.radius => about.push(seen),
            far if far > radius => beside.push(seen),
            // one that lies in it may itself be bent
            _ => {}
        }
    }
    let view = usual.told_by(&about, NESTED).told_by(&beside, BESIDE);
    (view != usual).then_some(Neighbours { view, within: !about.is_empty() })
}

/// Turn from the first to the last of a dial's ticks without a doubt, degrees.
fn sweep(dial: &FoundDial) -> f64 {
    let mut sound = dial.ticks.iter().filter(|t| t.doubt.is_none()).map(|t| t.angle);
    sound.next().map_or(0.0, |first| sound.next_back().unwrap_or(first) - first)
}

/// Whether marks are those of a dial: most lie on its ticks.
fn is_of(dial: &FoundDial, marks: &[Clicked]) -> bool {
    2 * marks.iter().filter(|m| dial.has_tick_at(m.1)).count() > marks.len()
}
