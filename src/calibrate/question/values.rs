//! Values that do not fit each other.
use super::super::asked::Question;
use super::super::counted::{clean, is_round};
use crate::maths::rounding::significant;
use crate::maths::units::Unit;

/// Above this no dash dial or engine gauge goes, °C: exhaust-gas gauges, the hottest, end at about 1000 (common practice).
const HOTTEST: f64 = 1500.0;
/// Absolute zero, °C (NIST SP 811, B.9).
const ABSOLUTE_ZERO: f64 = -273.15;
/// Ratio of the widest step between values to the narrowest, above which one of the values is absurd: scales that start at a number and go
/// on in steps have ratios up to 8 (dials of the sets).
const ABSURD: f64 = 60.0;
/// Roughness is the sum of the squared changes of the log of the scale's slope. A value is odd when without it the roughness falls by more
/// than this and to less than `SMOOTHED` of it (over 69 photographed and 8 rendered dials those that fall by 0.15 and more keep 0.33 and
/// more: bent scales, scales that change their step; a value wrong by half a step makes 1.8 and leaves nothing).
const ROUGHER: f64 = 0.25;
/// See [`ROUGHER`].
const SMOOTHED: f64 = 0.2;
/// Degrees a tick of two intervals between which ticks count as equally spaced, as a ratio.
const EQUAL: f64 = 1.15;
/// A value of the others' grid must lie so near to where the other marks put this one, in steps, ...
const NEAR_GRID: f64 = 0.2;
/// ... and so much nearer than the value that was given.
const NEARER: f64 = 0.5;

/// What there is to ask; values rise, `angles` go with them on one run, `steps` are the steps between neighbours as ticks count them.
pub fn questions(values: &[f64], angles: &[f64], steps: &[Option<usize>], unit: Unit) -> Vec<Question> {
    let first = || out_of_reach(values, unit).or_else(|| absurd(values));
    let odd = || by_ticks(values, angles, steps).or_else(|| by_curve(values, angles)).or_else(|| by_grid(values, angles));
    first().or_else(odd).into_iter().collect()
}

fn out_of_reach(values: &[f64], unit: Unit) -> Option<Question> {
    let celsius = |v: f64| unit.convert(v, Unit::C);
    if let Some(&v) = values.iter().find(|v| celsius(**v) < ABSOLUTE_ZERO) {
        return Some(Question::of(Some(v), format!("{v} {} is colder than anything can be. Check the value and its sign.", unit.symbol())));
    }
    let hot = values.iter().copied().find(|v| celsius(*v) > HOTTEST)?;
    let top = unit.symbol();
    Some(Question::of(Some(hot), format!("{hot} {top} is hotter than any gauge of an engine or gearbox goes. Check the value.")))
}

/// One step far wider than another.
fn absurd(values: &[f64]) -> Option<Question> {
    let steps: Vec<f64> = values.windows(2).map(|w| w[1] - w[0]).collect();
    let widest = (0..steps.len()).max_by(|&i, &j| steps[i].total_cmp(&steps[j]))?;
    let narrowest = steps.iter().copied().fold(f64::MAX, f64::min);
    (steps[widest] > ABSURD * narrowest).then(|| {
        let odd = if widest + 1 == steps.len() || widest > 0 { values[widest + 1] } else { values[widest] };
        let text = format!(
            "From {} to {} is {} times the narrowest step between two values, which no dial shows. Check {odd}: a point or a digit too much \
             is the usual cause.",
            values[widest],
            values[widest + 1],
            significant(steps[widest] / narrowest, 2)
        );
        Question::of(Some(odd), text)
    })
}

/// The steps as a sentence has them: "20, 20, 30 and 10".
fn told(values: &[f64]) -> String {
    let steps: Vec<String> = values.windows(2).map(|w| clean(w[1] - w[0]).to_string()).collect();
    match steps.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => steps.concat(),
    }
}

fn same(a: f64, b: f64) -> bool {
    (a / b - 1.0).abs() < 1e-6
}

/// The value of a tick's step in most intervals; with two intervals the one that is a round number.
fn usual(units: &[f64]) -> Option<f64> {
    let agree = |u: f64| units.iter().filter(|v| same(**v, u)).count();
    let best = units.iter().copied().max_by_key(|u| agree(*u))?;
    let rounds: Vec<f64> = units.iter().copied().filter(|u| is_round(*u)).collect();
    match rounds[..] {
        _ if agree(best) >= 2 => Some(best),
        [one] if units.len() == 2 => Some(one),
        _ => None,
    }
}

/// A value beside equal ticks that makes their steps unequal.
fn by_ticks(values: &[f64], angles: &[f64], steps: &[Option<usize>]) -> Option<Question> {
    let n = steps.len();
    let step = |i: usize| steps.get(i).copied().flatten().map(|s| s as f64);
    let unit = |i: usize| step(i).map(|s| (values[i + 1] - values[i]) / s);
    let spacing = |i: usize| step(i).map(|s| (angles[i + 1] - angles[i]).abs() / s);
    let even = |i: usize, j: usize| spacing(i).zip(spacing(j)).is_some_and(|(a, b)| a / b < EQUAL && b / a < EQUAL);
    let units: Vec<f64> = (0..n).filter_map(unit).collect();
    for i in 1..n {
        let (Some(a), Some(b), Some(na), Some(nb)) = (unit(i - 1), unit(i), step(i - 1), step(i)) else { continue };
        let both = (values[i + 1] - values[i - 1]) / (na + nb);
        let others = units.iter().filter(|u| same(**u, both)).count();
        let doubtful = !same(a, b) && even(i - 1, i) && !same(a, both) && (others > 0 || is_round(both) && !is_round(a) && !is_round(b));
        if doubtful && let Some(asked) = miscounted(values, angles, i, [i - 1, i + 1], values[i - 1] + na * both) {
            return Some(asked);
        }
    }
    let most = usual(&units)?;
    for (i, other, v, from, far) in [(n - 1, n.checked_sub(2)?, n, n - 1, n - 2), (0, 1, 0, 1, 2)] {
        let (Some(u), Some(s)) = (unit(i), step(i)) else { continue };
        let twice = same(u, 2.0 * most) || same(2.0 * u, most);
        let doubtful = !same(u, most) && !twice && even(i, other) && unit(other).is_some_and(|o| same(o, most));
        let fits = values[from] + (values[v] - values[from]).signum() * s * most;
        if doubtful && let Some(asked) = miscounted(values, angles, v, [far, from], fits) {
            return Some(asked);
        }
    }
    None
}

/// The question at a mark where the ticks' count puts the value `fits`; `None` where the angles, on the straight line through two other marks,
/// put the given value at least as well: a dial whose ticks stand closer over one part, as before a red zone, counts otherwise there and is
/// right.
fn miscounted(values: &[f64], angles: &[f64], i: usize, [a, b]: [usize; 2], fits: f64) -> Option<Question> {
    let by_angles = values[a] + (values[b] - values[a]) * (angles[i] - angles[a]) / (angles[b] - angles[a]);
    let nearer = (fits - by_angles).abs() < (values[i] - by_angles).abs();
    nearer.then(|| odd(values, values[i], fits, "the ticks between them are alike"))
}

fn odd(values: &[f64], value: f64, fits: f64, seen: &str) -> Question {
    let text = format!(
        "The values go in steps of {}, but {seen}: {value} is odd, and {} would fit there. Check what is printed at that mark.",
        told(values),
        clean(fits)
    );
    Question::of(Some(value), text)
}

/// Changes of the log of the slope from interval to interval.
fn bends(values: &[f64], angles: &[f64]) -> Vec<f64> {
    let slope: Vec<f64> =
        values.windows(2).zip(angles.windows(2)).map(|(v, a)| ((a[1] - a[0]) / (v[1] - v[0])).abs().max(1e-12).ln()).collect();
    slope.windows(2).map(|w| w[1] - w[0]).collect()
}

fn roughness(values: &[f64], angles: &[f64]) -> f64 {
    bends(values, angles).iter().map(|b| b * b).sum()
}

/// Steps in which a better value is sought.
const TRIED: usize = 400;

/// The value between its neighbours that makes the scale smoothest, and how rough it then is.
fn smoothest(values: &[f64], angles: &[f64], i: usize) -> (f64, f64) {
    let (low, high) = (values[i - 1], values[i + 1]);
    let mut with = values.to_vec();
    (1..TRIED).fold((f64::MAX, values[i]), |best, k| {
        with[i] = low + (high - low) * k as f64 / TRIED as f64;
        let rough = roughness(&with, angles);
        if rough < best.0 { (rough, with[i]) } else { best }
    })
}

/// A value between others with which the scale is rough and without which it is smooth.
fn by_curve(values: &[f64], angles: &[f64]) -> Option<Question> {
    let n = values.len();
    if n < 4 {
        return None;
    }
    let now = roughness(values, angles);
    let each = (1..n - 1).map(|i| (i, smoothest(values, angles, i)));
    let (i, (rough, fits)) = each.min_by(|a, b| a.1.0.total_cmp(&b.1.0))?;
    // a scale that goes otherwise at one end only is rough there, and a value beside that end would hide it
    let without_end = roughness(&values[1..], &angles[1..]).min(roughness(&values[..n - 1], &angles[..n - 1]));
    (now - rough > ROUGHER && rough < SMOOTHED * now && rough < 0.5 * without_end).then(|| {
        let grid = on_grid(values, i, fits).filter(|g| (g - fits).abs() < NEAR_GRID * narrow(values, i));
        odd(values, values[i], grid.unwrap_or_else(|| rounded(fits, narrow(values, i))), "the marks stand otherwise")
    })
}

/// To a tenth of a step.
fn rounded(v: f64, step: f64) -> f64 {
    let unit = 10f64.powf((0.5 * step).log10().floor());
    (v / unit).round() * unit
}

/// The narrower of the steps beside a value.
fn narrow(values: &[f64], i: usize) -> f64 {
    let before = i.checked_sub(1).map(|j| values[i] - values[j]);
    let after = values.get(i + 1).map(|v| v - values[i]);
    before.into_iter().chain(after).fold(f64::MAX, f64::min)
}

/// The value nearest to `near` of the grid on which all values but the `i`th lie, strictly between its neighbours; `None` where there is no
/// such grid worth the name, or the value itself lies on it.
fn on_grid(values: &[f64], i: usize, near: f64) -> Option<f64> {
    let others: Vec<f64> = values.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, v)| *v).collect();
    let first = *others.first()?;
    let span = others.last()? - first;
    let grid = others[1..].iter().map(|v| v - first).fold(0.0, |a, b| common(a, b, 1e-6 * span));
    let off = (values[i] - first) / grid;
    if grid < 1e-3 * span || (off - off.round()).abs() < 1e-4 {
        return None;
    }
    let fits = first + ((near - first) / grid).round() * grid;
    let after = i.checked_sub(1).is_none_or(|j| fits > values[j] + 0.5 * grid);
    let before = values.get(i + 1).is_none_or(|v| fits < v - 0.5 * grid);
    (after && before).then_some(fits)
}

/// Greatest common divisor of lengths; what is left below `least` counts as nothing.
fn common(a: f64, b: f64, least: f64) -> f64 {
    let (mut a, mut b) = (a, b);
    while b > least {
        let rest = a - (a / b).floor() * b;
        (a, b) = (b, if b - rest < least { 0.0 } else { rest });
    }
    a
}

/// A value off the grid of all others, beside one on it that fits better: 81 where 80 is printed.
fn by_grid(values: &[f64], angles: &[f64]) -> Option<Question> {
    if values.len() < 4 {
        return None;
    }
    (0..values.len()).find_map(|i| {
        let near = without(values, angles, i)?;
        let fits = on_grid(values, i, near)?;
        let step = widest(values, i);
        let better = (fits - near).abs() < NEAR_GRID * step && (fits - near).abs() < NEARER * (values[i] - near).abs();
        better.then(|| {
            let text = format!(
                "{} is no multiple of what the other values go in, and by the places of the marks {} would fit there. Check what is printed.",
                values[i],
                clean(fits)
            );
            Question::of(Some(values[i]), text)
        })
    })
}

/// The wider of the steps beside a value.
fn widest(values: &[f64], i: usize) -> f64 {
    let before = i.checked_sub(1).map_or(0.0, |j| values[i] - values[j]);
    before.max(values.get(i + 1).map_or(0.0, |v| v - values[i]))
}

/// Where the other marks put the `i`th: on the parabola through the three nearest (Lagrange).
fn without(values: &[f64], angles: &[f64], i: usize) -> Option<f64> {
    let n = values.len();
    let from = i.saturating_sub(if i + 1 < n { 1 } else { 3 }).min(n.checked_sub(4)?);
    let near: Vec<usize> = (from..from + 4).filter(|j| *j != i).collect();
    let term = |&j: &usize| -> f64 {
        values[j] * near.iter().filter(|k| **k != j).map(|&k| (angles[i] - angles[k]) / (angles[j] - angles[k])).product::<f64>()
    };
    Some(near.iter().take(3).map(term).sum())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ticks stand closer before the red zone, as on a photographed dial of 50, 90 and 130: its degrees go evenly all the same.
    #[test]
    fn closer_ticks_over_one_part_make_no_value_odd() {
        let (angles, steps) = ([-49.9, -0.6, 49.3], [Some(8), Some(9)]);
        assert!(by_ticks(&[50.0, 90.0, 130.0], &angles, &steps).is_none());
        // one that goes neither with the ticks nor with the degrees
        assert!(by_ticks(&[50.0, 90.0, 160.0], &angles, &steps).is_some_and(|q| q.text.contains("160 is odd, and 135 would fit")));
    }

    #[test]
    fn a_value_between_that_goes_with_neither_ticks_nor_degrees_is_odd() {
        let (angles, steps) = ([-60.0, 0.0, 60.0, 120.0], [Some(6), Some(6), Some(6)]);
        assert!(by_ticks(&[20.0, 90.0, 140.0, 200.0], &angles, &steps).is_some_and(|q| q.text.contains("90 is odd, and 80 would fit")));
        assert!(by_ticks(&[20.0, 80.0, 140.0, 200.0], &angles, &steps).is_none());
    }
}
