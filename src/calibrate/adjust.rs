//! The dial's plane in the reference photo, from the clicks to the ticks and back, in a few rounds.
use super::bent::{self, NO_CIRCLE};
use super::clicked::{Clicked, circle, in_plane, labelled_radius, mean_distance};
use super::cover;
use super::error::CalibrateError;
use super::fitted::{CUT, from_any_side, to_ticks};
use super::geometry::{self, DialPlane, MARK_CLICK, Observations};
use super::neighbours::neighbours;
use super::request::Request;
use super::tick::Tick;
use super::tick_pivot::TickPivot;
use super::ticks;
use super::view_prior::ViewPrior;
use super::views::{View, merge};
use crate::maths::angle::run;
use crate::maths::pose::{Camera, PlanePose};
use crate::photo::{Photo, Plane};
use nalgebra::Vector2;

fn starting_pose(marks: &[Clicked], request: &Request) -> Result<PlanePose, CalibrateError> {
    let origin = match request.pivot {
        Some(p) => p.vector(),
        None if marks.len() < 3 => return Err(CalibrateError::NeedsPivot),
        None => circle(marks).map_err(CalibrateError::NoPlane)?.0,
    };
    Ok(about(origin, marks))
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
    /// Whether a larger dial is known to lie about it, whose print is on its face too.
    pub within: bool,
}

/// What a further tick may cost: an outer end, an inner one, and a line, each with its noise.
const OF_A_TICK: f64 = 3.0;

impl Found {
    /// Whether as many ticks lie on the ring as on another plane's, as well.
    fn is_no_worse_than(&self, other: &Self) -> bool {
        let more = self.ticks.len() as f64 - other.ticks.len() as f64;
        more >= 0.0 && self.plane.cost < other.plane.cost + CUT + OF_A_TICK * more
    }
}

/// Adjusts the plane: clicks, then ticks found in that plane, then the plane fitted to the ticks, and again; once more with what other dials
/// of the face tell where that leaves its tilt poorly known or its ticks are few or go less than half round. `views`: further photos whose ticks and needles serve too.
pub fn adjust(
    photo: &Photo,
    luma: &Plane,
    camera: &Camera,
    (marks, request): (&[Clicked], &Request),
    views: &[View],
) -> Result<Found, CalibrateError> {
    let usual = ViewPrior::usual(photo.focal_ratio.is_some());
    let alone = adjusted(luma, camera, (marks, request), views, usual)?;
    let told = neighbours(photo, (&alone.plane, &alone.ticks), marks, usual);
    let with = told.and_then(|n| adjusted(luma, camera, (marks, request), views, n.view).ok());
    let mut found = with.filter(|f| f.is_no_worse_than(&alone)).unwrap_or(alone);
    found.within = told.is_some_and(|n| n.within);
    if let Some(view) = told.map(|n| n.view)
        && bent::is_bent(&found.plane, &found.ticks, (&view, found.within))
    {
        let clicks = clicks(marks, request, views, view);
        (found.plane, found.ticks, found.radial) = bent::straightened(camera, (&found.plane, &found.ticks), &clicks)
            .ok_or_else(|| CalibrateError::NoPlane("its marks lie on no circle, and their directions do not tell it".into()))?;
    }
    Ok(found)
}

/// The same with what is known of the view before any tick.
fn adjusted(
    luma: &Plane,
    camera: &Camera,
    (marks, request): (&[Clicked], &Request),
    views: &[View],
    view: ViewPrior,
) -> Result<Found, CalibrateError> {
    let failed = || CalibrateError::NoPlane("the adjustment did not converge".into());
    let clicks = clicks(marks, request, views, view);
    let plane = from_any_side(camera, starting_pose(marks, request)?, &clicks).ok_or_else(failed)?;
    let mut found = Found { plane, ticks: Vec::new(), cover_radius: 0.0, radial: true, within: false };
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

/// The plane by the marks' directions from the pivot alone, for marks that lie on no circle about it: taken as seen straight on, with the
/// usual doubt of that. `None` without a pivot, and where the marks do not follow each other round it as the photo shows them.
pub fn by_directions(camera: &Camera, marks: &[Clicked], request: &Request) -> Option<Found> {
    let pivot = request.pivot?.vector();
    let usual = Observations { pivot: Some(pivot), ..Observations::of(Vec::new(), Vec::new(), ViewPrior::usual(false)) };
    directed(camera, marks, pivot, usual)
}

/// The same about where the marks' own ticks point.
pub fn by_tick_lines(camera: &Camera, marks: &[Clicked], lines: &TickPivot) -> Option<Found> {
    let told = Observations::of(Vec::new(), lines.lines.clone(), ViewPrior::usual(false));
    let found = directed(camera, marks, lines.place, told)?;
    Some(Found { plane: found.plane.drawn_aside(), ..found })
}

/// The plane of marks that follow each other round a pivot, at distances that tell hardly anything.
fn directed(camera: &Camera, marks: &[Clicked], pivot: Vector2<f64>, told: Observations) -> Option<Found> {
    let seen: Vec<f64> = marks.iter().map(|m| m.1.vector() - pivot).map(|d| d.x.atan2(-d.y).to_degrees()).collect();
    let turned = run(&seen);
    let sweep = turned.last()? - turned.first()?;
    if marks.len() < 3 || sweep.abs() > 340.0 || turned.windows(2).any(|w| (w[1] - w[0]) * sweep.signum() < 1.0) {
        return None;
    }
    let start = about(pivot, marks);
    let ends = marks.iter().map(|m| (m.1.vector(), NO_CIRCLE * start.scale)).collect();
    let plane = geometry::fit(camera, start, &Observations { ends, ..told })?;
    Some(Found { plane, ticks: Vec::new(), cover_radius: 0.0, radial: true, within: false })
}

/// Straight on about a pivot, as large as the marks' mean distance.
fn about(origin: Vector2<f64>, marks: &[Clicked]) -> PlanePose {
    PlanePose { rx: 0.0, ry: 0.0, origin, scale: mean_distance(marks, origin) }
}

/// What is known before any tick: the clicks, the camera.
fn clicks(marks: &[Clicked], request: &Request, views: &[View], view: ViewPrior) -> Observations {
    let ends = marks.iter().map(|m| (m.1.vector(), MARK_CLICK)).collect();
    Observations {
        pivot: request.pivot.map(|p| p.vector()),
        needles: views.iter().filter_map(|v| v.needle).collect(),
        ..Observations::of(ends, Vec::new(), view)
    }
}
