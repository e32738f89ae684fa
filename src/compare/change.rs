//! The difference of two sides.
use super::error::CompareError;
use super::note::{Note, notes};
use super::scatter::Scatter;
use super::side::{Readings, Side, Which};
use super::verdict::Verdict;
use crate::base::measured::Measured;
use crate::base::student::{coverage_factor_95, welch_satterthwaite};
use crate::base::units::Unit;
use crate::reading::{Outcome, Record};

/// A reading's band counts as wider than its terms (a flat stretch of the scale, an interval rather than a normal
/// error) from this factor over 1.96 sigma on; below it the surplus is taken as the shape of the same error.
const NOT_NORMAL: f64 = 1.25;

/// What the sources named on both sides contribute (one sigma, unit of the comparison).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shared {
    /// To the mean before.
    pub before: f64,
    /// To the mean after.
    pub after: f64,
    /// To the difference: what did not cancel.
    pub left: f64,
}

/// The change from before to after.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// Unit of every number here (a difference converts by 9/5 alone).
    pub unit: Unit,
    /// The side before.
    pub before: Side,
    /// The side after.
    pub after: Side,
    /// After minus before, term by term; without the scatter.
    pub delta: Measured,
    /// Standard uncertainty of the change: the terms and the scatter.
    pub sigma: f64,
    /// Effective degrees of freedom (infinite when no scatter enters).
    pub dof: f64,
    /// 95 % band of the change.
    pub band: (f64, f64),
    /// What it says.
    pub verdict: Verdict,
    /// Half the width of the band: the smallest change that these photos could have shown.
    pub detectable: f64,
    /// What cancelled.
    pub shared: Shared,
    /// What a reader of the number should know.
    pub notes: Vec<Note>,
}

/// Compares the readings after a change with those before it.
///
/// delta = mean(after) - mean(before), term by term. To the variance of its terms comes, for each side, extra²/n for the
/// wander of the needle between photos ([`Scatter::of`]); a side with a single photo takes the wander of the other side.
/// The terms count as known (infinitely many degrees of freedom), the wander with its own; they combine by the
/// Welch–Satterthwaite formula, and the band is delta ± t(97.5 %, ν_eff) sigma (JCGM 100:2008, G.4, equation G.2b, and
/// G.5). Where readings have bands much wider than their terms, the surplus is added in full; in a flat zone of the dial the whole
/// interval of values that fit is added, since no value in it is likelier.
/// The band is never narrower than 1.96 sigma of the terms.
///
/// Photos without a number and repeated photos are left out and reported in their side.
///
/// # Errors
/// [`CompareError::NothingRead`] when a side holds no reading.
pub fn compare(before: &[Record], after: &[Record]) -> Result<Comparison, CompareError> {
    let unit = unit_of(before).or_else(|| unit_of(after)).unwrap_or(Unit::C);
    let (b, a) = (Readings::of(before, unit), Readings::of(after, unit));
    let (mean_b, mean_a) = (b.mean(Which::Before, before.len())?, a.mean(Which::After, after.len())?);
    let (scatter_b, scatter_a) = (b.scatter(), a.scatter());
    let delta = mean_a.minus(&mean_b);
    let spread = Spread::of(delta.sigma(), &wander(&b, &a, scatter_b, scatter_a));
    let (over_b, over_a) = (surplus(&b), surplus(&a));
    let (low, high) = (spread.half + over_a.0 + over_b.1, spread.half + over_a.1 + over_b.0);
    let band = (delta.value() - low, delta.value() + high);
    let verdict = Verdict::of(delta.value(), band);
    let verdict = if b.flat().or(a.flat()).is_some() { verdict.in_flat_zone(band) } else { verdict };
    let notes = notes([&b, &a], [scatter_b, scatter_a], [over_b, over_a].map(|o| o.0 + o.1 > 0.0), unit);
    let shared = Shared::of(&mean_b, &mean_a, &delta);
    Ok(Comparison {
        unit,
        before: side(b, mean_b, scatter_b, scatter_a, over_b),
        after: side(a, mean_a, scatter_a, scatter_b, over_a),
        verdict,
        delta,
        sigma: spread.sigma,
        dof: spread.dof,
        band,
        detectable: (low + high) / 2.0,
        shared,
        notes,
    })
}

/// The unit of the first reading.
fn unit_of(records: &[Record]) -> Option<Unit> {
    records.iter().find_map(|r| if let Outcome::Reading(x) = &r.outcome { Some(x.unit) } else { None })
}

/// The wander's parts of the difference as (sigma, degrees of freedom); one joint part when one side lends to the other.
fn wander(b: &Readings, a: &Readings, scatter_b: Option<Scatter>, scatter_a: Option<Scatter>) -> Vec<(f64, f64)> {
    let (inv_b, inv_a) = (1.0 / b.values.len() as f64, 1.0 / a.values.len() as f64);
    match (scatter_b, scatter_a) {
        (Some(sb), Some(sa)) => vec![(sb.extra * inv_b.sqrt(), sb.dof), (sa.extra * inv_a.sqrt(), sa.dof)],
        (Some(s), None) | (None, Some(s)) => vec![(s.extra * (inv_b + inv_a).sqrt(), s.dof)],
        (None, None) => Vec::new(),
    }
}

/// A standard uncertainty with its degrees of freedom and the half width of its 95 % band.
struct Spread {
    sigma: f64,
    dof: f64,
    half: f64,
}

impl Spread {
    /// Terms that count as known, and parts with their own degrees of freedom.
    fn of(terms: f64, parts: &[(f64, f64)]) -> Self {
        let all: Vec<(f64, f64)> = parts.iter().copied().chain([(terms, f64::INFINITY)]).collect();
        let sigma = all.iter().map(|(s, _)| s * s).sum::<f64>().sqrt();
        // Two photos give one degree of freedom: fewer would say less than nothing was learned from them.
        let dof = welch_satterthwaite(&all).max(1.0);
        Self { sigma, dof, half: if sigma > 0.0 { coverage_factor_95(dof) * sigma } else { 0.0 } }
    }
}

/// How far the bands of a side's readings reach below and above what their terms explain, on average. In a flat zone that is
/// the whole interval: terms that cancel in the difference must not take the zone with them.
fn surplus(side: &Readings) -> (f64, f64) {
    let over = |reach: f64, normal: f64| if reach > NOT_NORMAL * normal { reach - normal } else { 0.0 };
    let mut sum = (0.0, 0.0);
    for ((value, reach), flat) in side.values.iter().zip(&side.reach).zip(&side.flat) {
        let normal = coverage_factor_95(f64::INFINITY) * value.sigma();
        let (below, above) = match flat {
            Some((low, high)) => ((value.value() - low).max(0.0), (high - value.value()).max(0.0)),
            None => (over(reach.0, normal), over(reach.1, normal)),
        };
        sum = (sum.0 + below, sum.1 + above);
    }
    let n = side.values.len().max(1) as f64;
    (sum.0 / n, sum.1 / n)
}

fn side(readings: Readings, mean: Measured, own: Option<Scatter>, other: Option<Scatter>, over: (f64, f64)) -> Side {
    let n = readings.values.len() as f64;
    let parts: Vec<(f64, f64)> = own.or(other).iter().map(|s| (s.extra / n.sqrt(), s.dof)).collect();
    let half = Spread::of(mean.sigma(), &parts).half;
    Side {
        band: (mean.value() - half - over.0, mean.value() + half + over.1),
        flat: readings.flat(),
        nearest: readings.nearest(mean.value()),
        mean,
        read: readings.indices,
        left_out: readings.left_out,
        scatter: own,
    }
}

impl Shared {
    fn of(before: &Measured, after: &Measured, delta: &Measured) -> Self {
        let both = |k: &str| before.terms().contains_key(k) && after.terms().contains_key(k);
        let part = |m: &Measured| m.variance_of(both).sqrt();
        Self { before: part(before), after: part(after), left: part(delta) }
    }
}
