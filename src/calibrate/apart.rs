//! One dial to a place: of several that were found there, and their order.
use super::numbered::{FoundDial, NumberedTick};
use super::spacing::even;
use crate::tick_detection::another_ring;

/// Evenly standing ticks that make a second scale about one pivot: a ring of numerals has no such.
pub(super) const SECOND_SCALE: usize = 8;
/// Share of the ticks of a part of a scale that the whole of it has too, and how near, shares of the step from tick to tick.
const OF_WHOLE: f64 = 0.75;
const SAME_TICK: f64 = 0.25;

/// Number of ticks without a doubt.
pub(super) fn sound(ticks: &[NumberedTick]) -> usize {
    ticks.iter().filter(|t| t.doubt.is_none()).count()
}

/// Their angles.
pub(super) fn angles(ticks: &[NumberedTick]) -> Vec<f64> {
    ticks.iter().filter(|t| t.doubt.is_none()).map(|t| t.angle).collect()
}

/// Whether a dial is but a part of another: its ticks are that one's, of which more stand evenly.
fn less_than(dial: &FoundDial, whole: &FoundDial) -> bool {
    let narrowest = angles(&whole.ticks).windows(2).map(|w| w[1] - w[0]).fold(45.0, f64::min);
    let reach = SAME_TICK * narrowest.to_radians() * whole.radius;
    let of_whole = |t: &&NumberedTick| whole.ticks.iter().any(|w| w.doubt.is_none() && w.outer.distance(t.outer) < reach);
    let own = dial.ticks.iter().filter(|t| t.doubt.is_none());
    let more = even(&angles(&whole.ticks)) > even(&angles(&dial.ticks));
    more && own.filter(of_whole).count() as f64 >= OF_WHOLE * sound(&dial.ticks) as f64
}

/// One dial to a place: the first, but for one of which it is a part; and a second scale about its pivot.
pub(super) fn apart(dials: impl IntoIterator<Item = FoundDial>) -> Vec<FoundDial> {
    let scale = |d: &FoundDial| even(&angles(&d.ticks)) >= SECOND_SCALE;
    let mut found: Vec<FoundDial> = Vec::new();
    for dial in dials {
        let other = |d: &FoundDial| !d.about_the_same(&dial) || another_ring(d.radius, dial.radius) && scale(&dial);
        if found.iter().all(|d| other(d) || less_than(d, &dial)) {
            found.retain(|d| !less_than(d, &dial));
            found.push(dial);
        }
    }
    found
}

/// From left to right, of scales about one pivot the outer one first.
pub(super) fn from_left(mut dials: Vec<FoundDial>) -> Vec<FoundDial> {
    dials.sort_by(|a, b| b.radius.total_cmp(&a.radius));
    let place = |d: &FoundDial| dials.iter().find(|o| o.about_the_same(d)).map_or(d.pivot.x, |o| o.pivot.x);
    let mut placed: Vec<(f64, FoundDial)> = dials.iter().map(|d| (place(d), d.clone())).collect();
    placed.sort_by(|a, b| a.0.total_cmp(&b.0));
    placed.into_iter().map(|p| p.1).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::homography::Homography;
    use crate::maths::point::PhotoPoint;

    /// Ticks at these angles on a ring of 100 px about a middle, as seen from a pivot so far to the right of it.
    fn dial(angles: &[f64], aside: f64) -> FoundDial {
        let tick = |(i, a): (usize, &f64)| {
            let (s, c) = a.to_radians().sin_cos();
            let at = |r: f64| PhotoPoint::new(300.0 + r * s, 200.0 - r * c);
            NumberedTick { number: i + 1, outer: at(100.0), inner: at(90.0), angle: *a, length: 0.1, long: true, doubt: None }
        };
        let ticks = angles.iter().enumerate().map(tick).collect();
        FoundDial {
            pivot: PhotoPoint::new(300.0 + aside, 200.0),
            radius: 100.0,
            tilt: 0.0,
            plane: Homography::identity(),
            ticks,
            seen: None,
        }
    }
    fn every(step: f64, from: i32, to: i32) -> Vec<f64> {
        (from..=to).map(|k| step * f64::from(k)).collect()
    }

    #[test]
    fn a_scale_found_whole_takes_the_place_of_its_parts() {
        let (whole, left, right) = (dial(&every(8.0, -15, 15), 0.0), dial(&every(8.0, -15, -4), 40.0), dial(&every(8.0, 3, 15), -25.0));
        for order in [[&left, &right, &whole], [&whole, &left, &right], [&left, &whole, &right]] {
            let kept = apart(order.map(Clone::clone));
            assert!(kept.contains(&whole) && !kept.contains(&right), "{} dials", kept.len());
        }
        // its pivot lies too far off to be the same dial's: it goes where the whole comes after it
        assert_eq!(apart([left, right, whole.clone()]), [whole]);
    }

    #[test]
    fn more_strokes_that_are_not_its_ticks_make_no_whole() {
        let first = dial(&every(10.0, -10, 10), 0.0);
        let finer: Vec<f64> = every(4.0, 30, 60);
        assert_eq!(apart([first.clone(), dial(&finer, 3.0)]), vec![first.clone()], "a finer scale over the gap");
        let between: Vec<f64> = every(5.0, -20, 20).into_iter().map(|a| a + 2.5).collect();
        assert_eq!(apart([first.clone(), dial(&between, 3.0)]), [first], "strokes between its ticks");
    }
}
