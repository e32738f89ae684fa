//! A dial from a scale of few marks: its plane from the bars' ends and lines, where they tell one, its ticks as they were seen.
//!
//! Three bars and two dots leave no tick to find again in the plane, and a ring that is bent about its pivot looks like a tilted circle: the
//! places are those of the bars and dots themselves, good to some tenths of a pixel of the size they were found at, and a calibration fits
//! them anew.
use super::doubt::Doubt;
use super::fitted::from_any_side;
use super::laid::{ASIDE, observations};
use super::numbered::{FoundDial, NumberedTick, numbered};
use super::tick::TickEnds;
use super::uneven::uneven;
use super::view_prior::ViewPrior;
use crate::maths::point::PhotoPoint;
use crate::maths::pose::{Camera, PlanePose};
use crate::maths::robust::high_median;
use crate::photo::Photo;
use crate::tick_detection::{Bar, Dot, SparseScale};
use nalgebra::Vector2;

/// Bars that a plane is fitted to at least: with fewer the face is taken as seen straight on, or as the rim is that it was found in.
const LEAST_BARS: usize = 3;
/// Bars without which every mark of a scale is in doubt: the one of a ring of small numerals is a bar too.
const LEAST_DIRECTIONS: usize = 2;
/// Greatest tilt of a plane from so few, radians, and greatest distance of its pivot from where the lines meet, radii.
const STEEPEST: f64 = 0.6;
const PIVOT: f64 = 0.25;
/// A mark on a dial's ring: so far within its ticks' inner ends or outside their outer ones, radii, and beside the first and the last, degrees.
const RING: f64 = 0.03;
const BESIDE: f64 = 2.0;
/// So near to a tick's middle a mark is that tick, radii. Four of 307 scales in 254 renderings were half of another dial's ticks; none of them was one.
const ON_MIDDLE: f64 = 0.03;
/// How far off the even places of its ticks, steps.
const EVEN: f64 = 0.15;
/// Doubt of a bar's end along it, share of the radius.
const END: f64 = 0.02;

/// The dial of a scale, photo px, as seen straight on or as its rim is where no plane fits its bars; `None` where the plane has no inverse. Of the other `bars` of
/// the photo those that stand on its ring as its own do are its ticks too: many temperature scales are uneven.
pub fn sparse_dial(photo: &Photo, scale: &SparseScale, bars: &[Bar]) -> Option<FoundDial> {
    let camera = Camera::of_picture(photo.width, photo.height, photo.focal_ratio);
    let front = PlanePose { rx: 0.0, ry: 0.0, origin: scale.pivot, scale: scale.radius };
    let fitted = || {
        let ends: Vec<Vector2<f64>> = scale.bars.iter().map(|b| b.outer_end(scale.pivot)).collect();
        let about = (scale.pivot, scale.radius);
        let seen = observations(&scale.bars, &ends, about, (END, ASIDE), ViewPrior::usual(photo.focal_ratio.is_some()));
        let found = from_any_side(&camera, front, &seen)?;
        let (tilt, aside) = (found.pose.rx.hypot(found.pose.ry), (found.pose.origin - scale.pivot).norm());
        (tilt < STEEPEST && aside < PIVOT * scale.radius).then_some((found.pose, found.homography))
    };
    let enough = scale.bars.len() >= LEAST_BARS;
    let (pose, plane) = enough.then(fitted).flatten().unwrap_or_else(|| {
        let pose = as_its_rim(scale);
        (pose, pose.homography(&camera))
    });
    let back = plane.inverse()?;
    let ends = |inner: Vector2<f64>, outer: Vector2<f64>| {
        let middle = 0.5 * (inner + outer);
        let at = back.at(middle.x, middle.y);
        TickEnds { angle: at.x.atan2(at.y).to_degrees(), outer, inner }
    };
    let about = |middle: Vector2<f64>, half: Vector2<f64>| ends(middle - half, middle + half);
    let of_bar = |b: &Bar| about(b.centre, b.outwards(scale.pivot) * (0.5 * b.length));
    let of_dot = |d: &Dot| about(d.centre, (d.centre - scale.pivot).normalize() * (0.5 * d.diameter));
    let doubt = (scale.bars.len() < LEAST_DIRECTIONS).then_some(Doubt::Round);
    let own: Vec<TickEnds> = scale.bars.iter().map(of_bar).chain(scale.dots.iter().map(of_dot)).collect();
    let more = uneven(scale, bars, &back, &own);
    let ticks: Vec<_> = own.iter().copied().chain(more.into_iter().map(of_bar)).map(|t| (t, doubt)).collect();
    Some(FoundDial {
        pivot: PhotoPoint::new(pose.origin.x, pose.origin.y),
        radius: pose.scale,
        tilt: pose.rx.hypot(pose.ry).to_degrees(),
        plane,
        ticks: numbered(&ticks, &plane),
        seen: None,
    })
}

/// The pose of a plane as the rim shows it in which a scale was found; straight on where it was found in none. From which side it is seen no
/// ellipse tells: one of the two.
fn as_its_rim(scale: &SparseScale) -> PlanePose {
    let eigen = scale.shape.symmetric_eigen();
    let (long, short) = (eigen.eigenvalues.imax(), eigen.eigenvalues.imin());
    let flat = (eigen.eigenvalues[short] / eigen.eigenvalues[long]).clamp(0.0, 1.0);
    let axis = eigen.eigenvectors.column(long) * flat.acos();
    PlanePose { rx: axis.x, ry: axis.y, origin: scale.pivot, scale: scale.radius * eigen.eigenvalues[long] }
}

impl FoundDial {
    /// Whether a scale is this dial's: about its pivot, or with more than half of its marks on its ring
    /// at even places from its ticks, between the first and the last.
    pub(super) fn holds(&self, scale: &SparseScale) -> bool {
        if self.is_about(scale.pivot) {
            return true;
        }
        let Some(back) = self.plane.inverse() else { return false };
        let radius = |p: PhotoPoint| back.at(p.x, p.y).norm();
        let sound = || self.ticks.iter().filter(|t| matches!(t.doubt, None | Some(Doubt::Round)));
        let inner = sound().map(|t| radius(t.inner)).fold(f64::MAX, f64::min) - RING;
        let outer = sound().map(|t| radius(t.outer)).fold(0.0, f64::max) + RING;
        let (Some(first), Some(last)) = (sound().next(), sound().next_back()) else { return false };
        let angles: Vec<f64> = sound().map(|t| t.angle).collect();
        let Some(spacing) = high_median(angles.windows(2).map(|w| w[1] - w[0])) else { return false };
        let on_ring = |c: &Vector2<f64>| {
            let p = back.at(c.x, c.y);
            let angle = first.angle - BESIDE + (p.x.atan2(p.y).to_degrees() - first.angle + BESIDE).rem_euclid(360.0);
            let steps = angles.iter().map(|a| (angle - a) / spacing).min_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.5);
            (inner..outer).contains(&p.norm()) && angle < last.angle + BESIDE && (steps - steps.round()).abs() < EVEN
        };
        2 * scale.centres().filter(on_ring).count() > scale.marks()
    }
    /// Whether a place, photo px, is the middle of one of its ticks.
    fn has_middle_at(&self, place: Vector2<f64>) -> bool {
        let middle = |t: &NumberedTick| 0.5 * (t.outer.vector() + t.inner.vector());
        self.ticks.iter().any(|t| (middle(t) - place).norm() < ON_MIDDLE * self.radius)
    }
}

/// Whether half of the marks of a scale and more are ticks of the dials known, or it is one of theirs.
pub(super) fn is_known(found: &[FoundDial], scale: &SparseScale) -> bool {
    let taken = scale.centres().filter(|c| found.iter().any(|d| d.has_middle_at(*c))).count();
    2 * taken >= scale.marks() || found.iter().any(|d| d.holds(scale))
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{Matrix2, Rotation2};

    /// A circle of 100 px seen from 40 degrees aside: as wide as it is along the axis of the tilt, flatter across. A rim's shape has a trace of 2.
    #[test]
    fn a_rim_seen_from_aside_is_told_as_it_is_seen() {
        let (flat, along) = (40_f64.to_radians().cos(), Rotation2::new(0.5));
        let mean = 0.5 * (1.0 + flat);
        let shape = along.matrix() * Matrix2::new(1.0, 0.0, 0.0, flat) * along.matrix().transpose() / mean;
        let (bars, dots, pivot) = (Vec::new(), Vec::new(), Vector2::new(2000.0, 1500.0));
        let scale = SparseScale { pivot, radius: 100.0 * mean, bars, dots, places: 3, shape, odds: 9.0 };
        let pose = as_its_rim(&scale);
        assert!((pose.rx.hypot(pose.ry).to_degrees() - 40.0).abs() < 1e-6 && (pose.scale - 100.0).abs() < 1e-6, "{pose:?}");
        // from afar there is no perspective
        let seen = pose.homography(&Camera::of_picture(4000, 3000, Some(50.0)));
        for k in 0..8 {
            let (s, c) = (0.25 * std::f64::consts::PI * f64::from(k)).sin_cos();
            let (at, from) = (seen.at(s, c) - pivot, shape.try_inverse().unwrap() / scale.radius);
            assert!(((from * at).norm() - 1.0).abs() < 0.01, "{k}: {at:?}");
        }
        let front = as_its_rim(&SparseScale { shape: Matrix2::identity(), ..scale });
        assert_eq!((front.rx.hypot(front.ry), front.scale), (0.0, 100.0 * mean));
    }
}
