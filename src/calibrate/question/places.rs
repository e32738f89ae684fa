//! Marks, or a pivot, that do not lie where the print says.
use super::super::adjust::{Found, adjust};
use super::super::asked::Question;
use super::super::clicked::{Clicked, in_plane};
use super::super::error::CalibrateError;
use super::super::labels::{Labels, label_angles};
use super::super::numbered::long_from;
use super::super::request::Request;
use super::super::sought::find_dials;
use super::super::ticks;
use super::super::way;
use super::print;
use crate::maths::angle::wrap;
use crate::maths::homography::Homography;
use crate::maths::point::PhotoPoint;
use crate::maths::pose::Camera;
use crate::maths::robust::median;
use crate::photo::{Photo, Plane};

/// Marks over less of the dial than this, degrees: the scales of dash dials and of the 77 dials of the sets sweep 65° and more.
const NARROW: f64 = 40.0;
/// Share of the marks that must lie where nothing is printed, none of them on a tick.
const BARE: f64 = 0.7;
/// A mark may lie so far off the ring of the others, share of its radius, and so many times the usual distance. Right marks of the sets lie
/// up to 24 % off, where a small dial's tilt came out wrong; a numeral in place of its tick lies 30 % off.
const OFF_RING: (f64, f64) = (0.28, 5.0);
/// A pivot given by hand may lie so far from where the ticks point, share of the radius (right pivots of the sets: up to 18 %).
const OFF_PIVOT: f64 = 0.3;
/// A tick so near to a mark is the mark's own, degrees.
const BESIDE_DEG: f64 = 1.5;
/// Ticks of each length that must be there before lengths tell anything.
const OF_EACH: usize = 3;

/// What there is to ask.
pub fn questions(
    (photo, luma): (&Photo, &Plane),
    request: &Request,
    found: &Found,
    (marks, labels): (&[Clicked], &Labels),
) -> Vec<Question> {
    let mut out: Vec<Question> = outside(photo, request).into_iter().chain(narrow(&labels.angle, request.pivot.is_some())).collect();
    if labels.tick.iter().all(Option::is_none) {
        out.extend(
            swapped(photo, luma, request).or_else(|| of_a_copy(photo, found, marks)).or_else(|| nothing_printed(luma, found, marks)),
        );
    }
    out.extend(way::question(&labels.angle, &labels.tick_angles, BESIDE_DEG));
    out.extend(through_the_gap(luma, found, marks, labels));
    out.extend(off_ring(found, marks));
    out.extend(off_pivot(found, request));
    out.extend(short_ticks(found, marks, labels));
    out
}

/// A scale that goes through its own gap. Only where none of its ticks stand between two marks are ticks looked for all round.
fn through_the_gap(luma: &Plane, found: &Found, marks: &[Clicked], labels: &Labels) -> Option<Question> {
    way::bare_interval(&labels.angle, &labels.tick_angles, BESIDE_DEG)?;
    let plane = &found.plane;
    let at = in_plane(&plane.homography, marks)?;
    let ticks = ticks::find_within(luma, &plane.homography, plane.pose.scale, &at, 180.0);
    let (ticks, values): (Vec<f64>, Vec<f64>) = (ticks.iter().map(|t| t.angle).collect(), marks.iter().map(|m| m.0).collect());
    way::through_the_gap(&values, &labels.angle, &ticks, BESIDE_DEG)
}

/// Degrees of the dial that marks span.
fn spanned(angles: &[f64]) -> f64 {
    angles.iter().copied().fold(f64::MIN, f64::max) - angles.iter().copied().fold(f64::MAX, f64::min)
}

/// Marks over so little of the dial that they can hardly be those of a scale; and whether somebody said where its pivot is.
pub fn narrow(angles: &[f64], pivot_given: bool) -> Option<Question> {
    let spanned = spanned(angles);
    (spanned < NARROW).then(|| {
        let pivot = if pivot_given { "" } else { ", and the needle's axis (--pivot X,Y) if they lie on no circle about it" };
        let text = format!(
            "The marks span {spanned:.0}° of the dial, where the scale of a dash dial sweeps 60° and more; beyond them nothing can be read. Give marks \
             up to both ends of the scale{pivot}."
        );
        Question::of(None, text)
    })
}

fn outside(photo: &Photo, request: &Request) -> Option<Question> {
    let out = |p: &PhotoPoint| p.x < -0.5 || p.y < -0.5 || p.x > photo.width as f64 - 0.5 || p.y > photo.height as f64 - 0.5;
    let mark = request.marks.iter().find(|m| out(&m.1))?;
    let text = format!(
        "The mark {} lies outside the picture, which is {} x {} px. Check its place; were x and y exchanged, or the places taken from a larger copy?",
        mark.0, photo.width, photo.height
    );
    Some(Question::of(Some(mark.0), text))
}

/// The same with x and y exchanged, in marks and pivot.
fn exchanged(request: &Request) -> Request {
    let turned = |p: PhotoPoint| PhotoPoint::new(p.y, p.x);
    Request { marks: request.marks.iter().map(|m| (m.0, turned(m.1))).collect(), pivot: request.pivot.map(turned), ..request.clone() }
}

/// Whether the marks lie on printed ticks once x and y are exchanged.
pub fn fits_exchanged(photo: &Photo, luma: &Plane, request: &Request) -> bool {
    laid(photo, luma, &exchanged(request)).is_some_and(|(_, l)| 3 * l.tick.iter().flatten().count() > 2 * l.tick.len())
}

/// Plane and labels of a request, where its marks lie on a dial.
fn laid(photo: &Photo, luma: &Plane, request: &Request) -> Option<(Found, Labels)> {
    let mut marks = request.marks.clone();
    marks.sort_by(|a, b| a.0.total_cmp(&b.0));
    let camera = Camera::of_picture(photo.width, photo.height, photo.focal_ratio);
    let found = adjust(photo, luma, &camera, (&marks, request), &[]).ok()?;
    let labels = label_angles(&found, &marks).ok()?;
    Some((found, labels))
}

/// The marks lie on a dial when the pivot that was given is left out, and its pivot is far from that. Marks along a straight cut lie on no
/// dial's circle, but on so little of a large one that it tells nothing.
pub fn pivot_elsewhere(photo: &Photo, luma: &Plane, request: &Request) -> Option<CalibrateError> {
    let given = request.pivot?.vector();
    let (found, labels) = laid(photo, luma, &Request { pivot: None, ..request.clone() })?;
    if spanned(&labels.angle) < NARROW {
        return None;
    }
    let apart = (given - found.plane.pose.origin).norm() / found.plane.pose.scale;
    (apart > OFF_PIVOT).then_some(CalibrateError::PivotElsewhere(100.0 * apart))
}

/// Places that lie on a found dial's ticks once they are all multiplied by one number: those of a smaller or a larger copy.
fn of_a_copy(photo: &Photo, found: &Found, marks: &[Clicked]) -> Option<Question> {
    let times = find_dials(photo).into_iter().find_map(|dial| {
        let k = dial.radius / found.plane.pose.scale;
        let on_tick = |m: &&Clicked| {
            // places count from the picture's corner
            let p = PhotoPoint::new(k * (m.1.x + 0.5) - 0.5, k * (m.1.y + 0.5) - 0.5);
            dial.has_tick_at(p)
        };
        (!(0.9..1.1).contains(&k) && 3 * marks.iter().filter(on_tick).count() > 2 * marks.len()).then_some(k)
    })?;
    let text = format!(
        "No mark lies on a printed tick; multiplied by {times:.2} the places do. Were they taken from a copy of another size? Take them from this very \
         picture."
    );
    Some(Question::of(None, text))
}

fn swapped(photo: &Photo, luma: &Plane, request: &Request) -> Option<Question> {
    fits_exchanged(photo, luma, request).then(|| {
        let text = "No mark lies on a printed tick; with x and y exchanged the marks do. Give each place as X,Y: x to the right, y down.";
        Question::of(None, text.to_string())
    })
}

fn nothing_printed(luma: &Plane, found: &Found, marks: &[Clicked]) -> Option<Question> {
    let places: Vec<PhotoPoint> = marks.iter().map(|m| m.1).collect();
    (print::bare(luma, found, &places) >= BARE).then(|| {
        let text = "No mark lies on a printed tick, and nothing is printed at most of them. Check the places: are they of this very picture, at its full \
                    size, counted from its top-left corner?";
        Question::of(None, text.to_string())
    })
}

/// A mark off the ring of all others.
fn off_ring(found: &Found, marks: &[Clicked]) -> Option<Question> {
    // a plane without ticks knows the ring too poorly
    if marks.len() < 4 || found.ticks.is_empty() {
        return None;
    }
    let back = found.plane.homography.inverse().unwrap_or_else(Homography::identity);
    let radii: Vec<f64> = marks.iter().map(|m| back.at(m.1.x, m.1.y).norm()).collect();
    let ring = median(&radii)?;
    let usual = median(&radii.iter().map(|r| (r - ring).abs()).collect::<Vec<_>>())?;
    let far = |r: f64| (r - ring).abs() > (OFF_RING.0 * ring).max(OFF_RING.1 * usual);
    let (mark, r) = marks.iter().zip(&radii).find(|(_, r)| far(**r))?;
    let side = if *r < ring { "inside" } else { "outside" };
    let text = format!(
        "The mark {} stands {:.0} % {side} of the ring on which the others lie. Check its place.",
        mark.0,
        100.0 * ((r - ring) / ring).abs()
    );
    Some(Question::of(Some(mark.0), text))
}

/// A pivot that is not where the ticks point.
fn off_pivot(found: &Found, request: &Request) -> Option<Question> {
    let given = request.pivot?.vector();
    let apart = (given - found.plane.pose.origin).norm() / found.plane.pose.scale;
    (found.ticks.len() >= 3 && apart > OFF_PIVOT).then(|| {
        let text = format!(
            "The pivot that was given lies {:.0} % of the dial's radius from where its ticks point. Is it the axis of another needle? Check --pivot, \
             or leave it out.",
            100.0 * apart
        );
        Question::of(None, text)
    })
}

/// Marks on short ticks where long ones are at hand.
fn short_ticks(found: &Found, marks: &[Clicked], labels: &Labels) -> Option<Question> {
    let lengths: Vec<f64> = found.ticks.iter().map(|t| t.radii[0] - t.radii[1]).collect();
    let limit = long_from(&lengths);
    let long = |t: usize| lengths[t] >= limit;
    let count = lengths.iter().filter(|l| **l >= limit).count();
    if limit == 0.0 || count < OF_EACH || lengths.len() - count < OF_EACH {
        return None;
    }
    let own: Vec<(usize, usize)> = labels.tick.iter().enumerate().filter_map(|(i, t)| t.map(|t| (i, t))).collect();
    let short: Vec<(usize, usize)> = own.iter().copied().filter(|(_, t)| !long(*t)).collect();
    let free = |t: usize| own.iter().all(|(_, o)| *o != t);
    if 4 * own.len() >= 3 * marks.len() && short.len() == own.len() && count + 1 >= marks.len() {
        let text = "All marks lie on short ticks, and none of the long ones has a value. Is each value one tick off?";
        return Some(Question::of(None, text.to_string()));
    }
    // one of them beside a long tick that no value was given to
    let moved = |&(i, t): &(usize, usize)| {
        let gap = |o: usize| wrap(labels.tick_angles[o] - labels.tick_angles[t]).abs();
        let mut beside: Vec<usize> = (0..lengths.len()).filter(|o| *o != t).collect();
        beside.sort_by(|a, b| gap(*a).total_cmp(&gap(*b)));
        beside.into_iter().take(2).filter(|o| long(*o) && free(*o)).any(|o| !stands_well(marks, &labels.angle, i, gap(o)))
    };
    let (mark, _) = short.iter().copied().find(moved).filter(|_| own.len() >= 4 * short.len())?;
    let text = format!("The mark {} lies on a short tick beside a long one that has no value. Is it one tick off?", marks[mark].0);
    Some(Question::of(Some(marks[mark].0), text))
}

/// Share of the gap to the tick beside it that a mark may stand off the line through its neighbours, in value and angle.
const IN_LINE: f64 = 0.25;

/// Whether a mark stands where its neighbours say, to much less than the gap to the tick beside it: a stroke of something else may be as long as a long
/// tick, and part of a wide tick as short as a short one. Asked of the marks between others too, for on an uneven scale neighbours say nothing.
fn stands_well(marks: &[Clicked], angles: &[f64], mark: usize, gap: f64) -> bool {
    let off = |m: usize, (a, b): (usize, usize)| {
        let step = (angles[b] - angles[a]) / (marks[b].0 - marks[a].0);
        (angles[m] - angles[a] - step * (marks[m].0 - marks[a].0)).abs()
    };
    let last = marks.len() - 1;
    let next = match mark {
        _ if last < 3 => return false,
        0 => (1, 2),
        m if m == last => (m - 2, m - 1),
        m => (m - 1, m + 1),
    };
    let between = (1..last).all(|m| off(m, (m - 1, m + 1)) < IN_LINE * gap);
    between && off(mark, next) < IN_LINE * gap
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_stands_well_where_its_neighbours_say_on_an_even_scale() {
        let marks: Vec<Clicked> = (0..5).map(|i| (20.0 * f64::from(i), PhotoPoint::new(0.0, 0.0))).collect();
        let angles = |third: f64| [-80.0, -40.0, third, 40.0, 80.0];
        assert!(stands_well(&marks, &angles(1.0), 2, 10.0));
        // one tick on or back, whichever tick it is held against
        assert!([10.0, -10.0, 9.4, -9.4].iter().all(|a| !stands_well(&marks, &angles(*a), 2, 10.0)));
        assert!(!stands_well(&marks, &angles(4.0), 2, 10.0), "a third of the gap off");
        // at the ends by the two next to them; of three marks nothing says
        assert!(stands_well(&marks, &angles(0.0), 0, 10.0) && stands_well(&marks, &angles(0.0), 4, 10.0));
        assert!(!stands_well(&marks, &[-70.0, -40.0, 0.0, 40.0, 80.0], 0, 10.0), "the first one tick on");
        assert!(!stands_well(&marks[..3], &angles(0.0)[..3], 1, 10.0));
        // an uneven scale, one mark a tick off towards the line
        assert!(!stands_well(&marks, &[-80.0, -52.0, -20.0, 24.0, 80.0], 2, 6.0));
    }
}
