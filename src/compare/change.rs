//! The difference of two sides.
use super::comparison::{Comparison, Shared};
use super::error::CompareError;
use super::given::Given;
use super::half::Half;
use super::lender::{Elsewhere, Lender};
use super::remarks::notes;
use super::side::Side;
use super::verdict::{Known, Verdict};
use crate::maths::between::{Part, Spread};
use crate::maths::estimate::Estimate;
use crate::maths::source::Which;
use crate::maths::units::Unit;
use crate::reading::Record;

/// Compares the readings after a change with those before it.
///
/// delta = mean(after) - mean(before), term by term. To the variance of its terms comes, for each side, extra²/n for the
/// wander of the needle between photos; a side with a single photo takes the wander of the other side. How the band follows from
/// that, and what holds with two and three photos, is told in [`crate::maths::between`]. Where readings have bands much wider than their terms, the surplus is added in full; in a flat zone of the dial the whole
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
    compare_knowing(before, after, None)
}

/// The same with a scatter known from elsewhere, for a comparison in which neither side shows one.
///
/// # Errors
/// As [`compare_given`].
pub fn compare_knowing(before: &Given, after: &Given, elsewhere: Option<Elsewhere>) -> Result<Comparison, CompareError> {
    let unit = unit_of(before).or_else(|| unit_of(after)).unwrap_or(Unit::C);
    let scatter_unit = elsewhere.as_ref().map(|e| e.unit);
    if let Some(other) = unit_of(after).into_iter().chain(scatter_unit).find(|u| !u.converts_to(unit)) {
        return Err(CompareError::Units(unit, other));
    }
    let (b, a) = (Half::of(before, Which::Before, unit)?, Half::of(after, Which::After, unit)?);
    let delta = a.mean.minus(&b.mean);
    let lent = lent(&b, &a, elsewhere.map(|e| e.scatter.to(e.unit, unit)));
    let parts = scatter(&b, &a, lent);
    let surplus = (a.surplus.0 + b.surplus.1, a.surplus.1 + b.surplus.0);
    let shared = Shared::of(&b.mean, &a.mean, &delta);
    let spread = Spread::of(delta.sigma(), &parts);
    let delta = Estimate::new(delta, spread, surplus);
    let known = Known { in_flat_zone: b.flat.or(a.flat).is_some(), scatter: !parts.is_empty() };
    let (scatter_b, scatter_a) = (b.scatter_of(lent), a.scatter_of(lent));
    Ok(Comparison {
        unit,
        verdict: Verdict::told(delta.value(), delta.band(), known),
        notes: notes(&b, &a, lent, unit),
        shared,
        before: b.side(scatter_b),
        after: a.side(scatter_a),
        delta,
        adjusted: None,
        scatter_known: !parts.is_empty(),
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

/// The unit of the numbers that are given.
fn unit_of(given: &Given) -> Option<Unit> {
    match given {
        Given::Photos(records) => crate::reading::unit_of(records),
        Given::Level(level) => Some(level.unit),
    }
}

/// The scatter lent to a side that shows none: the other side's, or one from elsewhere.
fn lent(b: &Half, a: &Half, elsewhere: Option<Lender>) -> Option<Lender> {
    match (b.own.is_some(), a.own.is_some()) {
        (true, true) => None,
        (true, false) => b.lends.or(elsewhere),
        (false, true) => a.lends.or(elsewhere),
        (false, false) => elsewhere,
    }
}

/// The scatter's parts of the difference, none where no side shows any; one joint part where a scatter is lent.
fn scatter(b: &Half, a: &Half, lent: Option<Lender>) -> Vec<Part> {
    let explained = b.explained() + a.explained();
    match (b.own, a.own, lent) {
        (Some(b), Some(a), _) => vec![b, a],
        (None, None, Some(lent)) => vec![lent.part(explained, 2.0)],
        (Some(own), None, Some(lent)) | (None, Some(own), Some(lent)) => match lent {
            Lender::Readings(sample) => vec![sample.lent(explained, 1.0 + 1.0 / sample.count as f64)],
            Lender::Run(sd, dof) => vec![Part::apart(own.extra.sqrt().hypot(sd), own.dof.min(dof))],
            Lender::Told(sd) => vec![own, Part::apart(sd, f64::INFINITY)],
        },
        (b, a, None) => b.into_iter().chain(a).collect(),
    }
}
