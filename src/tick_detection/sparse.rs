//! Scales of few marks, three bars and the dots between them: too few for their lines to meet beyond chance, enough by the even places that
//! they stand at.
//!
//! Every two bars that look alike, with lines that cross equally far from both, suppose a pivot and a scale with one to four steps between them;
//! so do three dots alike that stand evenly, with the middle of their circle for the pivot. [`super::odds`] weighs the marks at its places.
//! The number of suppositions counts against each of them.
use super::bar::{Bar, Dot, clearest};
use super::bars::Marks;
use super::meet::{lines_cross, off_by};
use super::odds::{ANNULUS, Ladder, Others, Run, Seen, turned};
use nalgebra::{Matrix2, Vector2};
use std::f64::consts::TAU;

/// A scale, px of its picture.
#[derive(Clone, Debug, PartialEq)]
pub struct SparseScale {
    /// Where the lines of two of its bars meet, or the middle of the circle through three of its dots.
    pub pivot: Vector2<f64>,
    /// Mean distance (geometric) of the outer ends of those from it.
    pub radius: f64,
    /// Its bars.
    pub bars: Vec<Bar>,
    /// Its dots.
    pub dots: Vec<Dot>,
    /// Places from its first mark to its last.
    pub places: usize,
    /// How its plane is seen, unit vectors to px of the radius 1, symmetric: as they are, or as the rim shows in which it was found.
    pub shape: Matrix2<f64>,
    /// How much more likely it is as a scale than by chance, natural logarithm; the number of suppositions is counted off.
    pub odds: f64,
}

impl SparseScale {
    /// Number of its marks.
    pub fn marks(&self) -> usize {
        self.bars.len() + self.dots.len()
    }
    /// Places with no mark.
    pub fn empty(&self) -> usize {
        self.places.saturating_sub(self.marks())
    }
    /// Whether it is but a part of another scale: all its marks are that one's too, which has more of them, no fewer bars, and no more places empty.
    pub fn is_part_of(&self, whole: &Self) -> bool {
        let in_whole = |c: Vector2<f64>| whole.centres().any(|w| (w - c).norm() < SAME_MARK * self.radius);
        let fuller = whole.marks() > self.marks() && whole.bars.len() >= self.bars.len() && whole.empty() <= self.empty();
        fuller && self.centres().all(in_whole)
    }
    /// The middles of its bars and after them of its dots, px.
    pub fn centres(&self) -> impl Iterator<Item = Vector2<f64>> {
        self.bars.iter().map(|b| b.centre).chain(self.dots.iter().map(|d| d.centre))
    }
}

/// So near to each other two marks are one, radii: a rim's picture shows them a little off.
const SAME_MARK: f64 = 0.03;
/// Bars and dots of one polarity looked at, the clearest first of each, and suppositions of a pivot: more are texture.
const MOST_BARS: usize = 500;
const MOST_PIVOTS: usize = 12_000;
/// Ratio at most of the contrasts, lengths and widths of the two bars.
const LIKE: [f64; 3] = [3.0, 1.8, 1.8];
/// Dots of which three suppose a pivot, the clearest first; ratio at most of the diameters and contrasts of three, and of the squares of
/// the distances between them.
const MOST_DOTS: usize = 60;
const SAME_DOTS: [f64; 3] = [1.35, 2.0, 1.3];
/// Least sine of the angle between two bars (of the lines between three dots half of it), log ratio of their distances at most, and their
/// distance over their length.
const CROSSING: f64 = 0.25;
const UNEQUAL: f64 = 0.2;
const REACH: std::ops::Range<f64> = 2.5..25.0;
/// Angle between them and of a step, radians.
const SWEEP: std::ops::Range<f64> = 0.35..2.9;
const STEP: std::ops::Range<f64> = 0.157..1.4;
/// Steps between them.
const STEPS: std::ops::RangeInclusive<i32> = 1..=4;
/// Marks that may belong: contrast within this factor of theirs, length and a dot's diameter at most so many times their length.
const CONTRAST: f64 = 4.0;
const LONGEST: [f64; 2] = [2.0, 1.3];
/// A mark looks like the two: log ratios of contrast, length and width.
const ALIKE: [f64; 3] = [0.5, 0.35, 0.35];
/// Places of the annulus round about that are asked whether they lie in the picture.
const DIRECTIONS: usize = 32;
const RADII: usize = 3;
/// Scales that are kept.
const MOST_SCALES: usize = 400;
/// Suppositions with less are not kept, log odds.
const LEAST: f64 = 0.0;

/// Scales in a picture of this size, the likeliest first; many are of the same marks. Their pivots lie in the picture.
pub fn sparse_scales(marks: &Marks, size: (usize, usize)) -> Vec<SparseScale> {
    let mut all: Vec<SparseScale> = [true, false].into_iter().flat_map(|bright| of_polarity(marks, bright, size)).collect();
    all.sort_by(|a, b| b.odds.total_cmp(&a.odds).then(a.pivot.x.total_cmp(&b.pivot.x)));
    all.truncate(MOST_SCALES);
    all
}

/// A bar or a dot.
#[derive(Clone, Copy)]
struct Mark {
    centre: Vector2<f64>,
    along: Option<Vector2<f64>>,
    length: f64,
    width: f64,
    contrast: f64,
}

impl Mark {
    fn of_bar(b: &Bar) -> Self {
        Self { centre: b.centre, along: Some(b.along), length: b.length, width: b.width, contrast: b.contrast }
    }
    fn of_dot(d: &Dot) -> Self {
        Self { centre: d.centre, along: None, length: d.diameter, width: d.diameter, contrast: d.contrast }
    }
}

fn of_polarity(marks: &Marks, bright: bool, size: (usize, usize)) -> Vec<SparseScale> {
    let bars = clearest(&marks.bars, bright, MOST_BARS);
    let mut dots: Vec<&Dot> = marks.dots.iter().filter(|d| d.bright == bright).collect();
    dots.sort_by(|a, b| (b.contrast * b.diameter).total_cmp(&(a.contrast * a.diameter)));
    dots.truncate(MOST_BARS);
    let all: Vec<Mark> = bars.iter().map(Mark::of_bar).chain(dots.iter().map(|d| Mark::of_dot(d))).collect();
    let pivots = pivots(&all, bars.len(), size);
    // bars and dots count apart: what the one supposes makes no chance find of the other likelier
    let cost = [false, true].map(|of_dots| (4.0 * pivots.iter().filter(|p| p.of_dots == of_dots).count() as f64).ln());
    let scale = |p: &Pivot| -> Option<SparseScale> {
        let run = p.best(&all, size)?;
        let odds = run.odds - cost[usize::from(p.of_dots)] + (run.marks.len() as f64).ln();
        let (own_bars, own_dots): (Vec<usize>, Vec<usize>) = run.marks.iter().partition(|i| **i < bars.len());
        (odds > LEAST).then(|| SparseScale {
            pivot: p.at,
            radius: p.radius,
            bars: own_bars.iter().map(|i| bars[*i]).collect(),
            dots: own_dots.iter().map(|i| *dots[*i - bars.len()]).collect(),
            places: run.places,
            shape: Matrix2::identity(),
            odds,
        })
    };
    pivots.iter().filter_map(scale).collect()
}

/// Whether one is more than so many times the other.
fn unlike(p: f64, q: f64, ratio: f64) -> bool {
    p > ratio * q || q > ratio * p
}

/// A supposed pivot: the crossing of two bars' lines, or the middle of the circle through three dots.
struct Pivot {
    at: Vector2<f64>,
    radius: f64,
    /// Numbers of the outer two marks, the second clockwise from the first by `sweep`, radians.
    pair: [usize; 2],
    sweep: f64,
    /// Contrast, length and width of the marks, geometric means.
    look: [f64; 3],
    /// Whether it is that of three dots.
    of_dots: bool,
}

/// The pivots that bars (the clearest first) and, after them, dots suppose.
fn pivots(all: &[Mark], bars: usize, (width, height): (usize, usize)) -> Vec<Pivot> {
    let inside = |c: &Vector2<f64>| (0.0..width as f64).contains(&c.x) && (0.0..height as f64).contains(&c.y);
    let pairs = (1..bars).flat_map(|j| (0..j).map(move |i| [i, j]));
    let of_bars = pairs.filter_map(|pair| Pivot::of_bars(all, pair)).filter(|p| inside(&p.at)).take(MOST_PIVOTS);
    let dots = bars..all.len().min(bars + MOST_DOTS);
    let outer = dots.clone().flat_map(|j| (bars..j).map(move |i| [i, j]));
    let triples = outer.flat_map(|[i, j]| dots.clone().filter(move |k| *k != i && *k != j).map(move |k| [i, k, j]));
    of_bars.chain(triples.filter_map(|three| Pivot::of_dots(all, three)).filter(|p| inside(&p.at)).take(MOST_PIVOTS)).collect()
}

impl Pivot {
    /// Of three dots alike, the middle one as far from the one as from the other.
    fn of_dots(all: &[Mark], [i, k, j]: [usize; 3]) -> Option<Self> {
        let (a, b, c) = (&all[i], &all[k], &all[j]);
        if [b, c].iter().any(|m| unlike(a.length, m.length, SAME_DOTS[0]) || unlike(a.contrast, m.contrast, SAME_DOTS[1])) {
            return None;
        }
        let (u, v) = (a.centre - b.centre, c.centre - b.centre);
        let det = 2.0 * (u.x * v.y - u.y * v.x);
        let (uu, vv) = (u.norm_squared(), v.norm_squared());
        if unlike(uu, vv, SAME_DOTS[2]) || det.abs() < CROSSING * (uu * vv).sqrt() {
            return None;
        }
        let at = b.centre + Vector2::new(v.y * uu - u.y * vv, u.x * vv - v.x * uu) / det;
        let length = (a.length * b.length * c.length).cbrt();
        let radius = (b.centre - at).norm() + 0.5 * length;
        let turn = turned(direction(c, at) - direction(a, at));
        let (pair, sweep) = if turn < 0.0 { ([j, i], -turn) } else { ([i, j], turn) };
        let between = turned(direction(b, at) - direction(&all[pair[0]], at));
        let look = [(a.contrast * b.contrast * c.contrast).cbrt(), length, length];
        let seen = SWEEP.contains(&sweep) && (0.0..sweep).contains(&between) && REACH.contains(&(radius / length));
        seen.then_some(Self { at, radius, pair, sweep, look, of_dots: true })
    }
    /// Of two bars alike whose lines cross about as far from the one as from the other.
    fn of_bars(bars: &[Mark], [i, j]: [usize; 2]) -> Option<Self> {
        let (a, b) = (&bars[i], &bars[j]);
        if unlike(a.contrast, b.contrast, LIKE[0]) || unlike(a.length, b.length, LIKE[1]) || unlike(a.width, b.width, LIKE[2]) {
            return None;
        }
        let (at, _) = lines_cross((a.centre, a.along?), (b.centre, b.along?), CROSSING)?;
        let radius = |m: &Mark| (m.centre - at).norm() + 0.5 * m.length;
        let (ra, rb) = (radius(a), radius(b));
        if (ra / rb).ln().abs() > UNEQUAL || !REACH.contains(&(ra / a.length)) || !REACH.contains(&(rb / b.length)) {
            return None;
        }
        let turn = turned(direction(b, at) - direction(a, at));
        let (pair, sweep) = if turn < 0.0 { ([j, i], -turn) } else { ([i, j], turn) };
        let mean = |p: f64, q: f64| (p * q).sqrt();
        let look = [mean(a.contrast, b.contrast), mean(a.length, b.length), mean(a.width, b.width)];
        SWEEP.contains(&sweep).then_some(Self { at, radius: mean(ra, rb), pair, sweep, look, of_dots: false })
    }

    /// The likeliest run of marks about it.
    fn best(&self, all: &[Mark], size: (usize, usize)) -> Option<Run> {
        let first = direction(&all[self.pair[0]], self.at);
        let seen: Vec<Seen> = all.iter().enumerate().filter_map(|(i, m)| self.see(i, m, first)).collect();
        let number = |k: usize| seen.iter().position(|s| s.index == self.pair[k]);
        let pair = [number(0)?, number(1)?];
        let others = Others::of(&seen, pair, self.inside(size));
        STEPS
            .filter(|steps| STEP.contains(&(self.sweep / f64::from(*steps))) && (!self.of_dots || steps % 2 == 0))
            .filter_map(|steps| Ladder { seen: &seen, others: &others, pair, steps, sweep: self.sweep, circle: self.of_dots }.best())
            .max_by(|a, b| a.odds.total_cmp(&b.odds))
    }

    /// The share of the annulus round about (by direction and log radius) that lies in a picture of this size.
    fn inside(&self, (width, height): (usize, usize)) -> f64 {
        let at = |i: usize, j: usize| {
            let radius = self.radius * (ANNULUS * ((j as f64 + 0.5) / RADII as f64 - 0.5)).exp();
            let (s, c) = (TAU * i as f64 / DIRECTIONS as f64).sin_cos();
            self.at + radius * Vector2::new(c, s)
        };
        let places = (0..DIRECTIONS).flat_map(|i| (0..RADII).map(move |j| (i, j)));
        let seen = |p: &Vector2<f64>| (0.0..width as f64).contains(&p.x) && (0.0..height as f64).contains(&p.y);
        places.filter(|(i, j)| seen(&at(*i, *j))).count().max(1) as f64 / (DIRECTIONS * RADII) as f64
    }
    /// A mark round about; `None` where it is far off or quite another thing.
    fn see(&self, index: usize, m: &Mark, first: f64) -> Option<Seen> {
        let d = m.centre - self.at;
        let far = d.norm();
        let [contrast, length, width] = self.look;
        let bar = m.along.is_some();
        let longest = length * if bar { LONGEST[0] } else { LONGEST[1] };
        if (far / self.radius).ln().abs() > 0.5 * ANNULUS || unlike(m.contrast, contrast, CONTRAST) || m.length > longest {
            return None;
        }
        let like = |p: f64, q: f64, most: f64| (p / q).ln().abs() < most;
        let alike = like(m.contrast, contrast, ALIKE[0]) && (!bar || like(m.length, length, ALIKE[1]) && like(m.width, width, ALIKE[2]));
        let off = m.along.map_or(0.0, |u| off_by(u, d));
        let outer = far + 0.5 * if bar { m.length } else { length };
        Some(Seen { index, bar, turn: turned(direction(m, self.at) - first), log_radius: (outer / self.radius).ln(), off, alike })
    }
}

/// Direction of a mark from a place, clockwise from the right, radians.
fn direction(m: &Mark, from: Vector2<f64>) -> f64 {
    let d = m.centre - from;
    d.y.atan2(d.x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn room_for_marks_is_in_the_picture_only() {
        let inside = |x: f64, y: f64| {
            let at = Vector2::new(x, y);
            Pivot { at, radius: 50.0, pair: [0, 1], sweep: 1.0, look: [20.0, 10.0, 3.0], of_dots: false }.inside((400, 300))
        };
        assert!((inside(200.0, 150.0) - 1.0).abs() < 1e-12);
        assert!((inside(0.5, 150.0) - 0.5).abs() < 0.05, "{}", inside(0.5, 150.0));
        assert!((inside(0.5, 0.5) - 0.25).abs() < 0.05, "{}", inside(0.5, 0.5));
    }
    #[test]
    fn a_scale_is_part_of_one_with_more_marks_and_no_more_places_empty() {
        let dot = |x: f64| Dot { centre: Vector2::new(x, 0.0), diameter: 4.0, contrast: 60.0, bright: true };
        let scale = |xs: &[f64], places: usize| SparseScale {
            pivot: Vector2::new(0.0, 90.0),
            radius: 100.0,
            bars: Vec::new(),
            dots: xs.iter().map(|x| dot(*x)).collect(),
            places,
            shape: Matrix2::identity(),
            odds: 9.0,
        };
        let three = scale(&[-40.0, 0.0, 40.0], 3);
        let five = scale(&[-60.0, -38.0, 1.0, 41.0, 60.0], 5);
        assert!(three.is_part_of(&five) && !five.is_part_of(&three) && !three.is_part_of(&three));
        assert!(!three.is_part_of(&scale(&[-40.0, 0.0, 40.0, 80.0], 5)), "a place is empty between them");
        assert!(!three.is_part_of(&scale(&[-60.0, -40.0, 20.0, 40.0, 60.0], 5)), "one mark of its own is none of the other's");
    }
}
