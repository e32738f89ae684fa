//! What the person sees the needle read in the reference photo, against what the new dial file reads there: a wrong end of the needle, a
//! wrong dial of a cluster or mistyped values show before the file is written.
use super::args::NeedleReads;
use super::failure::Failure;
use crate::dial::Dial;
use crate::maths::rounding::fixed;
use crate::photo::Photo;
use crate::reading::{Outcome, Reader};

/// How well a person reads a dial by eye, in steps between the values that were given: half of one, as the usual rule for reading between
/// the lines of a scale has it (common practice), so that nobody is refused for a careless look.
const BY_EYE: f64 = 0.5;

/// Refuses a dial that reads its own reference photo otherwise than the person does, see [`difference`].
pub fn agrees(photo: &Photo, dial: &Dial, seen: &NeedleReads) -> Result<(), Failure> {
    difference(photo, dial, seen).map_or(Ok(()), |found| {
        Err(Failure::trouble(format!(
            "{found} No dial file was written. Check the values and the places of the marks, and that they are those of this needle's dial; \
             or correct --needle-reads."
        )))
    })
}

/// In words, where a dial reads its own reference photo otherwise than the person does, by more than both allow: the 95 % band of the
/// reading, and the person's limit (`seen.limit`, or [`BY_EYE`] of the mean step between the marks), added.
pub fn difference(photo: &Photo, dial: &Dial, seen: &NeedleReads) -> Option<String> {
    let (unit, value) = (dial.unit.symbol(), seen.value);
    let values = || dial.marks.iter().map(|m| m.value);
    let (low, high) = (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max));
    let limit = seen.limit.unwrap_or(BY_EYE * (high - low) / (dial.marks.len().max(2) - 1) as f64);
    let other = |found: String| {
        Some(format!(
            "You see the needle at {} ±{} {unit} in the reference photo; this dial file {found}",
            fixed(value, 1),
            fixed(limit, 1)
        ))
    };
    match Reader::new(dial.clone()).read(photo).outcome {
        Outcome::Reading(r) => {
            let band = r.temperature.band();
            let (near, far) = r.temperature.interval().map_or(band, |f| (f.0.min(band.0), f.1.max(band.1)));
            match value >= near - limit && value <= far + limit {
                true => None,
                false => other(format!("reads {} {unit} there.", fixed(r.temperature.value(), 1))),
            }
        }
        Outcome::BelowScale if value <= low + limit => None,
        Outcome::AboveScale if value >= high - limit => None,
        Outcome::BelowScale => other(format!("finds it below the first mark, {} {unit}.", fixed(low, 1))),
        Outcome::AboveScale => other(format!("finds it above the last mark, {} {unit}.", fixed(high, 1))),
        Outcome::Refused(reason, text) => {
            other(format!("does not read it there: {} {text} Without a value of yours nothing is compared.", reason.sentence()))
        }
    }
}
