//! Ranges of numbers: from the least to the largest of some, and halved down to where something changes.

/// From the least to the largest; from infinity to minus infinity where there is none. NaN does not count.
pub fn range(values: impl IntoIterator<Item = f64>) -> (f64, f64) {
    values.into_iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
}

/// What is left of a range halved so often (bisection); `above`: whether what is sought lies above a number.
pub fn halved((mut low, mut high): (f64, f64), steps: usize, above: impl Fn(f64) -> bool) -> (f64, f64) {
    for _ in 0..steps {
        let middle = 0.5 * (low + high);
        if above(middle) { low = middle } else { high = middle }
    }
    (low, high)
}

/// The middle of what is left.
pub fn sought(ends: (f64, f64), steps: usize, above: impl Fn(f64) -> bool) -> f64 {
    let (low, high) = halved(ends, steps, above);
    0.5 * (low + high)
}

/// The place between two, each given with the value there, at which the value goes from above 0 to below it: secants through the ends, the
/// value of an end that stays a second time halved (M. Dowell and P. Jarratt, "A modified regula falsi method for computing the root of an equation",
/// BIT 11 (1971)), and the middle where an end is infinite. `near`: a value that is as good as 0. NaN where the value is NaN.
pub fn crossing(mut low: (f64, f64), mut high: (f64, f64), near: f64, value: impl Fn(f64) -> f64) -> f64 {
    let mut last = 0.0;
    for _ in 0..100 {
        let secant = (low.0 * high.1 - high.0 * low.1) / (high.1 - low.1);
        let x = if secant > low.0 && secant < high.0 { secant } else { 0.5 * (low.0 + high.0) };
        let v = value(x);
        if v.is_nan() {
            return f64::NAN;
        }
        if v.abs() < near || x <= low.0 || x >= high.0 {
            return x;
        }
        let stays = if v > 0.0 { &mut high } else { &mut low };
        if v * last > 0.0 {
            stays.1 *= 0.5;
        }
        if v > 0.0 {
            low = (x, v)
        } else {
            high = (x, v)
        }
        last = v;
    }
    0.5 * (low.0 + high.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn secants_end_where_the_value_crosses_zero() {
        let count = std::cell::Cell::new(0);
        let value = |x: f64| {
            count.set(count.get() + 1);
            2.0 - x.powi(3)
        };
        assert!((crossing((0.0, 2.0), (10.0, -998.0), 1e-14, value) - 2f64.cbrt()).abs() < 1e-14);
        assert!(count.get() < 25, "{}", count.get());
        let log = |x: f64| -x.ln();
        assert!((crossing((0.0, f64::INFINITY), (3.0, log(3.0)), 1e-15, log) - 1.0).abs() < 1e-14);
        assert!(crossing((0.0, 1.0), (1.0, -1.0), 1e-14, |_| f64::NAN).is_nan());
    }

    #[test]
    fn a_root_and_the_ends() {
        assert!((sought((0.0, 2.0), 60, |x| x * x < 2.0) - 2.0_f64.sqrt()).abs() < 1e-15);
        assert_eq!((halved((0.0, 8.0), 2, |x| x < 5.0), range([2.0, -1.0, f64::NAN])), ((4.0, 6.0), (-1.0, 2.0)));
    }
}
