//! Marks on no circle about their pivot. Those of a sub-dial often follow the rim of the large dial about it: taken for a circle, such a bent ring
//! looks like one that is tilted by 20 to 40°.
use super::fitted::to_ticks;
use super::geometry::{DialPlane, Observations};
use super::tick::Tick;
use super::view_prior::ViewPrior;
use crate::maths::pose::{Camera, PlanePose};
use nalgebra::Vector2;

/// Doubt of a mark's distance from the pivot where the marks lie on no circle about it, share of the radius.
pub const NO_CIRCLE: f64 = 0.25;
/// Tilt of a circle against what is known of the view, in standard deviations, from which the ring is bent rather than tilted. The sub-dials of
/// a photographed cluster, its view known from the large dials: 3.4 to 9.
const BENT: f64 = 3.0;
/// Ticks from which on a ring is no chance: those of large dials that were seen at such a tilt are on a circle.
pub const A_CIRCLE: usize = 10;

/// Whether a ring of few ticks is tilted so much against what is known of the view that it is bent rather.
pub fn is_bent(plane: &DialPlane, ticks: usize, view: &ViewPrior) -> bool {
    ticks < A_CIRCLE && view.off_tilt([plane.pose.rx, plane.pose.ry]) > BENT
}

/// The plane that the marks' directions from the pivot and what is known of the view tell, whatever their distances, with the ticks as it shows
/// them, and whether they point at the pivot; `None` where that tells none.
pub fn by_directions(
    camera: &Camera,
    (plane, ticks): (&DialPlane, &[Tick]),
    clicks: &Observations,
) -> Option<(DialPlane, Vec<Tick>, bool)> {
    let pose = plane.pose;
    if clicks.pivot.is_none() && ticks.len() < 3 {
        return None;
    }
    let mut obs = clicks.clone();
    obs.ends.iter_mut().for_each(|e| e.1 = NO_CIRCLE * pose.scale);
    obs.lines = ticks.iter().map(|t| t.observed_line(pose.origin)).collect();
    let start = DialPlane { pose: PlanePose { rx: 0.0, ry: 0.0, ..pose }, ..plane.clone() };
    let (plane, radial, excess) = to_ticks(camera, &start, 1.0, obs)?;
    let mut ticks = ticks.iter().map(|t| in_plane(t, &plane)).collect::<Option<Vec<Tick>>>()?;
    excess.in_ticks(&mut ticks, plane.pose.origin);
    Some((plane, ticks, radial))
}

/// A tick as another plane shows it.
fn in_plane(t: &Tick, plane: &DialPlane) -> Option<Tick> {
    let back = plane.homography.inverse()?;
    let at = |p: Vector2<f64>| back.at(p.x, p.y);
    let middle = at(0.5 * (t.outer + t.inner));
    Some(Tick { radii: [at(t.outer).norm(), at(t.inner).norm()], angle: middle.x.atan2(middle.y).to_degrees(), ..t.clone() })
}
