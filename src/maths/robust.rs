//! Describing numbers that scatter: robust and plain location and spread, directions that wrap, readings that follow each other.
//!
//! Every function gives `None` for too few numbers or one that is not finite: never NaN, never a zero spread that means unknown.
use super::angle::Angle;
use std::cmp::Ordering;

/// Makes the median absolute deviation of normal noise estimate its standard deviation: 1 / Φ⁻¹(3/4).
pub const MAD_TO_SIGMA: f64 = 1.482602218505602;

/// Least mean resultant length at which a mean direction still means something.
const LEAST_RESULTANT: f64 = 1e-9;

/// The quantile `p` (0..=1) by linear interpolation between order statistics, the smallest at p = 0 and the largest at p = 1 (type
/// 7 of Hyndman & Fan 1996, the default of R and NumPy).
pub fn quantile(values: &[f64], p: f64) -> Option<f64> {
    if values.is_empty() || !all_finite(values) || !(0.0..=1.0).contains(&p) {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let place = p * (sorted.len() - 1) as f64;
    let (below, part) = (place.floor() as usize, place.fract());
    let low = sorted[below];
    let high = sorted[(below + 1).min(sorted.len() - 1)];
    Some(low * (1.0 - part) + high * part)
}

/// The median: the mean of the middle two for an even count.
pub fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// The value of a rank, the smallest at 0; `rank` says which of so many. NaN has a place too (IEEE 754-2019, 5.10). `None` past the last.
pub fn ranked<T: Ordered>(values: impl IntoIterator<Item = T>, rank: impl Fn(usize) -> usize) -> Option<T> {
    let mut all: Vec<T> = values.into_iter().collect();
    let rank = rank(all.len());
    (rank < all.len()).then(|| *all.select_nth_unstable_by(rank, T::order).1)
}

/// The high median: the middle value, for an even count the larger of the middle two. One of the values, which the median need not be.
pub fn high_median<T: Ordered>(values: impl IntoIterator<Item = T>) -> Option<T> {
    ranked(values, |count| count / 2)
}

/// What [`ranked`] puts in order.
pub trait Ordered: Copy {
    /// Total order.
    fn order(&self, other: &Self) -> Ordering;
}

impl Ordered for f32 {
    fn order(&self, other: &Self) -> Ordering {
        self.total_cmp(other)
    }
}

impl Ordered for f64 {
    fn order(&self, other: &Self) -> Ordering {
        self.total_cmp(other)
    }
}

/// Median absolute deviation from the median times [`MAD_TO_SIGMA`]: one sigma of normal noise, deaf to under half of outliers.
/// Zero when more than half of the values are equal: then it says nothing of the rest.
pub fn mad_sigma(values: &[f64]) -> Option<f64> {
    let centre = median(values)?;
    let deviations: Vec<f64> = values.iter().map(|v| (v - centre).abs()).collect();
    median(&deviations).map(|m| m * MAD_TO_SIGMA)
}

/// Mean, in two passes: what rounding left over in the first is added back.
pub fn mean(values: &[f64]) -> Option<f64> {
    if values.is_empty() || !all_finite(values) {
        return None;
    }
    let n = values.len() as f64;
    let first = values.iter().map(|v| v / n).sum::<f64>();
    Some(first + values.iter().map(|v| v - first).sum::<f64>() / n)
}

/// Experimental standard deviation with n - 1 (GUM 4.2.2), in two passes. `None` for fewer than two values.
pub fn standard_deviation(values: &[f64]) -> Option<f64> {
    let centre = mean(values)?;
    let squares: f64 = values.iter().map(|v| (v - centre).powi(2)).sum();
    (values.len() > 1).then(|| (squares / (values.len() - 1) as f64).sqrt())
}

/// Autocorrelation at lag one, Σ (y_i - ȳ)(y_i+1 - ȳ) / Σ (y_i - ȳ)² (NIST StRD). Clearly above zero, s/√n is too small a
/// sigma of the mean. `None` for fewer than two values or all equal.
pub fn lag1_autocorrelation(values: &[f64]) -> Option<f64> {
    let centre = mean(values)?;
    let squares: f64 = values.iter().map(|v| (v - centre).powi(2)).sum();
    let products: f64 = values.windows(2).map(|w| (w[0] - centre) * (w[1] - centre)).sum();
    (values.len() > 1 && squares > 0.0).then(|| products / squares)
}

/// A weighted mean and whether the scatter fits the weights.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WeightedMean {
    /// Σ w v / Σ w.
    pub mean: f64,
    /// 1/√Σw: one sigma when each weight is 1/sigma² and the values are independent. Not rescaled by the scatter.
    pub sigma: f64,
    /// Σ w (v - mean)²; about `dof` when the scatter fits the weights.
    pub chi_square: f64,
    /// Values with a weight, less one.
    pub dof: usize,
}

/// Weighted mean; a weight of zero leaves a value out. `None` for lists of different length, no weight, a negative weight.
pub fn weighted_mean(values: &[f64], weights: &[f64]) -> Option<WeightedMean> {
    let total: f64 = weights.iter().sum();
    let good = values.len() == weights.len() && all_finite(values) && weights.iter().all(|w| *w >= 0.0) && total > 0.0 && total.is_finite();
    if !good {
        return None;
    }
    let mean = values.iter().zip(weights).map(|(v, w)| v * (w / total)).sum::<f64>();
    let chi_square = values.iter().zip(weights).map(|(v, w)| w * (v - mean).powi(2)).sum();
    let dof = weights.iter().filter(|w| **w > 0.0).count() - 1;
    Some(WeightedMean { mean, sigma: total.sqrt().recip(), chi_square, dof })
}

/// Mean direction of angles that wrap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanDirection {
    /// The mean direction, in (-180, 180].
    pub angle: Angle,
    /// Mean resultant length: 1 when all agree, towards 0 when they spread all round.
    pub resultant: f64,
    /// Circular standard deviation √(-2 ln R) in degrees (Mardia 1972).
    pub sd_degrees: f64,
}

/// Direction of the sum of the unit vectors (Mardia, Statistics of Directional Data, 1972). `None` for no angles, one that is not
/// finite, or angles that cancel so that no direction is left.
pub fn mean_direction(angles: &[Angle]) -> Option<MeanDirection> {
    let sum = angles.iter().map(|a| a.direction().vector()).sum::<nalgebra::Vector2<f64>>();
    let resultant = sum.norm() / angles.len() as f64;
    // False also for NaN.
    let meant = resultant > LEAST_RESULTANT;
    let resultant = resultant.min(1.0);
    meant.then(|| MeanDirection {
        angle: Angle::of_direction(sum.x, sum.y),
        resultant,
        sd_degrees: (-2.0 * resultant.ln()).max(0.0).sqrt().to_degrees(),
    })
}

fn all_finite(values: &[f64]) -> bool {
    values.iter().all(|v| v.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn too_little_is_none() {
        assert_eq!((median(&[]), mean(&[]), mad_sigma(&[]), standard_deviation(&[3.0])), (None, None, None, None));
        assert_eq!(
            (median(&[1.0, f64::NAN]), mean(&[f64::INFINITY]), quantile(&[1.0], 1.5), quantile(&[1.0], f64::NAN)),
            (None, None, None, None)
        );
        assert_eq!((lag1_autocorrelation(&[2.0]), lag1_autocorrelation(&[2.0, 2.0])), (None, None));
        assert_eq!(weighted_mean(&[1.0], &[0.0]), None);
        assert_eq!(weighted_mean(&[1.0, 2.0], &[1.0]), None);
        assert_eq!(weighted_mean(&[1.0, 2.0], &[2.0, -1.0]), None);
        let opposite = [Angle::from_degrees(10.0), Angle::from_degrees(190.0)];
        assert_eq!((mean_direction(&[]), mean_direction(&opposite)), (None, None));
        assert_eq!(mean_direction(&[Angle::from_degrees(f64::NAN)]), None);
    }

    #[test]
    fn one_wild_value_moves_nothing_robust() {
        let mut v = vec![1.0, 2.0, 3.0, 4.0, 5.0];
        assert_eq!((median(&v), mad_sigma(&v)), (Some(3.0), Some(MAD_TO_SIGMA)));
        v[4] = 1e9;
        assert_eq!((median(&v), mad_sigma(&v)), (Some(3.0), Some(MAD_TO_SIGMA)));
        assert_eq!(
            (median(&[1.0, 2.0, 4.0, 8.0]), high_median([8.0, 1.0, 4.0, 2.0]), high_median::<f32>([])),
            (Some(3.0), Some(4.0), None)
        );
    }
}
