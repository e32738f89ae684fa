//! The difference of two sides.
use super::ambient::Adjusted;
use super::error::CompareError;
use super::given::Given;
use super::half::Half;
use super::note::{Note, notes};
use super::side::{Side, Which};
use super::spread::{Part, Spread};
use super::verdict::Verdict;
use crate::maths::detection::beyond;
use crate::maths::margin::Margin;
use crate::maths::measured::Measured;
use crate::maths::units::Unit;
use crate::reading::Record;

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
    /// 95 % band of the change; an end is infinite where a side stands partly beyond an end of the scale.
    pub band: (f64, f64),
    /// What it says.
    pub verdict: Verdict,
    /// Half the width of the band: a change that comes out larger than this is called real. Infinite where the band is open.
    pub detectable: f64,
    /// The smallest true change that these photos could have shown: one of this size is called real 95 times of 100
    /// ([`crate::maths::detection`]; twice the surplus of the bands comes on top where there is one). Infinite where the band is open.
    pub detection_limit: f64,
    /// The change with the weather taken out, when both ambient temperatures were given.
    pub adjusted: Option<Adjusted>,
    /// What cancelled.
    pub shared: Shared,
    /// What a reader of the number should know.
    pub notes: Vec<Note>,
    /// The band's two kinds of parts.
    pub(super) reach: Reach,
}

/// How a band reaches to its two sides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reach {
    /// Half width from terms and scatter.
    pub half: f64,
    /// Surplus below and above, added in full.
    pub over: (f64, f64),
}

impl Comparison {
    /// Whether a side stands in a flat zone of the dial.
    pub fn in_flat_zone(&self) -> bool {
        self.before.flat.or(self.after.flat).is_some()
    }
    /// The same with each side judged against a limit (unit of the comparison).
    pub fn against(mut self, limit: f64) -> Self {
        for side in [&mut self.before, &mut self.after] {
            side.margin = Margin::of(limit, &side.known());
        }
        self
    }
}

/// Compares the readings after a change with those before it.
///
/// delta = mean(after) - mean(before), term by term. To the variance of its terms comes, for each side, extra²/n for the
/// wander of the needle between photos ([`super::Scatter::of`]); a side with a single photo takes the wander of the other side.
/// The terms count as known (infinitely many degrees of freedom), the wander with its own; they combine by the
/// Welch–Satterthwaite formula, and the band is delta ± t(97.5 %, ν_eff) sigma (JCGM 100:2008, G.4, equation G.2b, and
/// G.5). Where readings have bands much wider than their terms, the surplus is added in full; in a flat zone of the dial the whole
/// interval of values that fit is added, since no value in it is likelier.
/// The band is never narrower than 1.96 sigma of the terms.
///
/// Photos without a number and repeated photos are left out and reported in their side. Photos beyond an end of the scale have no number,
/// but say on which side of the others they lie: the mean of the others is a limit then, and the band is open towards that end.
///
/// # Errors
/// [`CompareError::NothingRead`] when a side holds no reading.
pub fn compare(before: &[Record], after: &[Record]) -> Result<Comparison, CompareError> {
    compare_given(&Given::Photos(before), &Given::Photos(after))
}

/// The same where a side may be the level that a run over time settled at. Of its terms those of the dial count, so what it shares
/// with the other side cancels; the scatter of its readings counts with its degrees of freedom, and what its band holds beyond
/// these is added in full.
///
/// # Errors
/// As [`compare`]; [`CompareError::NotFinite`] for a level that is no number.
pub fn compare_given(before: &Given, after: &Given) -> Result<Comparison, CompareError> {
    let unit = unit_of(before).or_else(|| unit_of(after)).unwrap_or(Unit::C);
    let (b, a) = (Half::of(before, Which::Before, unit)?, Half::of(after, Which::After, unit)?);
    let delta = a.mean.minus(&b.mean);
    let spread = Spread::of(delta.sigma(), &wander(&b, &a));
    let over = (a.over.0 + b.over.1, a.over.1 + b.over.0);
    let (low, high) = (spread.half + over.0, spread.half + over.1);
    let band = (delta.value() - low, delta.value() + high);
    let in_flat_zone = b.flat.or(a.flat).is_some();
    let (wander_b, wander_a) = (b.wander(&a), a.wander(&b));
    Ok(Comparison {
        unit,
        verdict: Verdict::told(delta.value(), band, in_flat_zone),
        notes: notes(&b, &a, unit),
        shared: Shared::of(&b.mean, &a.mean, &delta),
        before: b.side(wander_b),
        after: a.side(wander_a),
        delta,
        sigma: spread.sigma,
        dof: spread.dof,
        band,
        detectable: (low + high) / 2.0,
        detection_limit: low.max(high) + over.0.max(over.1) + above_critical(&spread),
        adjusted: None,
        reach: Reach { half: spread.half, over },
    })
}

/// One side on its own: its mean, scatter and band, and their unit (°C where nothing says).
///
/// # Errors
/// As [`compare_given`].
pub fn one_side(given: &Given) -> Result<(Side, Unit), CompareError> {
    let unit = unit_of(given).unwrap_or(Unit::C);
    let half = Half::of(given, Which::Before, unit)?;
    let own = half.own;
    Ok((half.side(own), unit))
}

/// So much more than its critical value a true change must be, to be called real 95 times of 100.
fn above_critical(spread: &Spread) -> f64 {
    if spread.sigma > 0.0 { beyond(spread.dof) * spread.sigma } else { 0.0 }
}

/// The unit of the numbers that are given.
fn unit_of(given: &Given) -> Option<Unit> {
    match given {
        Given::Photos(records) => crate::reading::unit_of(records),
        Given::Level(level) => Some(level.unit),
    }
}

/// The wander's parts of the difference; one joint part when one side lends to the other.
fn wander(b: &Half, a: &Half) -> Vec<Part> {
    let (part_b, part_a) = (b.wander(a), a.wander(b));
    let lent = b.own.is_none() || a.own.is_none();
    match (part_b, part_a) {
        (Some(b), Some(a)) if lent => vec![Part { sigma: b.sigma.hypot(a.sigma), dof: b.dof.min(a.dof) }],
        (b, a) => b.into_iter().chain(a).collect(),
    }
}

impl Shared {
    fn of(before: &Measured, after: &Measured, delta: &Measured) -> Self {
        let both = |k: &str| before.terms().contains_key(k) && after.terms().contains_key(k);
        let part = |m: &Measured| m.variance_of(both).sqrt();
        Self { before: part(before), after: part(after), left: part(delta) }
    }
}
