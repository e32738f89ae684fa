//! What a second, slower approach may still bring: the housing, the sump and the block follow the oil for most of an hour.
//!
//! Twenty minutes of readings hardly tell one approach from two: of -40 exp(-t/250 s) - 8 exp(-t/2500 s) a single approach takes up what
//! the second did so far, and its level lies 5 degrees too low. So every course of a family is weighed by the readings: the approach
//! alone, which has `ALONE` of the probability beforehand, and those of which a share goes on with a slower time constant. For each
//! course level and rise are linear and the first time constant is taken at its best, so its probability and the spread of its level
//! follow in closed form (Bayes' theorem with Laplace's approximation: D. S. Sivia and J. Skilling, Data Analysis, 2006, 4.2; L. Tierney
//! and J. B. Kadane, J. Am. Statist. Assoc. 81, 1986, 82; both from memory). What may still come is then summed over the family.
//! The second approach goes the way of the first: heat flows on to what is colder.
//!
//! The prior is common practice and no standard: gearboxes, axles and engines come to rest within two to three hours of steady driving,
//! three time constants of [`SLOWEST`]. `docs/measurements/settling.md` tells how often the answers hold.
use super::course::{Course, Data};
use super::curve::tau_range;
use super::fitted::Fitted;
use super::scatter::Scatter;
use super::series::Series;
use crate::maths::mixture::{Component, Mixture};

/// The slowest approach that is thought of, seconds.
pub const SLOWEST: f64 = 3600.0;
/// The fastest second one, seconds.
const FASTEST: f64 = 600.0;
/// A second approach is slower than the first at least by this; nearer ones are one approach to any run.
const APART: f64 = 3.0;
/// The largest share of the whole rise that the second has.
const SHARE: f64 = 0.3;
/// So many degrees Celsius from where it stands a level that looks steady may be on its way.
const FAR: f64 = 10.0;
/// The probability beforehand that nothing slower follows.
const ALONE: f64 = 0.7;
/// Time constants that are tried, evenly on their logarithm.
const TIMES: usize = 6;
/// Shares and distances that are tried, closer to one another near 0.
const SHARES: usize = 14;
/// A run is settled when more than a degree Celsius is left with at most this probability.
const DOUBT: f64 = 0.05;

/// What the family says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Slower {
    /// Where the level lies on the average, and the 95 % range of it from the scatter alone.
    pub level: f64,
    pub range: (f64, f64),
    /// Whether more than a degree Celsius may follow with more than `DOUBT`.
    pub doubt: bool,
    /// So much may follow: passed in one case of twenty of those in which a slower approach is there.
    pub left: f64,
    /// And so much of it within as long again as was watched.
    pub next: f64,
}

/// For a fitted approach; `None` where the readings leave its parameters open. `near`: a degree Celsius.
pub(super) fn after_approach(fit: &Fitted, series: &Series, near: f64) -> Option<Slower> {
    let data = Data::of(fit, series);
    let times: Vec<f64> = series.points.iter().map(|p| p.seconds).collect();
    let range = tau_range(&times)?;
    let alone = data.approach(fit.curve.tau?, None, range)?;
    let mut second = Vec::new();
    for slow in slower_times() {
        let mut tau = alone.tau;
        for k in 0..SHARES {
            let (share, weight) = node(k);
            // past this share the first is as slow as the second, or there is no first
            let Some(course) = data.approach(tau, Some((slow, SHARE * share)), (range.0, slow / APART)) else { break };
            tau = course.tau;
            second.push((weight, course));
        }
    }
    weighed(&Readings { fit, data: &data, series }, alone, &second, near)
}

/// For a level where no approach is seen: it may be the last part of one.
pub(super) fn after_level(fit: &Fitted, series: &Series, near: f64) -> Option<Slower> {
    let data = Data::of(fit, series);
    let alone = data.resting(0.0, SLOWEST)?;
    let mut second = Vec::new();
    for slow in slower_times() {
        for (sign, k) in (0..SHARES).rev().map(|k| (-1.0, k)).chain((0..SHARES).map(|k| (1.0, k))) {
            let (share, weight) = node(k);
            second.push((0.5 * weight, data.resting(sign * share * FAR * near, slow)?));
        }
    }
    weighed(&Readings { fit, data: &data, series }, alone, &second, near)
}

fn slower_times() -> impl Iterator<Item = f64> {
    (0..TIMES).map(|k| FASTEST * (SLOWEST / FASTEST).powf(k as f64 / (TIMES - 1) as f64))
}

/// A place in 0..1 and its share of an even distribution there.
fn node(k: usize) -> (f64, f64) {
    let n = SHARES as f64;
    (((k as f64 + 0.5) / n).powi(2), (2.0 * k as f64 + 1.0) / (n * n))
}

/// The readings, and how they scatter about what is seen.
struct Readings<'a> {
    fit: &'a Fitted,
    data: &'a Data,
    series: &'a Series,
}

impl Readings<'_> {
    /// By how much neighbours that are alike inflate a variance. A second approach that is left out looks like a correlation and would
    /// hide itself: so it is that about the best course of all, where that is less.
    fn inflation(&self, alone: &Course, second: &[(f64, Course)]) -> f64 {
        let best = second.iter().map(|(_, c)| c).fold(alone, |b, c| if c.rss < b.rss { c } else { b });
        let own: Vec<f64> = self.series.points.iter().map(|p| p.own).collect();
        let parameters = self.fit.shape.parameters() + 1;
        self.fit.scatter.seen.min(Scatter::of(&self.data.residuals(best), &own, parameters).seen)
    }
}

/// The family's answer. A course is as likely as its residuals (Student's t for their scatter) times the volume that the readings leave it.
fn weighed(readings: &Readings, alone: Course, second: &[(f64, Course)], near: f64) -> Option<Slower> {
    let (fit, nu) = (readings.fit, readings.fit.scatter.dof);
    let inflation = readings.inflation(&alone, second);
    let likely = |c: &Course| {
        let worse = (c.rss - alone.rss) / inflation;
        let fits = if nu.is_finite() { -0.5 * (nu + 1.0) * (worse / nu).max(-0.999).ln_1p() } else { -0.5 * worse };
        fits + c.volume - alone.volume
    };
    let thought_of: f64 = second.iter().map(|(w, _)| w).sum();
    let prior = |weight: f64| ((1.0 - ALONE) * weight / thought_of).ln();
    let all: Vec<(f64, Course)> =
        std::iter::once((ALONE.ln(), alone)).chain(second.iter().map(|(w, c)| (prior(*w) + likely(c), *c))).collect();
    let most = all.iter().map(|(l, _)| *l).fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = all.iter().map(|(l, _)| (l - most).exp()).collect();
    let sum: f64 = weights.iter().sum();
    let doubt = all.iter().zip(&weights).filter(|((_, c), _)| c.left.abs() > near).map(|(_, w)| w / sum).sum::<f64>() > DOUBT;
    let widths = widths(&all);
    // in doubt the band is that of the courses with a second approach: they hold what may be left
    let from = usize::from(doubt && all.len() > 1);
    let parts = |value: fn(&Course) -> f64, sigma: bool, from: usize| {
        let spread = fit.scatter.inflation.sqrt();
        let one = move |((_, c), (w, width)): (&(f64, Course), (&f64, &f64))| Component {
            weight: *w,
            centre: value(c),
            sigma: if sigma { (spread * c.sigma).hypot(*width) } else { 0.0 },
        };
        Mixture::of(all.iter().zip(weights.iter().zip(&widths)).skip(from).map(one), nu)
    };
    let levels = parts(|c| c.level, true, from)?;
    let (left, next) = (parts(|c| c.left.abs(), false, from)?, parts(|c| c.next.abs(), false, from)?);
    Some(Slower {
        level: parts(|c| c.level, true, 0)?.mean(),
        range: (levels.passed_by(0.975), levels.passed_by(0.025)),
        doubt,
        left: left.passed_by(0.05),
        next: next.passed_by(0.05),
    })
}

/// The spread of the level between a course and its neighbours: half their distance, as a rectangular distribution (JCGM 100:2008, 4.3.7).
fn widths(all: &[(f64, Course)]) -> Vec<f64> {
    let level = |k: usize| all.get(k).map(|(_, c)| c.level);
    let same = |j: usize, k: usize| all.get(j).zip(all.get(k)).is_some_and(|((_, a), (_, b))| a.slow == b.slow);
    (0..all.len())
        .map(|k| {
            let beside = |j: Option<usize>| j.filter(|j| same(*j, k)).and_then(level).or(level(k)).unwrap_or(f64::NAN);
            let apart = (beside(k.checked_add(1)) - beside(k.checked_sub(1))).abs();
            0.5 * apart / 12.0_f64.sqrt()
        })
        .collect()
}
