//! The dial's plane in the reference photo, from the clicks to the ticks and back, in a few rounds.
use super::cover;
use super::error::CalibrateError;
use super::excess::Excess;
use super::geometry::{self, DialPlane, MARK_CLICK, Observations};
use super::request::Request;
use super::tick::Tick;
use super::ticks;
use super::views::{View, merge};
use crate::maths::angle::{run, wrap};
use crate::maths::homography::PlaneInPhoto;
use crate::maths::point::PhotoPoint;
use crate::maths::pose::{Camera, PlanePose};
use crate::maths::robust::high_median;
use crate::photo::{Photo, Plane};
use nalgebra::Vector2;

/// A mark's value and the place the user gave.
pub type Clicked = (f64, PhotoPoint);

fn starting_pose(marks: &[Clicked], request: &Request) -> Result<PlanePose, CalibrateError> {
    let origin = match request.pivot {
        Some(p) => p.vector(),
        None if marks.len() < 3 => return Err(CalibrateError::NeedsPivot),
        None => {
            // circle through the clicks (Kåsa): 2 x cx + 2 y cy + c = x² + y²
            let a = nalgebra::DMatrix::from_fn(marks.len(), 3, |i, j| match j {
                0 => 2.0 * marks[i].1.x,
                1 => 2.0 * marks[i].1.y,
                _ => 1.0,
            });
            let b = nalgebra::DVector::from_fn(marks.len(), |i, _| marks[i].1.x.powi(2) + marks[i].1.y.powi(2));
            let x = a.svd(true, true).solve(&b, 1e-12).map_err(|e| CalibrateError::NoPlane(e.to_string()))?;
            Vector2::new(x[0], x[1])
        }
    };
    let scale = marks.iter().map(|m| (m.1.vector() - origin).norm()).sum::<f64>() / marks.len() as f64;
    Ok(PlanePose { rx: 0.0, ry: 0.0, origin, scale })
}

/// The adjusted plane and the ticks it rests on.
pub struct Found {
    /// The plane.
    pub plane: DialPlane,
    /// Printed ticks on the marks' ring.
    pub ticks: Vec<Tick>,
    /// Radius of a cover over the pivot, units; 0 when none was looked for or found.
    pub cover_radius: f64,
    /// Whether the ticks point at the pivot.
    pub radial: bool,
}

/// Adjusts the plane: clicks, then ticks found in that plane, then the plane fitted to the ticks, and again. `views`: further photos
/// whose ticks and needles serve too.
pub fn adjust(
    photo: &Photo,
    luma: &Plane,
    camera: &Camera,
    (marks, request): (&[Clicked], &Request),
    views: &[View],
) -> Result<Found, CalibrateError> {
    let failed = || CalibrateError::NoPlane("the adjustment did not converge".into());
    let clicks = clicks(photo, marks, request, views);
    let plane = from_any_side(camera, starting_pose(marks, request)?, &clicks).ok_or_else(failed)?;
    let mut found = Found { plane, ticks: Vec::new(), cover_radius: 0.0, radial: true };
    let mut cover = None;
    for round in 0..4 {
        let (h, scale) = (found.plane.homography, found.plane.pose.scale);
        let at = in_plane(&h, marks).ok_or_else(failed)?;
        found.ticks = if views.is_empty() { ticks::find(luma, &h, scale, &at) } else { merge(&h, &at, views) };
        if request.pivot.is_none()
            && round == 1
            && let Some(seen) = cover::cover(luma, &h, scale)
        {
            cover = Some((seen.centre, seen.sigma));
            found.cover_radius = seen.radius;
        }
        if found.ticks.len() < 3 {
            break;
        }
        let mut obs = Observations { ends: Vec::new(), cover, ..clicks.clone() };
        let unit = labelled_radius(&found.ticks, &at);
        obs.add_ticks(&found.ticks, unit, found.plane.pose.origin);
        if obs.ends.len() < 3 {
            obs.ends.extend(clicks.ends.iter().copied());
        }
        let excess;
        (found.plane, found.radial, excess) = to_ticks(camera, &found.plane, unit, obs).ok_or_else(failed)?;
        excess.in_ticks(&mut found.ticks, found.plane.pose.origin);
    }
    let tilt = found.plane.pose.rx.hypot(found.plane.pose.ry);
    if !(found.plane.pose.scale > 20.0 && tilt < 0.9) {
        return Err(CalibrateError::NoPlane(format!("radius {:.0} px, tilt {:.0}°", found.plane.pose.scale, tilt.to_degrees())));
    }
    Ok(found)
}

/// Doubt of a mark's distance from the pivot where the marks lie on no circle about it, share of the radius.
const NO_CIRCLE: f64 = 0.25;

/// The plane by the marks' directions from the pivot alone, for marks that lie on no circle about it: taken as seen straight on, with the
/// usual doubt of that. `None` without a pivot, and where the marks do not follow each other round it as the photo shows them.
pub fn by_directions(camera: &Camera, marks: &[Clicked], request: &Request) -> Option<Found> {
    let pivot = request.pivot?.vector();
    let seen: Vec<f64> = marks.iter().map(|m| m.1.vector() - pivot).map(|d| d.x.atan2(-d.y).to_degrees()).collect();
    let turned = run(&seen);
    let sweep = turned.last()? - turned.first()?;
    if marks.len() < 3 || sweep.abs() > 340.0 || turned.windows(2).any(|w| (w[1] - w[0]) * sweep.signum() < 1.0) {
        return None;
    }
    let start = starting_pose(marks, request).ok()?;
    let ends = marks.iter().map(|m| (m.1.vector(), NO_CIRCLE * start.scale)).collect();
    let obs = Observations { pivot: Some(pivot), ..Observations::of(ends, Vec::new(), false) };
    let plane = geometry::fit(camera, start, &obs)?;
    Some(Found { plane, ticks: Vec::new(), cover_radius: 0.0, radial: true })
}

/// Tilts (radians) from which the first fit starts, besides straight on. An ellipse is a circle tilted to either side, so that a fit may
/// end on the wrong one: with a reference tilted by 20° one of three did.
const SIDES: [(f64, f64); 4] = [(0.3, 0.0), (-0.3, 0.0), (0.0, 0.3), (0.0, -0.3)];

/// The best fit to the clicks from starts tilted to all sides.
pub(super) fn from_any_side(camera: &Camera, start: PlanePose, clicks: &Observations) -> Option<DialPlane> {
    let tilted = SIDES.iter().filter_map(|&(rx, ry)| geometry::fit(camera, PlanePose { rx, ry, ..start }, clicks));
    let straight = geometry::fit(camera, start, clicks);
    straight.into_iter().chain(tilted).fold(None, |best: Option<DialPlane>, p| match best {
        // as good from straight on: that one is kept
        Some(b) if p.cost > b.cost - 1e-3 => Some(b),
        _ => Some(p),
    })
}

/// What is known before any tick: the clicks, the camera.
fn clicks(photo: &Photo, marks: &[Clicked], request: &Request, views: &[View]) -> Observations {
    let ends = marks.iter().map(|m| (m.1.vector(), MARK_CLICK)).collect();
    Observations {
        pivot: request.pivot.map(|p| p.vector()),
        needles: views.iter().filter_map(|v| v.needle).collect(),
        ..Observations::of(ends, Vec::new(), photo.focal_ratio.is_some())
    }
}

/// The plane fitted to the ticks: first without their directions, for not every maker draws them towards the pivot; then with
/// them where they agree; where they clearly do not, the ring's middle or the lines' meeting may be the pivot, and the one is the doubt of the
/// other. Also says whether they do, and how much further the ticks lie off than their noise explains.
fn to_ticks(camera: &Camera, plane: &DialPlane, unit: f64, mut obs: Observations) -> Option<(DialPlane, bool, Excess)> {
    let lines = std::mem::take(&mut obs.lines);
    let start = PlanePose { scale: plane.pose.scale * unit, ..plane.pose };
    let mut plane = geometry::fit(camera, start, &obs)?;
    // a part of a larger photo has a longer lens than the EXIF that it still has tells
    let part = Observations { focal_sigma: FOCAL_OF_A_PART, ..obs.clone() };
    let freer = (obs.focal_sigma <= geometry::focal_sigma(true)).then(|| geometry::fit(camera, plane.pose, &part)).flatten();
    let cut_out = freer.filter(|f| f.cost + CUT < plane.cost && f.camera.focal > LONGER * camera.focal);
    let is_part = cut_out.is_some();
    if let Some(freer) = cut_out {
        (plane, obs) = (freer, part);
    }
    let known = |plane: DialPlane| if is_part { plane.less_known_by(MIDDLE_OF_A_PART) } else { plane };
    let (apart, off) = geometry::lines_disagree(&plane, &lines)?;
    if apart >= DISAGREE {
        let radial = off.norm() < ASKEW * plane.pose.scale;
        let click = obs.pivot;
        let (plane, excess) = with_excess(camera, plane, obs)?;
        return Some((known(if radial { plane } else { plane.in_doubt_by(off, click) }), radial, excess));
    }
    obs.lines = lines;
    let plane = geometry::fit(camera, plane.pose, &obs)?;
    let (plane, excess) = with_excess(camera, plane, obs)?;
    Some((known(plane), true, excess))
}

/// Twice the log likelihood by which the ticks must speak for a part of a larger photo, against the focal length of the whole, which its
/// EXIF still tells: three standard uncertainties.
const CUT: f64 = 9.0;
/// How many times as long a lens it must have.
const LONGER: f64 = 1.2;
/// Standard uncertainty of the log of the focal length of such a part: the half of a photo has twice the whole's.
const FOCAL_OF_A_PART: f64 = 0.7;

/// How many times less is known of the plane where the middle of the whole photo is not known. Of fifteen references cut out of renderings,
/// of which each reads four to ten photos, the errors were up to 4.6 times what the bands without it said (rms), now 1.2.
const MIDDLE_OF_A_PART: f64 = 5.0;

/// The plane fitted once more where the ticks lie further off it than their noise explains.
fn with_excess(camera: &Camera, plane: DialPlane, mut obs: Observations) -> Option<(DialPlane, Excess)> {
    let excess = Excess::of(&plane, &obs);
    if excess == Excess::default() {
        return Some((plane, excess));
    }
    excess.in_observations(&mut obs);
    Some((geometry::fit(camera, plane.pose, &obs)?, excess))
}

/// Beyond this many standard deviations the ticks' directions do not meet at the pivot.
const DISAGREE: f64 = 2.5;
/// Beyond this distance from the pivot (units) they are drawn to another point; nearer it is the fit that is too sure of itself.
const ASKEW: f64 = 0.01;

/// The marks as dial points of a plane.
pub fn in_plane(h: &PlaneInPhoto, marks: &[Clicked]) -> Option<Vec<(f64, f64)>> {
    let back = h.inverse()?;
    Some(
        marks
            .iter()
            .map(|m| {
                let q = back.at(m.1.x, m.1.y);
                (q.x, q.y)
            })
            .collect(),
    )
}

/// Median outer radius of the ticks next to the clicks.
pub(super) fn labelled_radius(ticks: &[Tick], clicks: &[(f64, f64)]) -> f64 {
    let radius = |&(x, y): &(f64, f64)| {
        let a = x.atan2(y).to_degrees();
        let near = ticks.iter().filter(|t| wrap(t.angle - a).abs() < 3.0);
        near.min_by(|p, q| wrap(p.angle - a).abs().total_cmp(&wrap(q.angle - a).abs())).map(|t| t.radii[0])
    };
    high_median(clicks.iter().filter_map(radius)).unwrap_or(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 24 ticks of a face of 200 px seen straight on from afar (near to it a tilt would explain the rest), their ends on its circle, their
    /// lines through a point so far to the right of its middle.
    fn ticks_towards(aside: f64, click: Option<Vector2<f64>>) -> (DialPlane, bool) {
        let (middle, meet) = (Vector2::new(4000.0, 3000.0), Vector2::new(4000.0 + aside, 3000.0));
        let ends: Vec<Vector2<f64>> = (0..24)
            .map(|k| (f64::from(k) * 11.0 - 126.0).to_radians().sin_cos())
            .map(|(s, c)| middle + 200.0 * Vector2::new(s, -c))
            .collect();
        let lines = ends.iter().map(|e| (e + (meet - e) * 0.1, *e, 0.5)).collect();
        let obs = Observations { pivot: click, ..Observations::of(ends.iter().map(|e| (*e, 0.2)).collect(), lines, true) };
        let camera = Camera::of_picture(8000, 6000, None);
        let start = PlanePose { rx: 0.0, ry: 0.0, origin: middle, scale: 200.0 };
        let plane = geometry::fit(&camera, start, &Observations { lines: Vec::new(), ..obs.clone() }).unwrap();
        let (plane, radial, _) = to_ticks(&camera, &plane, 1.0, obs).unwrap();
        (plane, radial)
    }

    /// A reference with uneven light put the ring's middle 2.5 px beside the pivot that the ticks point at, and its bands missed the truth.
    #[test]
    fn ticks_that_point_elsewhere_are_a_doubt_of_the_pivot() {
        let sigma = |p: &DialPlane| p.covariance[(2, 2)].sqrt();
        let (plane, radial) = ticks_towards(0.0, None);
        assert!(radial && sigma(&plane) < 0.5, "{}", sigma(&plane));
        let (plane, radial) = ticks_towards(6.0, None);
        assert!(!radial && (plane.pose.origin.x - 4000.0).abs() < 0.5, "{radial} {:?} {}", plane.pose, sigma(&plane));
        // 6 px, spoilt ends to 2 px, ticks drawn aside to 6 px: exp(-4.5) / 4 to exp(-0.5) / 36, so 0.14 of 36 px² is added to the
        // 0.7 px that the ring alone fixes the pivot to: 2.4 px
        assert!((2.2..2.5).contains(&sigma(&plane)), "{}", sigma(&plane));
        assert!(plane.covariance[(3, 3)].sqrt() < 1.0, "nothing is in doubt across");
        // a person who clicks where the ticks meet, or at the ring's middle, tells which it is
        let clicked = |x: f64| sigma(&ticks_towards(6.0, Some(Vector2::new(x, 3000.0))).0);
        assert!(clicked(4006.0) > 5.0 && clicked(4000.0) < 0.9, "{} and {}", clicked(4006.0), clicked(4000.0));
    }
}
