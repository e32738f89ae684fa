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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_root_and_the_ends() {
        assert!((sought((0.0, 2.0), 60, |x| x * x < 2.0) - 2.0_f64.sqrt()).abs() < 1e-15);
        assert_eq!((halved((0.0, 8.0), 2, |x| x < 5.0), range([2.0, -1.0, f64::NAN])), ((4.0, 6.0), (-1.0, 2.0)));
    }
}
