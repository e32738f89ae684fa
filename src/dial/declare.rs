//! Whether what is declared of a gauge can be right for its scale.
use super::declared::{Amount, Declared};
use super::model::Mark;

/// More flat zones than any dial has.
const MAX_FLATS: usize = 100;

/// A declaration that cannot be right for its dial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DeclareError {
    /// What was seen and what it means, in the middle of a sentence.
    pub seen: String,
    /// What to do.
    pub advice: String,
}

impl std::fmt::Display for DeclareError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let mut letters = self.seen.chars();
        let first = letters.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
        write!(f, "{first}{}. {}.", letters.as_str(), self.advice)
    }
}

impl std::error::Error for DeclareError {}

/// Refuses what cannot be right with these marks (which rise by value).
pub(super) fn check(declared: &Declared, marks: &[Mark]) -> Result<(), DeclareError> {
    let (Some(first), Some(last)) = (marks.first(), marks.last()) else { return Ok(()) };
    for (what, amount) in [("gauge accuracy", declared.gauge_accuracy), ("stiction", declared.stiction)] {
        amount.map_or(Ok(()), |a| limit(what, a, (last.value - first.value, (last.angle - first.angle).abs())))?;
    }
    require(declared.flats.len() <= MAX_FLATS, || (format!("more than {MAX_FLATS} flat zones are declared"), "Give the real ones".into()))?;
    for flat in &declared.flats {
        zone(*flat, marks, (first.value, last.value))?;
    }
    let mut sorted = declared.flats.clone();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (a, b) in sorted.iter().zip(sorted.iter().skip(1)) {
        let seen =
            || format!("the flat zones {}..{} and {}..{} touch or overlap, so it is not clear where the needle moves", a.0, a.1, b.0, b.1);
        require(b.0 > a.1, || (seen(), format!("Give them as one: {}..{}", a.0, a.1.max(b.1))))?;
    }
    Ok(())
}

fn limit(what: &str, amount: Amount, (span, sweep): (f64, f64)) -> Result<(), DeclareError> {
    let v = amount.number();
    require(v.is_finite() && v > 0.0, || {
        (
            format!("the {what} of {v} is not a number above 0, so it limits nothing"),
            "Give how far off it may be at most, or leave it out".into(),
        )
    })?;
    let (most, unit) = match amount {
        Amount::PercentOfSpan(_) => (100.0, " % of the span"),
        Amount::Degrees(_) => (sweep, "° of needle"),
        Amount::Value(_) => (span, " in the dial's unit"),
    };
    require(v <= most, || {
        let seen = format!("the {what} of {v}{unit} is more than the whole scale ({most}{unit}), so a reading would say nothing");
        (seen, "Check the number and its unit".into())
    })
}

fn zone((low, high): (f64, f64), marks: &[Mark], (first, last): (f64, f64)) -> Result<(), DeclareError> {
    let name = format!("the flat zone {low}..{high}");
    require(low.is_finite() && high.is_finite() && low < high, || {
        (format!("{name} does not rise, so it holds no temperature"), "Write the lower value first, like 75..90".into())
    })?;
    require(first <= low && high <= last, || {
        let seen = format!("{name} leaves the scale, whose marks run from {first} to {last}, so part of it can never be read");
        (seen, "Give the part that lies on the scale".into())
    })?;
    require(first < low || high < last, || {
        (
            format!("{name} is the whole scale, so no temperature could be told"),
            "Give only the part in which the needle stands still".into(),
        )
    })?;
    require(marks.iter().any(|m| (low..=high).contains(&m.value)), || {
        let seen = format!("no mark lies in the flat zone {low}..{high}, so it is not known where the needle stands still");
        (seen, "Calibrate with the place of one: a mark whose value is in the zone or at an end of it".into())
    })
}

fn require(holds: bool, what: impl FnOnce() -> (String, String)) -> Result<(), DeclareError> {
    if holds {
        return Ok(());
    }
    let (seen, advice) = what();
    Err(DeclareError { seen, advice })
}
