//! How far a sample may lie from what is claimed of it: exact intervals of the chi-square and the binomial distribution.
use statrs::distribution::{Binomial, ChiSquared, ContinuousCDF, DiscreteCDF};

/// Between which two factors the root mean square of `n` independent standard normal numbers lies, but for a chance of `miss`
/// (half of it on each side): sqrt(chi²/n). `n` need not be whole.
pub fn rms_interval(n: f64, miss: f64) -> (f64, f64) {
    let chi = ChiSquared::new(n).unwrap();
    let at = |p: f64| (chi.inverse_cdf(p) / n).sqrt();
    (at(0.5 * miss), at(1.0 - 0.5 * miss))
}

/// Fewest and most successes of `n` trials of chance `p`, but for a chance of at most `miss` (half of it on each side).
pub fn count_interval(n: u64, p: f64, miss: f64) -> (u64, u64) {
    let b = Binomial::new(p, n).unwrap();
    let low = (0..=n).find(|k| b.cdf(*k) > 0.5 * miss).unwrap();
    let high = (low..=n).find(|k| b.cdf(*k) >= 1.0 - 0.5 * miss).unwrap();
    (low, high)
}

/// Standard deviation of the share of successes of `n` trials of chance `p` (binomial distribution).
pub fn share_sigma(p: f64, n: f64) -> f64 {
    (p * (1.0 - p) / n).sqrt()
}

/// Largest chance of a success that `k` of `n` leave possible at `confidence` (Clopper & Pearson 1934, upper side).
pub fn most_likely_chance(k: u64, n: u64, confidence: f64) -> f64 {
    let (mut low, mut high) = (k as f64 / n as f64, 1.0);
    for _ in 0..60 {
        let p = 0.5 * (low + high);
        let possible = Binomial::new(p, n).unwrap().cdf(k) > 1.0 - confidence;
        (low, high) = if possible { (p, high) } else { (low, p) };
    }
    high
}

/// Root mean square.
pub fn rms(values: impl IntoIterator<Item = f64>) -> f64 {
    let (sum, n) = values.into_iter().fold((0.0, 0.0), |(s, n), v| (s + v * v, n + 1.0));
    f64::sqrt(sum / n)
}

/// Exact values: the intervals above are what other tests stand on.
#[test]
fn the_intervals_are_those_of_the_tables() {
    // chi² with 10 degrees of freedom: 3.940 and 18.307 at 5 and 95 % (any handbook's table; from memory, recomputed with SciPy 1.17.1)
    let (a, b) = rms_interval(10.0, 0.1);
    assert!((10.0 * a * a - 3.9403).abs() < 5e-4 && (10.0 * b * b - 18.3070).abs() < 5e-4, "{a} {b}");
    // ten fair coins: P(<= 1) = 11/1024 = 1.07 %, P(<= 2) = 56/1024 = 5.5 %
    assert_eq!(count_interval(10, 0.5, 0.05), (2, 8));
    assert_eq!(count_interval(10, 0.5, 0.02), (1, 9));
    // none of n: the upper limit is 1 - (1 - confidence)^(1/n), by hand
    assert!((most_likely_chance(0, 40, 0.95) - (1.0 - 0.05f64.powf(1.0 / 40.0))).abs() < 1e-9);
}
