//! Values of the unlabelled ticks: they divide the interval between two labelled marks evenly in value.
//!
//! A step in value is sought that is common to the whole scale and explains the ticks seen: each label interval holds a whole
//! number of steps, ticks stand where a smooth scale puts them. Ticks that no step explains, and intervals whose count is not
//! certain, get no value. That unlabelled graduations divide a labelled interval evenly is common practice of dial makers.
use crate::maths::robust::ranked;

/// Most steps in one label interval: no dial has more ticks between two labels (a face holds a hundred or two in all).
/// Without it one mistyped value of 1e8 makes steps by the thousand million, each of which would be looked for.
const MOST_STEPS: f64 = 200.0;

/// A labelled mark: value and angle along the scale (rising with the value), degrees.
pub type Label = (f64, f64);

/// The values found: (value, index of the tick), and what was left out.
#[derive(Clone, Debug, Default)]
pub struct Counted {
    /// Value and tick index, by rising value.
    pub values: Vec<(f64, usize)>,
    /// Intervals in which ticks were seen but could not be counted.
    pub left_out: usize,
    /// Two steps in value that explain the ticks about equally well, so that neither is taken.
    pub rivals: Option<[f64; 2]>,
    /// The step that was told divides not every step between labels, so that it was not taken.
    pub amiss: bool,
}

/// Ticks inside one label interval, as fractions of its angle, with their index.
struct Interval {
    v0: f64,
    dv: f64,
    ticks: Vec<(f64, usize)>,
    bend: f64,
    /// The one tick that is clearly longer than the others inside.
    longer: Option<usize>,
}

/// A printed tick: angle on the same run as the labels, and length in units of the marks' circle.
pub type Stroke = (f64, f64);

/// Finds the values. `labels` by rising value; `guard`: degrees next to a label within which a tick is the label's own; `told`: the step
/// where it is known.
pub fn count(labels: &[Label], ticks: &[Stroke], guard: f64, told: Option<f64>) -> Counted {
    let intervals = intervals(labels, ticks, guard);
    let mut out = Counted::default();
    let with_ticks = intervals.iter().filter(|i| !i.ticks.is_empty()).count();
    out.amiss = told.is_some_and(|s| !is_whole(&intervals, s));
    let step = match told.filter(|_| !out.amiss).map_or_else(|| step(&intervals), Step::Sure) {
        Step::Sure(step) => step,
        Step::Rivals(a, b) => return Counted { left_out: with_ticks, rivals: Some([a, b].map(clean)), ..out },
        Step::None => return Counted { left_out: with_ticks, ..out },
    };
    for i in &intervals {
        let n = (i.dv / step).round() as usize;
        let found = assign(i, n).0;
        let union = n - 1 + i.ticks.len() - found.len();
        // a row of ticks with one more at the middle of the interval stands on every other place of a finer step: all are explained
        let all = found.len() == i.ticks.len() && 2 * found.len() + 2 >= n;
        if all || found.len() as f64 >= 0.6 * union as f64 {
            out.values.extend(found.iter().map(|&(j, t)| (i.v0 + i.dv * j as f64 / n as f64, t)));
        } else if !i.ticks.is_empty() {
            out.left_out += 1;
        }
    }
    out
}

/// Steps in each label interval by the ticks in it alone: three and more by their spacing, one or two where they part it evenly.
pub fn steps(labels: &[Label], ticks: &[Stroke], guard: f64) -> Vec<Option<usize>> {
    let own = |i: &Interval| match i.ticks.len() {
        0 => None,
        1 | 2 => {
            let n = i.ticks.len() + 1;
            let off = |(k, t): (usize, &(f64, usize))| (t.0 * n as f64 - (k + 1) as f64).abs();
            i.ticks.iter().enumerate().all(|t| off(t) < EVENLY).then_some(n)
        }
        _ => by_spacing(i).map(|f| f.0),
    };
    intervals(labels, ticks, guard).iter().map(own).collect()
}

/// How far, in steps, a tick may lie off its even place where one or two of them part an interval.
const EVENLY: f64 = 0.15;

/// A number without the digits that arithmetic adds.
pub fn clean(v: f64) -> f64 {
    (v * 1e6).round() / 1e6
}

fn mantissa(step: f64) -> f64 {
    step / 10f64.powf((step.log10() + 1e-9).floor())
}

/// 1, 2, 2.5 or 5 times a power of ten.
pub fn is_round(step: f64) -> bool {
    [1.0, 2.0, 2.5, 5.0].iter().any(|r| (mantissa(step) / r - 1.0).abs() < 1e-6)
}

/// Whether a maker divides a label's step `whole` into steps of `part`: 1, 2, 2.5 or 5 times a power of ten, a half or a quarter of the
/// label's step, or a multiple of five in its second digit (15 in 45). Nobody prints ticks at thirds of 40 (common practice).
pub fn is_printed(part: f64, whole: f64) -> bool {
    let mantissa = mantissa(part);
    let is = |v: f64, of: f64| (v - of).abs() < 1e-6 * of;
    let round = is_round(part);
    let halved = [2.0, 4.0].iter().any(|n| is(n * part, whole));
    let fives = is((mantissa * 2.0).round() / 2.0, mantissa) && mantissa < 5.0;
    round || halved || fives
}

/// A hypothesis costs the negative log of its likelihood. A tick that is there and not seen: one of five (haze, the needle over it).
const MISSED: f64 = 1.6;
/// A stroke that is no tick, one of twenty; it may lie anywhere in its interval.
const EXTRA: f64 = 3.0;
/// A tick off its place, in steps (one sigma: the scale's own shape within an interval).
const OFF_PLACE: f64 = 0.1;
/// A bend that the neighbours do not show (one sigma).
const BENT: f64 = 0.2;
/// A single longer tick that stands neither at the middle of an interval nor at its fifths.
const LONGER: f64 = 3.0;
/// No place of a single tick, and no single bend, costs more than this: it may be something else.
const MOST: f64 = 6.0;
/// A hypothesis that costs less than this more than the best is its rival (odds of 20 to 1).
const RIVAL: f64 = 3.0;
/// Smallest part of the narrowest label step that is tried.
const PARTS: usize = 25;

/// What the ticks say of the step in value.
enum Step {
    Sure(f64),
    Rivals(f64, f64),
    None,
}

/// Whether every label interval holds a whole number of steps.
fn is_whole(intervals: &[Interval], step: f64) -> bool {
    intervals.iter().map(|i| i.dv / step).all(|n| (1.0 - 1e-6..=MOST_STEPS).contains(&n) && (n - n.round()).abs() < 1e-6)
}

/// The step in value that the whole scale has in common: that which explains the ticks at the least cost, if it is alone in that.
fn step(intervals: &[Interval]) -> Step {
    let smallest = intervals.iter().map(|i| i.dv).fold(f64::MAX, f64::min);
    let counted = intervals.iter().filter_map(|i| by_spacing(i).map(|f| i.dv / f.0 as f64));
    let mut tried: Vec<f64> = (1..=PARTS).map(|k| smallest / k as f64).chain(counted).filter(|s| is_whole(intervals, *s)).collect();
    tried.retain(|s| intervals.iter().all(|i| i.dv < 1.5 * s || is_printed(*s, i.dv)));
    tried.sort_by(f64::total_cmp);
    tried.dedup_by(|a, b| (*a / *b - 1.0).abs() < 1e-6);
    let mut costs: Vec<(f64, f64)> =
        tried.iter().map(|s| (intervals.iter().map(|i| cost(i, (i.dv / s).round() as usize)).sum(), *s)).collect();
    costs.sort_by(|a, b| a.0.total_cmp(&b.0));
    match costs[..] {
        // no ticks between the labels, or none that a step explains
        [(_, s), ..] if intervals.iter().all(|i| i.dv < 1.5 * s) => Step::None,
        [(a, s), (b, t), ..] if b - a < RIVAL => Step::Rivals(s.min(t), s.max(t)),
        [(_, s), ..] => Step::Sure(s),
        [] => Step::None,
    }
}

/// What the ticks of an interval cost where it holds `n` steps.
fn cost(i: &Interval, n: usize) -> f64 {
    let (found, bend) = assign(i, n);
    let missed = MISSED * (n - 1 - found.len()) as f64;
    let extra = EXTRA * (i.ticks.len() - found.len()) as f64;
    // the normal density at its middle, over the even one of a stroke that is no tick
    let likely = (std::f64::consts::TAU.sqrt() * OFF_PLACE / n as f64).ln();
    let off = |&(j, t): &(usize, usize)| {
        let x = j as f64 / n as f64;
        let at = i.ticks.iter().find(|k| k.1 == t).map_or(x, |k| k.0);
        (0.5 * ((at - x - bend * x * (1.0 - x)) * n as f64 / OFF_PLACE).powi(2)).min(MOST) + likely
    };
    let bent = if found.is_empty() { 0.0 } else { (0.5 * ((bend - i.bend) / BENT).powi(2)).min(MOST) };
    let middle = |t: usize| found.iter().any(|&(j, k)| k == t && (2 * j == n || n.is_multiple_of(5)));
    let longer = i.longer.map_or(0.0, |t| if middle(t) { 0.0 } else { LONGER });
    missed + extra + found.iter().map(off).sum::<f64>() + bent + longer
}

/// Number of steps in an interval and (step number, tick index) by the ticks' own spacing, which changes little from one to the
/// next; a missing tick leaves a gap of two. `None` when a gap is not a whole number of spacings.
fn by_spacing(i: &Interval) -> Option<(usize, Vec<(usize, usize)>)> {
    if i.ticks.len() < 3 {
        return None;
    }
    let places: Vec<f64> = std::iter::once(0.0).chain(i.ticks.iter().map(|t| t.0)).chain(std::iter::once(1.0)).collect();
    let gaps: Vec<f64> = places.windows(2).map(|w| w[1] - w[0]).collect();
    let mut number = 0;
    let mut out = Vec::new();
    for (k, gap) in gaps.iter().enumerate() {
        let near = gaps[k.saturating_sub(2)..(k + 3).min(gaps.len())].iter().copied();
        let steps = gap / ranked(near, |count| (count - 1) / 2)?;
        if (steps - steps.round()).abs() > 0.3 || steps.round() < 1.0 || steps.round() > 2.0 {
            return None;
        }
        number += steps.round() as usize;
        if let Some(t) = i.ticks.get(k) {
            out.push((number, t.1));
        }
    }
    (out.len() + 1 >= number * 3 / 4).then_some((number, out))
}

fn intervals(labels: &[Label], ticks: &[Stroke], guard: f64) -> Vec<Interval> {
    let slope: Vec<f64> = labels.windows(2).map(|w| (w[1].1 - w[0].1) / (w[1].0 - w[0].0)).collect();
    let at = |i: usize| {
        if i == 0 {
            slope[0]
        } else if i >= slope.len() {
            slope[slope.len() - 1]
        } else {
            0.5 * (slope[i - 1] + slope[i])
        }
    };
    labels
        .windows(2)
        .enumerate()
        .map(|(i, w)| {
            let span = w[1].1 - w[0].1;
            let mut t: Vec<(f64, usize)> = ticks
                .iter()
                .enumerate()
                .filter(|(_, (a, _))| (a - w[0].1) * span.signum() > guard && (w[1].1 - a) * span.signum() > guard)
                .map(|(j, (a, _))| ((a - w[0].1) / span, j))
                .collect();
            t.sort_by(|a, b| a.0.total_cmp(&b.0));
            // a quadratic through the interval: x + bend x (1 - x), its end slopes from the neighbours
            let bend = 0.5 * ((at(i) - at(i + 1)) / slope[i]).clamp(-0.5, 0.5);
            let longer = longer(&t, ticks);
            Interval { v0: w[0].0, dv: w[1].0 - w[0].0, ticks: t, bend, longer }
        })
        .collect()
}

/// A tick longer than all others of an interval by a fifth and more, of three or more.
fn longer(inside: &[(f64, usize)], ticks: &[Stroke]) -> Option<usize> {
    let mut by_length: Vec<usize> = inside.iter().map(|t| t.1).collect();
    by_length.sort_by(|a, b| ticks[*b].1.total_cmp(&ticks[*a].1));
    match by_length[..] {
        [first, second, _, ..] if ticks[first].1 > 1.2 * ticks[second].1 => Some(first),
        _ => None,
    }
}

/// The bend of an interval that its ticks' places show: x + bend x (1 - x), least squares.
fn bend_of(i: &Interval, n: usize, found: &[(usize, usize)]) -> f64 {
    let (mut sxy, mut sxx) = (0.0, 1e-3);
    for &(j, t) in found {
        let (x, at) = (j as f64 / n as f64, i.ticks.iter().find(|k| k.1 == t).map_or(0.0, |k| k.0));
        sxy += (at - x) * x * (1.0 - x);
        sxx += (x * (1.0 - x)).powi(2);
    }
    sxy / sxx
}

/// Ticks that stand where `n` even steps put them: (step number, tick index), and the bend of the scale there.
fn assign(i: &Interval, n: usize) -> (Vec<(usize, usize)>, f64) {
    if let Some((own, found)) = by_spacing(i)
        && own == n
    {
        let bend = bend_of(i, n, &found);
        return (found, bend);
    }
    let tolerance = if n <= 3 { 0.15 / n as f64 * 2.0 } else { 0.22 / n as f64 };
    let mut bend = i.bend;
    let mut out: Vec<(usize, usize)> = Vec::new();
    for _ in 0..3 {
        out.clear();
        for j in 1..n {
            let x = j as f64 / n as f64;
            let at = x + bend * x * (1.0 - x);
            let Some(t) = i.ticks.iter().min_by(|a, b| (a.0 - at).abs().total_cmp(&(b.0 - at).abs())) else { continue };
            if (t.0 - at).abs() < tolerance && out.last().is_none_or(|l| l.1 != t.1) {
                out.push((j, t.1));
            }
        }
        bend = bend_of(i, n, &out);
    }
    (out, bend)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn even(ticks: &[f64]) -> Vec<Stroke> {
        ticks.iter().map(|a| (*a, 0.08)).collect()
    }

    fn values(found: &Counted) -> Vec<f64> {
        found.values.iter().map(|v| v.0).collect()
    }

    #[test]
    fn a_mistyped_value_of_1e8_gives_no_values() {
        // three labels over ticks each 5 degrees, the last value far too large
        let ticks = even(&(1..20).map(|i| 5.0 * f64::from(i)).collect::<Vec<_>>());
        let found = count(&[(0.0, 0.0), (1.0, 50.0), (1e8, 100.0)], &ticks, 1.0, None);
        assert!(found.values.is_empty(), "{:?}", found.values);
        // typed as meant, every tick has its value
        assert_eq!(count(&[(0.0, 0.0), (1.0, 50.0), (2.0, 100.0)], &ticks, 1.0, None).values.len(), 18);
    }

    #[test]
    fn steps_that_makers_print() {
        for (part, whole) in [(5.0, 20.0), (2.5, 10.0), (0.25, 1.0), (10.0, 70.0), (15.0, 45.0), (22.5, 45.0), (250.0, 1000.0), (0.02, 0.1)]
        {
            assert!(is_printed(part, whole), "{part} of {whole}");
        }
        for (part, whole) in [(40.0 / 3.0, 40.0), (50.0 / 3.0, 50.0), (20.0 / 3.0, 20.0), (100.0 / 7.0, 100.0), (70.0 / 3.0, 70.0)] {
            assert!(!is_printed(part, whole), "{part} of {whole}");
        }
    }

    #[test]
    fn ticks_at_thirds_of_forty_get_no_values() {
        // a scale of three labels with two strokes in each interval, as near to its ends as to its middle
        let found = count(&[(60.0, 0.0), (100.0, 60.0), (140.0, 120.0)], &even(&[20.0, 40.0, 80.0, 100.0]), 1.0, None);
        assert!(found.values.is_empty() && found.left_out == 2, "{found:?}");
    }

    #[test]
    fn ticks_that_fit_two_steps_are_left_out_and_both_are_told() {
        // one label interval of 60: two ticks of three at quarters (15) that also stand where thirds (20) of a bent scale do
        let found = count(&[(0.0, 0.0), (60.0, 60.0)], &even(&[16.2, 31.8]), 1.0, None);
        assert!(found.values.is_empty(), "{found:?}");
        assert_eq!(found.rivals, Some([15.0, 20.0]));
        // told which, they have it
        let told = count(&[(0.0, 0.0), (60.0, 60.0)], &even(&[16.2, 31.8]), 1.0, Some(15.0));
        assert_eq!(values(&told), [15.0, 30.0]);
        // a step that does not divide the labels' is none
        for none in [7.0, 1e9, -15.0, f64::NAN] {
            let found = count(&[(0.0, 0.0), (60.0, 60.0)], &even(&[16.2, 31.8]), 1.0, Some(none));
            assert!(found.values.is_empty() && found.amiss && found.rivals.is_some(), "{none}: {found:?}");
        }
        // a middle tick that is longer than the two beside it tells the quarters
        let told = count(&[(0.0, 0.0), (60.0, 60.0)], &[(16.0, 0.05), (31.0, 0.08), (46.0, 0.05)], 1.0, None);
        assert_eq!(values(&told), [15.0, 30.0, 45.0]);
    }

    #[test]
    fn a_longer_tick_halfway_in_a_step_of_seven_keeps_the_others() {
        // labels each 70, ticks each 10, and a longer one halfway (at 35)
        let labels: Vec<Label> = (0..4).map(|k| f64::from(k) * 70.0).map(|v| (v, v)).collect();
        let ticks: Vec<Stroke> =
            (0..22).map(|k| (10.0 * f64::from(k), 0.07)).chain((0..3).map(|k| (35.0 + 70.0 * f64::from(k), 0.12))).collect();
        let found = count(&labels, &ticks, 1.0, None);
        assert_eq!(found.values.len(), 21, "{found:?}");
        assert!(found.values.iter().all(|(v, t)| (v - ticks[*t].0).abs() < 1e-9), "{found:?}");
    }

    #[test]
    fn a_bent_scale_with_a_tick_missed_keeps_its_step() {
        // 30 to 110 in labels of 20, ticks each 5; compressed to both ends (a sine); the ticks at 45 and 85 are not seen
        let angle = |v: f64| 100.0 * ((v - 70.0) / 40.0 * 1.1).sin() / 1.1f64.sin();
        let labels: Vec<Label> = (0..5).map(|k| 30.0 + 20.0 * f64::from(k)).map(|v| (v, angle(v))).collect();
        let inner = (0..17).map(|k| 30.0 + 5.0 * f64::from(k)).filter(|v| (v - 30.0) % 20.0 != 0.0 && *v != 45.0 && *v != 85.0);
        let kept: Vec<f64> = inner.collect();
        let found = count(&labels, &even(&kept.iter().map(|v| angle(*v)).collect::<Vec<_>>()), 1.0, None);
        assert_eq!(found.values.len(), kept.len(), "{found:?}");
        assert!(values(&found).iter().zip(&kept).all(|(a, b)| (a - b).abs() < 1e-9), "{found:?}");
    }
}
