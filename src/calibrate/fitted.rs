//! The dial's plane fitted to its ticks: their ends, and their directions where these agree.
use super::excess::Excess;
use super::geometry::{self, DialPlane, Observations, on_a_circle};
use crate::maths::pose::{Camera, PlanePose};
use nalgebra::Vector2;

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

/// The plane fitted to the ticks: first without their directions, for not every maker draws them towards the pivot; then with
/// them where they agree; where they clearly do not, the ring's middle or the lines' meeting may be the pivot, and the one is the doubt of the
/// other. Also says whether they do, and how much further the ticks lie off than their noise explains.
pub(super) fn to_ticks(camera: &Camera, plane: &DialPlane, unit: f64, mut obs: Observations) -> Option<(DialPlane, bool, Excess)> {
    let lines = std::mem::take(&mut obs.lines);
    let start = PlanePose { scale: plane.pose.scale * unit, ..plane.pose };
    let mut plane = geometry::fit(camera, start, &obs)?;
    // a part of a larger photo has a longer lens than the EXIF that it still has tells
    let part = obs.view.of_a_part().and_then(|view| {
        let freer = geometry::fit(camera, plane.pose, &Observations { view, ..obs.clone() })?;
        (freer.cost + CUT < plane.cost && freer.camera.focal > LONGER * camera.focal).then_some((freer, view))
    });
    if let Some(part) = part {
        (plane, obs.view) = part;
    }
    // only then: by a wrong lens inner ends look as if they lay in another plane
    if ticks_go_round(&plane, &obs)
        && let Some(better) = by_outer_ends(camera, &plane, &obs)
    {
        (plane, obs) = better;
    }
    // fewer than two directions disagree with nothing
    let (apart, off) = geometry::lines_disagree(&plane, &lines).unwrap_or((0.0, Vector2::zeros()));
    if apart >= DISAGREE {
        let radial = off.norm() < ASKEW * plane.pose.scale;
        let click = obs.pivot;
        let (plane, excess) = with_excess(camera, plane, obs)?;
        return Some((if radial { plane } else { plane.in_doubt_by(off, click) }, radial, excess));
    }
    obs.lines = lines;
    let plane = geometry::fit(camera, plane.pose, &obs)?;
    let (plane, excess) = with_excess(camera, plane, obs)?;
    Some((plane, true, excess))
}

/// Whether outer ends are so many, and ticks go so far round, that they are on a circle: ends along a straight cut fit one on either side of them.
/// By a plane from the wrong side only some ends have the radius of outer ones, so that the others' directions count too.
fn ticks_go_round(plane: &DialPlane, obs: &Observations) -> bool {
    let Some(back) = plane.homography.inverse() else { return false };
    let at = obs.ends.iter().chain(obs.rings.iter().flatten()).map(|(e, _)| back.at(e.x, e.y)).map(|q| q.x.atan2(q.y).to_degrees());
    on_a_circle(obs.ends.len(), at)
}

/// The plane of a ring of many ticks once more from its outer ends alone, where these tell another: with the pivot, the cover and the needle they
/// tell the side it is seen from, where inner ends had chosen the other, and whether the inner ends lie in their plane, or on a cone, and are left out.
/// A ring by itself is as good a circle from either side, and what is usual of a view chooses none: it would take straight on for steep.
fn by_outer_ends(camera: &Camera, plane: &DialPlane, obs: &Observations) -> Option<(DialPlane, Observations)> {
    let inner: usize = obs.rings.iter().map(Vec::len).sum();
    if inner == 0 {
        return None;
    }
    let outer = Observations { rings: Vec::new(), ..obs.clone() };
    let here = geometry::fit(camera, plane.pose, &outer)?;
    let clearly_better = |o: &DialPlane| o.cost + CUT < here.cost && seen_cost(o, &outer) + CUT < seen_cost(&here, &outer);
    let other = from_any_side(camera, PlanePose { rx: 0.0, ry: 0.0, ..plane.pose }, &outer).filter(clearly_better);
    let turned = other.is_some();
    let best = other.unwrap_or(here);
    let both = geometry::fit(camera, best.pose, obs)?;
    let excluded = geometry::fit(camera, both.pose, &outer)?.cost > best.cost + CUT;
    if excluded || both.cost - best.cost > ON_A_CONE * inner as f64 {
        return Some((best, outer));
    }
    turned.then(|| (both, obs.clone()))
}

/// What a plane costs but for what was known of the view before.
fn seen_cost(plane: &DialPlane, obs: &Observations) -> f64 {
    let known = obs.view.residuals([plane.pose.rx, plane.pose.ry, plane.log_focal]);
    plane.cost - obs.view.conflict() - known.iter().map(|v| v * v).sum::<f64>()
}

/// What an inner end may cost, twice the negative log likelihood, when it lies in the plane of the outer ones. Rings of ten ticks and more of 22
/// photographed dials: 0.4 to 3.7 on ten, 4.6 to 13 on twelve, among them six of three clusters whose ticks stand on a slope. No curve yet.
const ON_A_CONE: f64 = 4.0;

/// Twice the log likelihood by which the ticks must speak for a part of a larger photo, against the focal length of the whole, which its
/// EXIF still tells: three standard uncertainties.
pub(super) const CUT: f64 = 9.0;
/// How many times as long a lens it must have.
const LONGER: f64 = 1.2;

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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibrate::view_prior::ViewPrior;

    /// 24 ticks of a face of 200 px seen straight on from afar (near to it a tilt would explain the rest), their ends on its circle, their
    /// lines through a point so far to the right of its middle.
    fn ticks_towards(aside: f64, click: Option<Vector2<f64>>) -> (DialPlane, bool) {
        let (middle, meet) = (Vector2::new(4000.0, 3000.0), Vector2::new(4000.0 + aside, 3000.0));
        let ends: Vec<Vector2<f64>> = (0..24)
            .map(|k| (f64::from(k) * 11.0 - 126.0).to_radians().sin_cos())
            .map(|(s, c)| middle + 200.0 * Vector2::new(s, -c))
            .collect();
        let lines = ends.iter().map(|e| (e + (meet - e) * 0.1, *e, 0.5)).collect();
        let obs =
            Observations { pivot: click, ..Observations::of(ends.iter().map(|e| (*e, 0.2)).collect(), lines, ViewPrior::usual(true)) };
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

    /// Outer ends of 28 ticks of a dial seen so, inner ends so far below their plane, and a camera's view of them.
    fn ring(camera: &Camera, pose: &PlanePose, below: f64, view: ViewPrior) -> Observations {
        let h = pose.homography(camera);
        let turns: Vec<(f64, f64)> = (0..28).map(|k| (f64::from(k) * 9.8 - 132.0).to_radians().sin_cos()).collect();
        let down = pose.above_origin(camera, -below) - pose.origin;
        let inner = |&(s, c): &(f64, f64)| h.at(0.9 * s, 0.9 * c) + down;
        let ends = turns.iter().map(|&(s, c)| (h.at(s, c), 0.3)).collect();
        let lines = turns.iter().map(|t| (inner(t), h.at(t.0, t.1), 1.0)).collect();
        let rings = vec![turns.iter().map(|t| (inner(t), 0.3)).collect()];
        Observations { rings, ..Observations::of(ends, lines, view) }
    }

    fn off(plane: &DialPlane, pose: &PlanePose) -> f64 {
        (plane.pose.rx - pose.rx).hypot(plane.pose.ry - pose.ry)
    }

    /// A ring of 230 px seen from 15 degrees aside, the fit on the other side, 35 degrees off.
    #[test]
    fn the_pivot_tells_the_side_of_outer_ends_and_inner_ends_on_a_cone_are_left_out() {
        let camera = Camera::of_picture(1500, 980, None);
        let pose = PlanePose { rx: 0.25, ry: -0.06, origin: Vector2::new(1150.0, 440.0), scale: 230.0 };
        for (below, left_out) in [(0.0, false), (0.06, true)] {
            let obs = Observations { pivot: Some(pose.origin), lines: Vec::new(), ..ring(&camera, &pose, below, ViewPrior::usual(false)) };
            let alone = Observations { pivot: None, ..obs.clone() };
            let wrong = geometry::fit(&camera, PlanePose { rx: -0.2, ry: 0.5, ..pose }, &alone).unwrap();
            let (plane, kept) = by_outer_ends(&camera, &wrong, &obs).unwrap();
            assert_eq!(kept.rings.is_empty(), left_out, "{below}");
            assert!(off(&plane, &pose) < 0.1, "{below}: {:?}", plane.pose);
            // what is usual of a view tells no side
            let seen = by_outer_ends(&camera, &wrong, &alone).map_or(wrong.clone(), |b| b.0);
            assert!(off(&seen, &wrong.pose) < 0.2, "{below}: {:?}", seen.pose);
        }
    }

    /// Flat ticks seen from 24 degrees aside without a pivot: the fit to all of them is right, and a flatter view of the outer ends would be more usual.
    #[test]
    fn a_steep_view_is_not_turned_to_a_usual_one() {
        let camera = Camera::of_picture(1500, 980, None);
        let pose = PlanePose { rx: -0.1, ry: 0.42, origin: Vector2::new(1150.0, 440.0), scale: 230.0 };
        let obs = Observations { lines: Vec::new(), ..ring(&camera, &pose, 0.0, ViewPrior::usual(false)) };
        let right = geometry::fit(&camera, pose, &obs).unwrap();
        assert!(off(&right, &pose) < 0.05, "{:?}", right.pose);
        let (seen, rings) = by_outer_ends(&camera, &right, &obs).map_or((right, 1), |(plane, kept)| (plane, kept.rings.len()));
        assert!(off(&seen, &pose) < 0.05 && rings == 1, "{:?}", seen.pose);
    }

    /// A part of a photo whose EXIF tells the whole's lens: inner ends that fit no plane by that lens lie in one by the part's.
    #[test]
    fn flat_ticks_in_a_part_of_a_photo_keep_their_inner_ends() {
        let camera = Camera::of_picture(1500, 980, Some(0.8));
        for (times, pose) in [
            (2.0, PlanePose { rx: 0.1, ry: 0.2, origin: Vector2::new(800.0, 500.0), scale: 300.0 }),
            (1.5, PlanePose { rx: 0.1, ry: 0.25, origin: Vector2::new(900.0, 450.0), scale: 400.0 }),
        ] {
            let part = Camera { focal: times * camera.focal, ..camera };
            let obs = ring(&part, &pose, 0.0, ViewPrior::usual(true));
            let start = geometry::fit(&camera, pose, &obs).unwrap();
            let (plane, radial, _) = to_ticks(&camera, &start, 1.0, obs).unwrap();
            assert!((plane.camera.focal / part.focal).ln().abs() < 0.1 && radial, "{times}: {}", plane.camera.focal / camera.focal);
            let aside = (plane.pose.origin - pose.origin).norm() / pose.scale;
            assert!(off(&plane, &pose) < 0.03 && aside < 0.01, "{times}: {:?}, {aside}", plane.pose);
        }
    }
}
