//! Further ticks of a scale that was found by its even places: many temperature scales are uneven.
use super::numbered::from_gap;
use super::tick::TickEnds;
use crate::maths::angle::wrap;
use crate::maths::homography::Homography;
use crate::maths::point::{DialPoint, PhotoPoint};
use crate::maths::robust::high_median;
use crate::tick_detection::{Bar, SparseScale, off, within};
use nalgebra::Vector2;

/// A further tick: its outer end lies so near to the ring of the others, radii, and its line passes the pivot by less than this, radians; ratio at most of
/// its contrast, width and length to the middle ones; so many steps beyond the first and the last mark at most; so far from any other, steps. Labelled
/// dials in photographs (401 marks) and 254 renderings show the same dials with directions of 0.04 to 0.09, ratios of 1.8 to 3.5, 1 to 3 steps beyond
/// and 0.1 to 0.3 between.
const RING: f64 = 0.03;
const POINTING: f64 = 0.06;
const LIKE: f64 = 2.5;
const BEYOND: f64 = 2.0;
const APART: f64 = 0.2;

/// Bars on the ring of a scale, alike and pointing at its pivot, that stand at none of its places. `back`: photo px to the dial's plane; `own`: its bars
/// and after them its dots.
pub fn uneven<'a>(scale: &SparseScale, bars: &'a [Bar], back: &Homography<PhotoPoint, DialPoint>, own: &[TickEnds]) -> Vec<&'a Bar> {
    let middle = |f: fn(&Bar) -> f64| high_median(scale.bars.iter().map(f));
    let (Some(contrast), Some(width), Some(length)) = (middle(|b| b.contrast), middle(|b| b.width), middle(|b| b.length)) else {
        return Vec::new();
    };
    let Some(ring) = ScaleRing::of(own, scale, back) else { return Vec::new() };
    let near = |v: f64, m: f64| within(v, m, LIKE);
    let bright = scale.bars.iter().any(|b| b.bright);
    let alike = |b: &&Bar| b.bright == bright && near(b.contrast, contrast) && near(b.width, width) && near(b.length, length);
    let aside = |b: &Bar| off(b, scale.pivot).abs();
    let mut likely: Vec<&Bar> = bars.iter().filter(alike).filter(|b| aside(b) < POINTING).collect();
    likely.sort_by(|a, b| aside(a).total_cmp(&aside(b)));
    let (mut taken, mut more) = (ring.angles.clone(), Vec::new());
    for b in likely {
        let end = b.outer_end(scale.pivot);
        let Some((angle, outside)) = ring.at(back.at(end.x, end.y)) else { continue };
        if outside.abs() < RING && taken.iter().all(|t| wrap(t - angle).abs() > APART * ring.step) {
            taken.push(angle);
            more.push(b);
        }
    }
    more
}

/// The places of a scale and the ring of its bars' outer ends.
struct ScaleRing {
    /// Of its bars and dots, degrees clockwise, rising.
    angles: Vec<f64>,
    /// Angle and radius of its bars' ends, rising.
    ends: Vec<(f64, f64)>,
    /// Degrees from place to place.
    step: f64,
}

impl ScaleRing {
    fn of(own: &[TickEnds], scale: &SparseScale, back: &Homography<PhotoPoint, DialPoint>) -> Option<Self> {
        let radius = |i: usize, t: &TickEnds| (i < scale.bars.len()).then(|| back.at(t.outer.x, t.outer.y).norm());
        let mut marks: Vec<(f64, Option<f64>)> = own.iter().enumerate().map(|(i, t)| (t.angle, radius(i, t))).collect();
        from_gap(&mut marks);
        let angles: Vec<f64> = marks.iter().map(|m| m.0).collect();
        let step = (angles.last()? - angles.first()?) / (scale.places.max(2) - 1) as f64;
        let ends: Vec<(f64, f64)> = marks.iter().filter_map(|m| Some((m.0, m.1?))).collect();
        (!ends.is_empty() && step > 0.0).then_some(Self { angles, ends, step })
    }
    /// Angle of a place and how far outside the ring it lies, radii; `None` beyond the ends of the scale, where half of its gap is left at least.
    fn at(&self, place: Vector2<f64>) -> Option<(f64, f64)> {
        let (first, last) = (self.angles.first()?, self.angles.last()?);
        let beyond = (BEYOND * self.step).min(0.5 * (first + 360.0 - last));
        let from = first - beyond;
        let angle = from + (place.x.atan2(place.y).to_degrees() - from).rem_euclid(360.0);
        (angle < last + beyond).then(|| (angle, place.norm() - self.radius(angle)))
    }
    /// Its radius in a direction, between its bars' ends in a straight line: of a scale that is bent about its pivot it differs.
    fn radius(&self, angle: f64) -> f64 {
        let next = self.ends.partition_point(|e| e.0 < angle);
        match (next.checked_sub(1).and_then(|i| self.ends.get(i)), self.ends.get(next)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (angle - a.0) / (b.0 - a.0).max(1e-9),
            (Some(e), None) | (None, Some(e)) => e.1,
            (None, None) => 1.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bars at these angles on a ring of 100 px about a pivot, outer ends there.
    fn bars(angles: &[f64]) -> Vec<Bar> {
        let bar = |a: &f64| {
            let (s, c) = a.to_radians().sin_cos();
            let out = Vector2::new(s, -c);
            Bar { centre: Vector2::new(300.0, 200.0) + out * 90.0, along: out, length: 20.0, width: 5.0, contrast: 80.0, bright: true }
        };
        angles.iter().map(bar).collect()
    }
    /// What is added to a scale of bars at these angles, of all bars there are.
    fn added(own: &[f64], places: usize, all: &[Bar]) -> Vec<f64> {
        let pivot = Vector2::new(300.0, 200.0);
        let scale = SparseScale {
            pivot,
            radius: 100.0,
            bars: bars(own),
            dots: Vec::new(),
            places,
            shape: nalgebra::Matrix2::identity(),
            odds: 9.0,
        };
        let plane = Homography::<DialPoint, PhotoPoint>::affine(nalgebra::Matrix2::new(100.0, 0.0, 0.0, -100.0), pivot);
        let back = plane.inverse().unwrap();
        let ends: Vec<TickEnds> =
            scale.bars.iter().zip(own).map(|(b, a)| TickEnds { angle: *a, outer: b.outer_end(pivot), inner: b.centre }).collect();
        let angle = |b: &Bar| (b.centre.x - pivot.x).atan2(pivot.y - b.centre.y).to_degrees().round();
        uneven(&scale, all, &back, &ends).into_iter().map(angle).collect()
    }

    #[test]
    fn a_bar_between_the_places_is_a_tick_and_a_mark_of_the_scale_is_none_again() {
        let own = [-36.0, -12.0, 12.0, 36.0];
        assert_eq!(added(&own, 4, &bars(&[-36.0, -12.0, 12.0, 36.0, -27.0, 60.0, 120.0, 34.0])), [-27.0, 60.0]);
        // where the scale and its reach are more than a whole turn
        let wide = [-135.0, -81.0, -27.0, 27.0, 81.0, 135.0];
        assert!(added(&wide, 6, &bars(&wide)).is_empty());
        assert_eq!(added(&wide, 6, &bars(&[-135.0, 0.0, 135.0])), [0.0]);
    }

    #[test]
    fn a_bar_off_the_ring_askew_or_of_another_look_is_none() {
        let own = [-36.0, -12.0, 12.0, 36.0];
        let one = |change: &dyn Fn(&mut Bar)| {
            let mut bar = bars(&[0.0]);
            change(&mut bar[0]);
            added(&own, 4, &bar).len()
        };
        assert_eq!(one(&|_| ()), 1);
        assert_eq!(one(&|b| b.centre.y += 5.0), 0, "five hundredths inside the ring");
        assert_eq!(one(&|b| b.along = Vector2::new(0.1, -1.0).normalize()), 0, "six degrees askew");
        assert_eq!(one(&|b| b.bright = false), 0);
        assert_eq!(one(&|b| b.width *= 3.0), 0);
        // of two nearly at one place the one that points at the pivot better
        let mut two = bars(&[0.0, 3.0]);
        two[0].along = Vector2::new(0.04, -1.0).normalize();
        assert_eq!(added(&own, 4, &two), [3.0]);
    }
}
