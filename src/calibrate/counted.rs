//! Values of the unlabelled ticks: they divide the interval between two labelled marks evenly in value.
//!
//! A step in value is sought that is common to the whole scale and explains the ticks seen: each label interval holds a whole
//! number of steps, ticks stand where a smooth scale puts them. Ticks that no step explains, and intervals whose count is not
//! certain, get no value. That unlabelled graduations divide a labelled interval evenly is common practice of dial makers.

/// Most steps in one label interval: no dial has more ticks between two labels (a face holds a hundred or two in all).
/// Without it one mistyped value of 1e8 makes steps by the thousand million, each of which would be looked for.
const MOST_STEPS: f64 = 200.0;

/// A labelled mark: value and angle along the scale (rising with the value), degrees.
pub type Label = (f64, f64);

/// The values found: (value, index of the tick), and the number of intervals that were left out.
#[derive(Clone, Debug, Default)]
pub struct Counted {
    /// Value and tick index, by rising value.
    pub values: Vec<(f64, usize)>,
    /// Intervals in which ticks were seen but could not be counted.
    pub left_out: usize,
}

/// Ticks inside one label interval, as fractions of its angle, with their index.
struct Interval {
    v0: f64,
    dv: f64,
    ticks: Vec<(f64, usize)>,
    bend: f64,
}

/// Finds the values. `labels` by rising value; `ticks`: angles on the same run as the labels; `guard`: degrees next to a label
/// within which a tick is the label's own.
pub fn count(labels: &[Label], ticks: &[f64], guard: f64) -> Counted {
    let intervals = intervals(labels, ticks, guard);
    let mut out = Counted::default();
    let Some(step) = step(&intervals) else { return out };
    for i in &intervals {
        let n = (i.dv / step).round() as usize;
        let found = assign(i, n);
        let union = n - 1 + i.ticks.len() - found.len();
        if found.len() as f64 >= 0.6 * union as f64 {
            out.values.extend(found.iter().map(|&(j, t)| (i.v0 + i.dv * j as f64 / n as f64, t)));
        } else if !i.ticks.is_empty() {
            out.left_out += 1;
        }
    }
    out
}

/// Steps in each label interval by the ticks in it alone: three and more by their spacing, one or two where they part it evenly.
pub fn steps(labels: &[Label], ticks: &[f64], guard: f64) -> Vec<Option<usize>> {
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

/// The step in value that the whole scale has in common: as the runs of ticks count it, else the one that explains most ticks.
fn step(intervals: &[Interval]) -> Option<f64> {
    let whole = |step: f64| intervals.iter().map(|i| i.dv / step).all(|n| n <= MOST_STEPS && (n - n.round()).abs() < 1e-6);
    let counted: Vec<f64> = intervals.iter().filter_map(|i| by_spacing(i).map(|f| i.dv / f.0 as f64)).collect();
    let agree = |s: f64| counted.iter().filter(|c| (*c / s - 1.0).abs() < 1e-6).count();
    if let Some(&s) = counted.iter().max_by_key(|s| agree(**s))
        && whole(s)
        && 2 * agree(s) > intervals.len()
    {
        return Some(s);
    }
    let smallest = intervals.iter().map(|i| i.dv).fold(f64::MAX, f64::min);
    let score = |step: f64| {
        let (mut matched, mut expected, mut seen) = (0, 0, 0);
        for i in intervals {
            let n = (i.dv / step).round() as usize;
            matched += assign(i, n).len();
            expected += n - 1;
            seen += i.ticks.len();
        }
        matched as f64 / (expected + seen - matched).max(1) as f64
    };
    let best = (2..=25)
        .map(|k| smallest / k as f64)
        .filter(|s| whole(*s))
        .map(|s| (score(s), s))
        .fold((0.0, 0.0), |b, c| if c.0 > b.0 + 1e-9 { c } else { b });
    (best.0 >= 0.6).then_some(best.1)
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
        let mut near: Vec<f64> = gaps[k.saturating_sub(2)..(k + 3).min(gaps.len())].to_vec();
        near.sort_by(f64::total_cmp);
        let steps = gap / near[(near.len() - 1) / 2];
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

fn intervals(labels: &[Label], ticks: &[f64], guard: f64) -> Vec<Interval> {
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
                .filter(|(_, a)| (**a - w[0].1) * span.signum() > guard && (w[1].1 - **a) * span.signum() > guard)
                .map(|(j, a)| ((a - w[0].1) / span, j))
                .collect();
            t.sort_by(|a, b| a.0.total_cmp(&b.0));
            // a quadratic through the interval: x + bend x (1 - x), its end slopes from the neighbours
            let bend = 0.5 * ((at(i) - at(i + 1)) / slope[i]).clamp(-0.5, 0.5);
            Interval { v0: w[0].0, dv: w[1].0 - w[0].0, ticks: t, bend }
        })
        .collect()
}

/// Ticks that stand where `n` even steps put them: (step number, tick index). The bend of the scale is refined once.
fn assign(i: &Interval, n: usize) -> Vec<(usize, usize)> {
    if let Some((own, found)) = by_spacing(i)
        && own == n
    {
        return found;
    }
    let tolerance = if n <= 3 { 0.15 / n as f64 * 2.0 } else { 0.22 / n as f64 };
    let mut bend = i.bend;
    let mut out = Vec::new();
    for _ in 0..3 {
        out.clear();
        let (mut sxy, mut sxx) = (0.0, 1e-3);
        for j in 1..n {
            let x = j as f64 / n as f64;
            let at = x + bend * x * (1.0 - x);
            let Some(t) = i.ticks.iter().min_by(|a, b| (a.0 - at).abs().total_cmp(&(b.0 - at).abs())) else { continue };
            if (t.0 - at).abs() < tolerance {
                out.push((j, t.1));
                sxy += (t.0 - x) * x * (1.0 - x);
                sxx += (x * (1.0 - x)).powi(2);
            }
        }
        bend = sxy / sxx;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mistyped_value_of_1e8_gives_no_values() {
        // three labels over ticks each 5 degrees, the last value far too large
        let ticks: Vec<f64> = (1..20).map(|i| 5.0 * f64::from(i)).collect();
        let found = count(&[(0.0, 0.0), (1.0, 50.0), (1e8, 100.0)], &ticks, 1.0);
        assert!(found.values.is_empty(), "{:?}", found.values);
        // typed as meant, every tick has its value
        assert_eq!(count(&[(0.0, 0.0), (1.0, 50.0), (2.0, 100.0)], &ticks, 1.0).values.len(), 18);
    }
}
