//! Marks on no circle about their pivot. Those of a sub-dial often follow the rim of the large dial about it: taken for a circle, such a bent ring
//! looks like one that is tilted by 11 to 37°.
use super::fitted::to_ticks;
use super::geometry::{A_CIRCLE, DialPlane, Observations, on_a_circle};
use super::tick::Tick;
use super::view_prior::ViewPrior;
use crate::maths::pose::{Camera, PlanePose};
use nalgebra::Vector2;

/// Doubt of a mark's distance from the pivot where the marks lie on no circle about it, share of the radius.
pub const NO_CIRCLE: f64 = 0.25;
/// Tilt of a circle against what is known of the view, in standard deviations, from which the ring is bent rather than tilted. Twelve
/// sub-dials of eight photographs, whose large dials tell the view: 3.0 to 11; eight other dials of few ticks with neighbours: 2.3 at most.
const BENT: f64 = 3.0;
/// The same against what other dials alone tell: a circle may be seen from further aside than is usual, and where no neighbour denies it, it is. Of
/// bent ones 2.3 at least, of others 2.9 at most: no limit by itself.
const BY_OTHERS: f64 = 2.0;

/// Whether a ring of few ticks is tilted so much against what is known of the view that it is bent rather; also one of many over less than half
/// round, where it lies `within` a larger dial, whose rim it may follow.
pub fn is_bent(plane: &DialPlane, ticks: &[Tick], (view, within): (&ViewPrior, bool)) -> bool {
    let may_be = ticks.len() < A_CIRCLE || within && !is_round(ticks);
    let tilt = [plane.pose.rx, plane.pose.ry];
    may_be && view.off_tilt(tilt) > BENT && view.off_told(tilt) > BY_OTHERS
}

/// Whether ticks are so many and go so far round that they are on a circle.
pub fn is_round(ticks: &[Tick]) -> bool {
    on_a_circle(ticks.len(), ticks.iter().map(|t| t.angle))
}

/// The plane that the marks' directions from the pivot and what is known of the view tell, whatever their distances, with the ticks as it shows
/// them, and whether they point at the pivot; `None` where that tells none.
pub fn straightened(camera: &Camera, (plane, ticks): (&DialPlane, &[Tick]), clicks: &Observations) -> Option<(DialPlane, Vec<Tick>, bool)> {
    let pose = plane.pose;
    let mut obs = clicks.clone();
    obs.ends.iter_mut().for_each(|e| e.1 = NO_CIRCLE * pose.scale);
    obs.lines = ticks.iter().map(|t| t.observed_line(pose.origin)).collect();
    let start = DialPlane { pose: PlanePose { rx: 0.0, ry: 0.0, ..pose }, ..plane.clone() };
    let (plane, radial, excess) = to_ticks(camera, &start, 1.0, obs)?;
    let mut ticks = ticks.iter().map(|t| shown_by(t, &plane)).collect::<Option<Vec<Tick>>>()?;
    excess.in_ticks(&mut ticks, plane.pose.origin);
    Some((plane, ticks, radial))
}

/// A tick as another plane shows it.
fn shown_by(t: &Tick, plane: &DialPlane) -> Option<Tick> {
    let back = plane.homography.inverse()?;
    let at = |p: Vector2<f64>| back.at(p.x, p.y);
    let middle = at(0.5 * (t.outer + t.inner));
    Some(Tick { radii: [at(t.outer).norm(), at(t.inner).norm()], angle: middle.x.atan2(middle.y).to_degrees(), ..t.clone() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibrate::geometry::{self, MARK_CLICK};
    use crate::calibrate::view_prior::{NESTED, SeenFace};
    use nalgebra::{Matrix3, Vector3};

    /// Five marks from -56 to 56 degrees, whose distance from the pivot is 1 at the middle and so much more at the ends, seen from `pose`.
    fn marks(more: f64, pose: &PlanePose, camera: &Camera) -> (Vec<f64>, Vec<Tick>) {
        let h = pose.homography(camera);
        let angles: Vec<f64> = (0..5).map(|i| 28.0 * (f64::from(i) - 2.0)).collect();
        let tick = |angle: &f64| {
            let (s, c) = angle.to_radians().sin_cos();
            let radius = 1.0 + more * (angle / 56.0).powi(2);
            let at = |r: f64| h.at(r * s, r * c);
            let (outer, inner) = (at(radius), at(0.85 * radius));
            let line = [inner, outer];
            Tick { line, sigma: 0.1, sigma_angle: 0.02, half_width: 1.0, outer, inner, radii: [1.0, 0.85], angle: *angle, sigma_end: 0.2 }
        };
        let ticks = angles.iter().map(tick).collect();
        (angles, ticks)
    }

    /// A face whose tilt the large dial about it tells to two degrees.
    fn known(pose: &PlanePose) -> ViewPrior {
        let covariance = Matrix3::from_diagonal(&Vector3::new(0.01, 0.01, 0.3).map(|s: f64| s * s));
        ViewPrior::usual(false).told_by(&[SeenFace { mean: Vector3::new(pose.rx, pose.ry, 0.0), covariance }], NESTED)
    }

    /// A circle and a ring that is bent by a fifth, both 12 degrees aside: as a circle the one is right, the other far off in tilt and angle.
    #[test]
    fn a_bent_ring_is_no_tilted_circle() {
        let camera = Camera::of_picture(1600, 1200, None);
        let pose = PlanePose { rx: 0.05, ry: 0.2, origin: Vector2::new(700.0, 650.0), scale: 120.0 };
        for (more, bent) in [(0.0, false), (0.2, true)] {
            let (angles, ticks) = marks(more, &pose, &camera);
            let ends = ticks.iter().map(|t| (t.outer, MARK_CLICK)).collect();
            let lines = ticks.iter().map(|t| t.observed_line(pose.origin)).collect();
            let obs = Observations { pivot: Some(pose.origin), ..Observations::of(ends, lines, known(&pose)) };
            let ends = obs.ends.iter().map(|e| (e.0, 0.2)).collect();
            let alone = Observations { ends, view: ViewPrior::usual(false), ..obs.clone() };
            let circle = geometry::fit(&camera, PlanePose { rx: 0.0, ry: 0.0, ..pose }, &alone).unwrap();
            let error = |plane: &DialPlane| {
                let off = |(a, t): (&f64, &Tick)| (shown_by(t, plane).unwrap().angle - a).abs();
                angles.iter().zip(&ticks).map(off).fold(0.0, f64::max)
            };
            assert_eq!(is_bent(&circle, &ticks, (&known(&pose), false)), bent, "{:?}", circle.pose);
            // straight on is usual, but the large dial tells the focal length alone
            let covariance = Matrix3::from_diagonal(&Vector3::new(0.122, 0.122, 0.05).map(|s: f64| s * s));
            let untold = ViewPrior::usual(false).told_by(&[SeenFace { mean: Vector3::zeros(), covariance }], NESTED);
            let aside = DialPlane { pose: PlanePose { ry: 0.45, ..circle.pose }, ..circle.clone() };
            assert!(untold != ViewPrior::usual(false) && !is_bent(&aside, &ticks, (&untold, true)), "no neighbour denies the tilt");
            let many = |step: f64| (0..11).map(|i| Tick { angle: step * f64::from(i), ..ticks[0].clone() }).collect::<Vec<Tick>>();
            assert!(!is_bent(&circle, &many(20.0), (&known(&pose), true)), "many ticks over more than half round are on a circle");
            assert_eq!(is_bent(&circle, &many(12.0), (&known(&pose), true)), bent, "over less they need not be");
            assert!(!is_bent(&circle, &many(12.0), (&known(&pose), false)), "but where nothing lies about them");
            assert_eq!(error(&circle) > 3.0, bent, "{}", error(&circle));
            let (plane, seen, _) = straightened(&camera, (&circle, &ticks), &obs).unwrap();
            assert!(error(&plane) < 0.5, "{} {:?}", error(&plane), plane.pose);
            assert!(seen.iter().zip(&angles).all(|(t, a)| (t.angle - a).abs() < 0.5));
            let off = (plane.pose.rx - pose.rx).hypot(plane.pose.ry - pose.ry);
            assert!(straightened(&camera, (&circle, &ticks[..1]), &obs).is_some_and(|s| s.0.covariance[(1, 1)].sqrt() > 0.02));
            assert!(off < 0.04 && plane.covariance[(1, 1)].sqrt() > 0.02, "{off}");
        }
    }
}
