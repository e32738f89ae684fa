//! What a handful of readings tells of how far readings differ, where each explains a part of that itself.
//!
//! A reading's variance is what its photo explains, which counts as known, and the variance between photos, which the readings
//! have to show: s² with n - 1 degrees of freedom. Two right bands follow for their mean: 1.96 sigma of what is explained where nothing
//! else is there, and t s/√n (Student, The probable error of a mean, 1908), which holds whatever the variance is. From five readings on
//! s² is taken where it is larger than what is explained and left where it is smaller, a preliminary test (T. A. Bancroft, Ann. Math.
//! Statist. 15, 1944, 190), and the bands hold in 94.1 to 96.5 % of cases, whatever the ratio of the two. With two or three readings
//! s² is often small by chance, and the same test holds 86.9 % and 92.6 %: there, and with four, the *wider* of the two bands is taken, but for an s² so
//! small that it tells nothing (`TEST`), and it holds in 95 to 98.5 %.
//!
//! In a difference the sides combine by the Welch–Satterthwaite formula (JCGM 100:2008, G.2b; B. L. Welch, Biometrika 34, 1947, 28).
//! It overrates a side of few readings whose s² is small by chance beside another side's (91 % for 2 beside 10, 94.2 % for a noisy 4 beside
//! a quiet 4): the band of a difference is therefore never narrower than that of such a side alone, which is what it would be if the other
//! side were known (for four readings than `BESIDE` of it, which widens no band by more than 3 %).
//! `examples/coverage.rs` prints how often all of this holds.
use super::range::sought;
use super::student::{coverage_factor_95, two_sided, welch_satterthwaite};

/// For 2, 3 and 4 readings: the s² over the explained variance below which s² is not looked at; 1 for more. For 2 and 3 the largest for which
/// the band of the mean holds in 95 % of cases for every ratio of explained to unexplained sigma from 0.1 to 3 (integrals over the chi-square
/// distribution of s²). For 4 the band of a mean grows by 0.8 % at most.
const TEST: [f64; 3] = [0.1, 0.5, 0.9];
/// For 2 to 5 readings: how much of a side's own band the band of a difference has at least. For 4 the largest that widens none by more than
/// 3 % (simulated); six stages of 4 then raise a false alarm in 4.8 % of cases, which were 5.6 %.
const BESIDE: [f64; 4] = [1.0, 1.0, 0.965, 1.0];
/// More degrees of freedom than this are told apart from none by nothing.
const MANY: f64 = 1e6;

/// Readings of one temperature, by their variances.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// How many, two or more.
    pub count: usize,
    /// s², with n - 1 in the denominator.
    pub seen: f64,
    /// The mean of the variances that the photos explain.
    pub explained: f64,
}

/// An independent part of an uncertainty, as variances of the quantity asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// What the terms of the quantity hold of it already.
    pub own: f64,
    /// What comes on top.
    pub extra: f64,
    /// Degrees of freedom of the two together.
    pub dof: f64,
    /// The half 95 % band is never narrower than this.
    pub least: f64,
}

/// A standard uncertainty with its degrees of freedom and the half width of its 95 % band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// One sigma.
    pub sigma: f64,
    /// Effective degrees of freedom: `half` is Student's t(97.5 %) for them times sigma. Below one where a lent scatter asks for more than
    /// its two readings' own would give.
    pub dof: f64,
    /// Half the 95 % band.
    pub half: f64,
}

impl Sample {
    /// From the readings and the variance that each explains; `None` for fewer than two.
    pub fn of(values: &[f64], explained: &[f64]) -> Option<Self> {
        let n = values.len();
        if n < 2 || explained.len() != n {
            return None;
        }
        let count = n as f64;
        let mean = values.iter().sum::<f64>() / count;
        let seen = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (count - 1.0);
        Some(Self { count: n, seen, explained: explained.iter().sum::<f64>() / count })
    }
    /// The variance between photos that is left over, 0 when there is none.
    pub fn between(&self) -> f64 {
        (self.seen - self.explained).max(0.0)
    }
    /// Degrees of freedom of a reading's variance, the larger of what is seen and what is explained: n - 1 where it is what is seen,
    /// infinitely many where it is what is explained and that is believed, and for two to four readings those that give the wider band.
    pub fn dof(&self) -> f64 {
        let left = self.count.saturating_sub(1) as f64;
        if self.seen > self.explained {
            return left;
        }
        let looked_at = self.of_few(&TEST).unwrap_or(1.0);
        if self.seen < looked_at * self.explained || looked_at >= 1.0 || self.explained <= 0.0 {
            return f64::INFINITY;
        }
        dof_of_factor(coverage_factor_95(left) * (self.seen / self.explained).sqrt())
    }
    /// What these readings contribute to their mean.
    pub fn of_mean(&self) -> Part {
        let n = self.count as f64;
        let (own, extra, dof) = (self.explained / n, self.between() / n, self.dof());
        let least = self.of_few(&BESIDE).map_or(0.0, |share| share * coverage_factor_95(dof) * (own + extra).sqrt());
        Part { own, extra, dof, least }
    }
    /// The entry of a table that begins with two readings; `None` past its end.
    fn of_few(&self, table: &[f64]) -> Option<f64> {
        table.get(self.count.saturating_sub(2)).copied()
    }
    /// What they contribute where their scatter stands for readings that show none: `own` is the variance that those and these
    /// explain of the quantity, `shares` how often the variance between photos is in it. The band is never narrower than
    /// t s √shares, that of a reading to come (G. J. Hahn and W. Q. Meeker, Statistical Intervals, 1991, 4.7, from memory).
    pub fn lent(&self, own: f64, shares: f64) -> Part {
        let (extra, dof) = (self.between() * shares, self.dof());
        let to_come = coverage_factor_95(self.count.saturating_sub(1) as f64) * (self.seen * shares).sqrt();
        Part { own, extra, dof, least: to_come.max(coverage_factor_95(dof) * (own + extra).sqrt()) }
    }
}

impl Part {
    /// A part that no term of the quantity holds, with its own degrees of freedom.
    pub fn apart(sigma: f64, dof: f64) -> Self {
        Self { own: 0.0, extra: sigma * sigma, dof, least: 0.0 }
    }
    /// One sigma of all of it.
    pub fn sigma(&self) -> f64 {
        (self.own + self.extra).sqrt()
    }
}

impl Spread {
    /// `terms`: one sigma of the terms, which count as known but for what the parts say of theirs.
    pub fn of(terms: f64, parts: &[Part]) -> Self {
        let (joint, least) = Self::joint(terms, parts);
        if least <= joint.half {
            return joint;
        }
        let dof = dof_of_factor(least / joint.sigma).min(joint.dof);
        Self { dof, half: coverage_factor_95(dof) * joint.sigma, ..joint }
    }
    /// The half width alone, without the degrees of freedom that go with it.
    pub fn half_of(terms: f64, parts: &[Part]) -> f64 {
        let (joint, least) = Self::joint(terms, parts);
        if joint.half > 0.0 { joint.half.max(least) } else { joint.half }
    }
    /// By Welch and Satterthwaite, and the half width that a part asks for.
    fn joint(terms: f64, parts: &[Part]) -> (Self, f64) {
        let sigma = parts.iter().map(|p| p.extra).sum::<f64>().max(0.0).sqrt().hypot(terms);
        if sigma <= 0.0 || sigma.is_nan() {
            return (Self { sigma, dof: f64::INFINITY, half: sigma }, 0.0);
        }
        let held = parts.iter().map(|p| p.own).sum::<f64>();
        let rest = (terms * terms - held).max(0.0).sqrt();
        let all: Vec<(f64, f64)> = parts.iter().map(|p| (p.sigma(), p.dof)).chain([(rest, f64::INFINITY)]).collect();
        let least = parts.iter().map(|p| p.least).fold(0.0, f64::max);
        // two readings give one degree of freedom: fewer would say less than nothing was learned from them
        let dof = welch_satterthwaite(&all).max(1.0);
        (Self { sigma, dof, half: coverage_factor_95(dof) * sigma }, least)
    }
}

/// The degrees of freedom whose coverage factor is `factor`: infinitely many at 1.96 and below.
fn dof_of_factor(factor: f64) -> f64 {
    if factor <= coverage_factor_95(MANY) {
        return f64::INFINITY;
    }
    // the tail falls with the degrees of freedom
    sought((0.1_f64.ln(), MANY.ln()), 48, |log| two_sided(factor, log.exp()) > 0.05).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JCGM 100:2008, table G.2: t(95 %) is 12.71 for 1, 4.30 for 2 and 2.23 for 10 degrees of freedom.
    #[test]
    fn factors_of_a_table() {
        for (factor, dof) in [(12.71, 1.0), (4.30, 2.0), (2.23, 10.0)] {
            assert!((dof_of_factor(factor) / dof - 1.0_f64).abs() < 0.01, "{factor}");
        }
        assert_eq!(dof_of_factor(1.9), f64::INFINITY);
    }

    #[test]
    fn the_wider_band_of_two_and_three() {
        let half =
            |count: usize, seen: f64| Spread::of((1.0 / count as f64).sqrt(), &[Sample { count, seen, explained: 1.0 }.of_mean()]).half;
        // by hand: t s/√n where that is the wider one, 1.96/√n where s² is not looked at
        assert!((half(2, 4.0) - 12.706_2 * 2.0 / 2.0_f64.sqrt()).abs() < 1e-3);
        assert!((half(2, 0.25) - 12.706_2 * 0.5 / 2.0_f64.sqrt()).abs() < 1e-3);
        assert!((half(2, 0.05) - 1.959_964 / 2.0_f64.sqrt()).abs() < 1e-4);
        assert!((half(3, 0.64) - 4.302_653 * 0.8 / 3.0_f64.sqrt()).abs() < 1e-4);
        assert!((half(3, 0.4) - 1.959_964 / 3.0_f64.sqrt()).abs() < 1e-4);
        assert!((half(4, 0.89) - 1.959_964 / 2.0).abs() < 1e-4);
        assert!((half(4, 0.91) - 3.182_446 * 0.91_f64.sqrt() / 2.0).abs() < 1e-4);
        assert!((half(5, 0.99) - 1.959_964 / 5.0_f64.sqrt()).abs() < 1e-4);
        assert!((half(4, 1.21) - 3.182_446 * 1.1 / 2.0).abs() < 1e-4);
    }

    #[test]
    fn a_few_beside_many_are_no_better_than_alone() {
        let (few, many) = (Sample { count: 2, seen: 1.0, explained: 0.0 }, Sample { count: 10, seen: 9.0, explained: 0.0 });
        let both = Spread::of(0.0, &[few.of_mean(), many.of_mean()]);
        assert!((both.half - 12.706_2 / 2.0_f64.sqrt()).abs() < 1e-3 && both.dof > 1.0, "{both:?}");
        let others = Spread::of(0.0, &[Sample { count: 4, ..few }.of_mean(), many.of_mean()]);
        // Welch 1947 by hand: 1/4 and 9/10 with 3 and 9 degrees of freedom
        assert!((others.dof - 1.15 * 1.15 / (0.0625 / 3.0 + 0.81 / 9.0)).abs() < 1e-9);
    }

    /// Two readings, each far less sure than the one that their scatter is lent to, which lie as far apart as they explain.
    #[test]
    fn a_lent_scatter_is_never_narrower_than_that_of_a_reading_to_come() {
        let part = Sample { count: 2, seen: 1.0, explained: 1.0 }.lent(0.51, 1.5);
        let spread = Spread::of(0.51_f64.sqrt(), &[part]);
        // by hand: t(97.5 %, 1) s √1.5
        assert!((spread.half / (12.706_2 * 1.5_f64.sqrt()) - 1.0).abs() < 1e-4 && spread.dof < 1.0, "{spread:?}");
        assert!((Spread::half_of(0.51_f64.sqrt(), &[part]) / spread.half - 1.0).abs() < 1e-9);
    }

    #[test]
    fn nothing_seen_and_nothing_explained() {
        let s = Sample { count: 3, seen: 0.0, explained: 0.0 };
        assert_eq!(Spread::of(0.5, &[s.of_mean()]).dof, f64::INFINITY);
        assert_eq!(Spread::of(0.0, &[s.of_mean()]).half, 0.0);
        assert!(Sample::of(&[1.0], &[0.0]).is_none());
    }
}
