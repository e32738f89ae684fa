//! How large a change must be so that photos of which few show their own scatter show it.
//!
//! A comparison learns the wander of the needle from its own photos, so half its band is itself a matter of chance: it follows from s², the
//! variance of a side's n readings, as [`super::between`] tells. The mean of a side and its s² are independent, and (n - 1) s² over its
//! expectation is chi-square. So a true change d is called real with probability E[Φ((d - half(s₁, s₂))/σ)], worked out here at equally
//! likely values of s₁ and s₂. For one degree of freedom that is far from what one noncentral t of the expected degrees would say.
use super::between::{Sample, Spread};
use super::detection::{POWER, detection_limit};
use super::normal::normal_cdf;
use super::range::{halved, sought};
use statrs::function::gamma::gamma_lr;

/// What photos of two sides are expected to be; one sigma each, one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expected {
    /// Photos on each side.
    pub photos: usize,
    /// What does not average down in the difference.
    pub fixed: f64,
    /// A reading by its photo alone, as the photo says itself.
    pub reading: f64,
    /// The needle's wander from photo to photo, which no photo tells.
    pub wander: f64,
}

/// Equally likely values of s² on each side.
const LIKELY: usize = 48;
/// Steps of the searches.
const STEPS: usize = 60;

impl Expected {
    /// Standard uncertainty of the difference.
    pub fn sigma(&self) -> f64 {
        self.fixed.hypot(self.reading.hypot(self.wander) * (2.0 / self.photos as f64).sqrt())
    }
    /// The true change whose band leaves out 0 in 95 of 100 comparisons. With one photo a side no scatter is seen and none is in the
    /// band; it is counted here all the same. NaN for NaN.
    pub fn detection_limit(&self) -> f64 {
        let sigma = self.sigma();
        let known = detection_limit(sigma, f64::INFINITY);
        if self.photos < 2 || sigma <= 0.0 || self.reading.hypot(self.wander) <= 0.0 || !sigma.is_finite() {
            return known;
        }
        let halves = self.halves();
        let power = |d: f64| halves.iter().map(|(weight, half)| weight * normal_cdf((d - half) / sigma)).sum::<f64>();
        let mut high = known;
        while power(high) < POWER && high < 1e3 * known {
            high *= 2.0;
        }
        halved((0.0, high), STEPS, |d| power(d) < POWER).1
    }
    /// Half bands with their probabilities.
    fn halves(&self) -> Vec<(f64, f64)> {
        let n = self.photos as f64;
        let (explained, each) = (self.reading * self.reading, self.reading.powi(2) + self.wander.powi(2));
        let side = |q: f64| Sample { count: self.photos, seen: q * each, explained }.of_mean();
        let sides: Vec<_> = likely(n - 1.0).into_iter().map(side).collect();
        let terms = self.fixed.hypot(self.reading * (2.0 / n).sqrt());
        let mut all = Vec::with_capacity(LIKELY * (LIKELY + 1) / 2);
        let pair = 1.0 / (LIKELY * LIKELY) as f64;
        for (i, a) in sides.iter().enumerate() {
            for (j, b) in sides.iter().enumerate().take(i + 1) {
                all.push((if i == j { pair } else { 2.0 * pair }, Spread::half_of(terms, &[*a, *b])));
            }
        }
        all
    }
}

/// Equally likely values of chi-square over its degrees of freedom: the middles of its quantiles.
fn likely(dof: f64) -> Vec<f64> {
    let quantile = |p: f64| sought((0.0, 20.0 + 4.0 * dof), STEPS, |x| gamma_lr(0.5 * dof, 0.5 * x) < p) / dof;
    (0..LIKELY).map(|k| quantile((k as f64 + 0.5) / LIKELY as f64)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_of_a_table() {
        // chi-square, any table: medians 0.455 (1), 1.386 (2 = 2 ln 2), 9.342 (10)
        for (dof, median) in [(1.0, 0.454_9), (2.0, 1.386_3), (10.0, 9.341_8)] {
            let all = likely(dof);
            let middle = 0.5 * dof * (all[LIKELY / 2 - 1] + all[LIKELY / 2]);
            assert!((middle - median).abs() < 0.01, "{dof}: {middle}");
            assert!((all.iter().sum::<f64>() / LIKELY as f64 - 1.0).abs() < 0.02, "{dof}: the mean is 1");
        }
    }

    /// The 95 % point of half band plus error over 200000 simulated comparisons (Python with SciPy's t quantiles, written apart). With two
    /// and three photos it is larger than Welch's formula alone would have it (10.9 and 4.3 for the first two).
    #[test]
    fn the_limit_of_a_simulation_written_apart() {
        let table = [
            (2, 1.0, 0.0, 0.0, 20.316),
            (3, 1.0, 0.0, 0.0, 5.160),
            (3, 0.3, 1.0, 0.0, 5.395),
            (3, 1.0, 1.0, 1.0, 7.670),
            (5, 1.0, 0.0, 0.0, 2.691),
            (5, 0.3, 1.0, 0.0, 2.802),
            (10, 1.0, 0.0, 0.0, 1.748),
            (10, 1.0, 1.0, 1.0, 4.287),
        ];
        for (photos, reading, wander, fixed, simulated) in table {
            let limit = Expected { photos, fixed, reading, wander }.detection_limit();
            // the simulation's own 95 % point is good to 0.5 % or, with two photos, 1 %; the quantiles of s² here cost the rest
            let slack = if photos == 2 { 0.08 } else { 0.025 };
            assert!((limit / simulated - 1.0_f64).abs() < slack, "{photos} {reading} {wander} {fixed}: {limit} {simulated}");
        }
    }

    #[test]
    fn where_nothing_is_estimated_it_is_two_normal_quantiles() {
        let one = Expected { photos: 1, fixed: 0.0, reading: 0.6, wander: 0.8 };
        assert!((one.detection_limit() - 3.604_818 * 2.0_f64.sqrt()).abs() < 1e-5);
        let dial = Expected { photos: 5, fixed: 2.0, reading: 0.0, wander: 0.0 };
        assert!((dial.detection_limit() - 7.209_636).abs() < 1e-5);
        let nothing = Expected { photos: 3, fixed: 0.0, reading: 0.0, wander: 0.0 };
        assert_eq!(nothing.detection_limit(), 0.0);
    }
}
