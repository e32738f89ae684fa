//! Ranks, quantiles and medians. `None` for too few numbers; of a median or a quantile also for one that is not finite.
use std::cmp::Ordering;

/// Makes the median absolute deviation of normal noise estimate its standard deviation: 1 / Φ⁻¹(3/4).
pub const MAD_TO_SIGMA: f64 = 1.482602218505602;

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

/// The value below which so many thousandths of the others lie, by the rank rounded down; it moves the values. `None` for none.
pub fn per_mille<T: Ordered>(values: &mut [T], share: usize) -> Option<T> {
    let rank = values.len().checked_sub(1)? * share / 1000;
    (rank < values.len()).then(|| *values.select_nth_unstable_by(rank, T::order).1)
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

fn all_finite(values: &[f64]) -> bool {
    values.iter().all(|v| v.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranks_medians_and_too_few() {
        assert_eq!((median(&[]), median(&[1.0, f64::NAN]), quantile(&[1.0], 1.5), quantile(&[1.0], f64::NAN)), (None, None, None, None));
        assert_eq!((median(&[1.0, 2.0, 3.0, 4.0, 1e9]), median(&[1.0, 2.0, 4.0, 8.0])), (Some(3.0), Some(3.0)));
        let mut five = [5.0, 1.0, 4.0, 2.0, 3.0];
        assert_eq!([0, 500, 998, 1000, 1250].map(|share| per_mille(&mut five, share)), [Some(1.0), Some(3.0), Some(4.0), Some(5.0), None]);
        assert_eq!(per_mille::<f32>(&mut [], 500), None);
        assert_eq!((high_median([8.0, 1.0, 4.0, 2.0]), high_median::<f32>([]), ranked([3.0, 1.0], |_| 2)), (Some(4.0), None, None));
    }
}
