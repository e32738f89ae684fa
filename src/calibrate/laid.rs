//! The plane of a dial that nobody has clicked in: from the bars of its group, then from the ticks found again in that plane.
//!
//! All in a picture small enough that the dial's radius is some 110 to 220 px: the ticks' places are good to some tenths of such a pixel, which
//! is less than a person's click leaves, and a calibration fits them anew.
use super::clicked::{in_plane, labelled_radius};
use super::fitted::from_any_side;
use super::geometry::{self, MARK_CLICK, Observations};
use super::numbered::from_gap;
use super::tick::Tick;
use super::ticks;
use super::view_prior::{SeenFace, ViewPrior};
use crate::maths::homography::PlaneInWork;
use crate::maths::point::PhotoPoint;
use crate::maths::pose::{Camera, PlanePose};
use crate::photo::Plane;
use crate::tick_detection::{Bar, Group};
use nalgebra::{Matrix2, Vector2};

/// A dial's plane and its ticks, px of the picture it was sought in.
pub struct Laid {
    /// Pose of the plane.
    pub pose: PlanePose,
    /// Dial plane to px.
    pub plane: PlaneInWork,
    /// Its ticks.
    pub ticks: Vec<Tick>,
    /// Where their lines meet: on faces with a recessed or a slanted ring not where the ring has its middle.
    pub meet: Vector2<f64>,
    /// How its face is seen, as if the photo told no focal length.
    pub seen: Option<SeenFace>,
}

/// Doubt of where a tick's line passes the middle of its ring, share of the radius: rings stand above or below the face or slope, and a
/// camera beside the dial's axis sees their lines meet up to a tenth beside the middle.
pub(super) const ASIDE: f64 = 0.03;
/// The same where the ring is known from an outline: ticks on a cone that stands up or sinks in point up to half of the radius beside its middle.
pub(super) const FAR_ASIDE: f64 = 0.4;
/// Doubt of a bar's end along it, share of the radius; it is at least a click's.
const END: f64 = 0.01;
/// Twice the log likelihood by which a side must be the likelier to be believed.
const EITHER_SIDE: f64 = 9.0;
/// Ticks are found and the plane fitted so often.
const ROUNDS: usize = 2;

/// Lays the plane through a group; `view`: what is known of how it is seen.
pub fn laid(luma: &Plane, camera: &Camera, group: &Group, view: ViewPrior, aside: f64) -> Option<Laid> {
    let ends = ends(group);
    let bars = observations(&group.ticks, &ends, (group.pivot, group.radius), (END, aside), view);
    let start = PlanePose { rx: 0.0, ry: 0.0, origin: group.pivot, scale: group.radius };
    let mut plane = from_any_side(camera, start, &bars)?;
    let marks: Vec<(f64, PhotoPoint)> = ends.iter().enumerate().map(|(i, p)| (i as f64, PhotoPoint::new(p.x, p.y))).collect();
    let (mut found, mut last) = (Vec::new(), None);
    for _ in 0..ROUNDS {
        let at = in_plane(&plane.homography, &marks)?;
        found = ticks::find_roughly(luma, &plane.homography, plane.pose.scale, &at);
        if found.len() < 3 {
            return None;
        }
        let unit = labelled_radius(&found, &at);
        let mut obs = Observations { ends: Vec::new(), lines: Vec::new(), ..bars.clone() };
        obs.add_ticks(&found, unit, plane.pose.origin);
        if aside >= FAR_ASIDE {
            // the inner ends of ticks on a cone lie in another plane
            obs.rings.clear();
        }
        obs.lines.iter_mut().for_each(|l| l.2 = l.2.hypot(aside * plane.pose.scale));
        if obs.ends.len() < 3 {
            obs.ends = bars.ends.clone();
        }
        plane = geometry::fit(camera, PlanePose { scale: unit * plane.pose.scale, ..plane.pose }, &obs)?;
        last = Some(obs);
    }
    // ticks on a cone tell little of the face
    let seen = last.filter(|_| aside < FAR_ASIDE).and_then(|obs| seen(camera, plane.pose, obs));
    let tilt = plane.pose.rx.hypot(plane.pose.ry);
    let meet = meeting(&found).unwrap_or(plane.pose.origin);
    (plane.pose.scale > 20.0 && tilt < 0.9).then_some(Laid { pose: plane.pose, plane: plane.homography.onto(), ticks: found, meet, seen })
}

/// How ticks show their face, whatever focal length the photo tells: a part of a larger one still tells the whole's. A circle seen aside is
/// nearly the same from the other side: where that is about as likely, the face is seen from either.
fn seen(camera: &Camera, pose: PlanePose, obs: Observations) -> Option<SeenFace> {
    let obs = Observations { view: ViewPrior::usual(false), ..obs };
    let one = geometry::fit(camera, pose, &obs)?;
    let other = geometry::fit(camera, PlanePose { rx: -one.pose.rx, ry: -one.pose.ry, ..one.pose }, &obs);
    Some(match other {
        Some(other) if other.cost < one.cost + EITHER_SIDE => one.seen().or(&other.seen()),
        _ => one.seen(),
    })
}

/// Bars as observations of a plane about a pivot: their outer ends (in this order) on its circle, good to a share of the radius and no better
/// than a click, and their lines through its middle but for what they may pass it by, radii.
pub(super) fn observations(
    bars: &[Bar],
    ends: &[Vector2<f64>],
    (pivot, radius): (Vector2<f64>, f64),
    (end, aside): (f64, f64),
    view: ViewPrior,
) -> Observations {
    let line = |b: &Bar| {
        let half = b.along * (0.3 * b.length);
        let far = (b.centre - pivot).norm();
        (b.centre - half, b.centre + half, (b.direction_sigma() * far).hypot(aside * radius))
    };
    let ends = ends.iter().map(|p| (*p, MARK_CLICK.max(end * radius))).collect();
    Observations::of(ends, bars.iter().map(line).collect(), view)
}

/// Outer ends of the bars, along the scale.
fn ends(group: &Group) -> Vec<Vector2<f64>> {
    let direction = |d: Vector2<f64>| d.x.atan2(-d.y).to_degrees();
    let turned = |b: &Bar| (direction((b.centre - group.pivot).normalize()), b.outer_end(group.pivot));
    let mut out: Vec<(f64, Vector2<f64>)> = group.ticks.iter().map(turned).collect();
    from_gap(&mut out);
    out.into_iter().map(|e| e.1).collect()
}

/// Where the lines of ticks meet, those that pass it by held down; `None` with fewer than two directions.
fn meeting(ticks: &[Tick]) -> Option<Vector2<f64>> {
    let lines: Vec<(Vector2<f64>, Vector2<f64>, f64)> = ticks
        .iter()
        .filter(|t| !t.is_dot())
        .map(|t| {
            let d = (t.line[1] - t.line[0]).normalize();
            (0.5 * (t.line[0] + t.line[1]), Vector2::new(-d.y, d.x), t.sigma_angle)
        })
        .collect();
    let mut meet: Option<Vector2<f64>> = None;
    for _ in 0..8 {
        let (mut n, mut v) = (Matrix2::zeros(), Vector2::zeros());
        for (middle, normal, sigma) in &lines {
            let (off, far) = meet.map_or((0.0, 1.0), |m| (normal.dot(&(middle - m)), (middle - m).norm()));
            let s = sigma * far;
            let w = 1.0 / (s * s * (1.0 + (off / (2.0 * s)).powi(2)));
            n += normal * normal.transpose() * w;
            v += normal * (normal.dot(middle) * w);
        }
        meet = Some(n.try_inverse()? * v);
    }
    meet.filter(|m| m.iter().all(|e| e.is_finite()))
}
