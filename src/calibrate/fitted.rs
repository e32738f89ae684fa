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
    if is_round(&plane, &obs)
        && let Some(better) = by_outer_ends(camera, &plane, &obs)
    {
        (plane, obs) = better;
    }
    // a part of a larger photo has a longer lens than the EXIF that it still has tells
    let part = obs.view.of_a_part().and_then(|view| {
        let freer = geometry::fit(camera, plane.pose, &Observations { view, ..obs.clone() })?;
        (freer.cost + CUT < plane.cost && freer.camera.focal > LONGER * camera.focal).then_some((freer, view))
    });
    if let Some(part) = part {
        (plane, obs.view) = part;
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
fn is_round(plane: &DialPlane, obs: &Observations) -> bool {
    let Some(back) = plane.homography.inverse() else { return false };
    let at = obs.ends.iter().chain(obs.rings.iter().flatten()).map(|(e, _)| back.at(e.x, e.y)).map(|q| q.x.atan2(q.y).to_degrees());
    on_a_circle(obs.ends.len(), at)
}

/// The plane of a ring of many ticks once more from its outer ends alone, where these tell another: they tell the side it is seen from, where
/// clicks had chosen the other, and whether the inner ends lie in their plane, or on a cone, and are left out.
fn by_outer_ends(camera: &Camera, plane: &DialPlane, obs: &Observations) -> Option<(DialPlane, Observations)> {
    let inner: usize = obs.rings.iter().map(Vec::len).sum();
    if inner == 0 {
        return None;
    }
    let outer = Observations { rings: Vec::new(), ..obs.clone() };
    let here = geometry::fit(camera, plane.pose, &outer)?;
    let other = from_any_side(camera, PlanePose { rx: 0.0, ry: 0.0, ..plane.pose }, &outer).filter(|o| o.cost + CUT < here.cost);
    let turned = other.is_some();
    let best = other.unwrap_or(here);
    let both = geometry::fit(camera, best.pose, obs)?;
    let excluded = geometry::fit(camera, both.pose, &outer)?.cost > best.cost + CUT;
    if excluded || both.cost - best.cost > ON_A_CONE * inner as f64 {
        return Some((best, outer));
    }
    turned.then(|| (both, obs.clone()))
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

    /// 28 ticks of a ring of 230 px seen from 15 degrees aside, their inner ends so far below the plane of the outer ones; the fit starts from
    /// the other side, 35 degrees off. What is usual of a view pulls by 3 or 4 degrees, since no pivot was clicked.
    #[test]
    fn outer_ends_tell_the_side_and_inner_ends_on_a_cone_are_left_out() {
        let camera = Camera::of_picture(1500, 980, None);
        let pose = PlanePose { rx: 0.25, ry: -0.06, origin: Vector2::new(1150.0, 440.0), scale: 230.0 };
        let h = pose.homography(&camera);
        let turns: Vec<(f64, f64)> = (0..28).map(|k| (f64::from(k) * 9.8 - 132.0).to_radians().sin_cos()).collect();
        let ends: Vec<(Vector2<f64>, f64)> = turns.iter().map(|&(s, c)| (h.at(s, c), 0.3)).collect();
        for (below, left_out) in [(0.0, false), (0.06, true)] {
            let down = pose.above_origin(&camera, -below) - pose.origin;
            let ring = turns.iter().map(|&(s, c)| (h.at(0.9 * s, 0.9 * c) + down, 0.3)).collect();
            let obs = Observations { rings: vec![ring], ..Observations::of(ends.clone(), Vec::new(), ViewPrior::usual(false)) };
            let wrong = geometry::fit(&camera, PlanePose { rx: -0.2, ry: 0.5, ..pose }, &obs).unwrap();
            let (plane, kept) = by_outer_ends(&camera, &wrong, &obs).unwrap();
            assert_eq!(kept.rings.is_empty(), left_out, "{below}");
            let off = (plane.pose.rx - pose.rx).hypot(plane.pose.ry - pose.ry);
            assert!(off < 0.1, "{below}: {:?}", plane.pose);
        }
    }
}
