//! Which records are readings that can be counted with, and why the others cannot.
use super::record::{Outcome, Reading, Record};
use crate::diagnostics::Refusal;

/// Why a photo does not count.
#[derive(Clone, Debug, PartialEq)]
pub enum Why {
    /// The needle stands below the first mark: no number.
    BelowScale,
    /// The needle stands above the last mark: no number.
    AboveScale,
    /// Not read; the text says what was seen in this photo.
    Refused(Refusal, String),
    /// Read, but nothing says when it was taken.
    NoTime,
    /// The needle stands in a flat zone of the dial: a range and no number.
    FlatZone,
    /// The same file as an earlier photo: it would count twice.
    Repeated,
    /// Its number, band or a term is not finite: nothing that a sound chain gives.
    NotFinite,
}

impl Why {
    /// Whether the needle was seen beyond an end of the scale: a photo left out for that takes a value away from one side.
    pub fn is_beyond_scale(&self) -> bool {
        matches!(self, Why::BelowScale | Why::AboveScale)
    }
}

/// A photo that was left out.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOut {
    /// Its place in the list given.
    pub index: usize,
    /// Why.
    pub why: Why,
}

impl Record {
    /// The reading, or why there is none that can be counted with.
    pub fn counted(&self) -> Result<&Reading, Why> {
        match &self.outcome {
            Outcome::Reading(r) => {
                let (low, high) = r.temperature.band();
                let numbers = [r.temperature.value(), r.temperature.sigma(), low, high];
                if numbers.iter().all(|v| v.is_finite()) { Ok(r) } else { Err(Why::NotFinite) }
            }
            Outcome::BelowScale => Err(Why::BelowScale),
            Outcome::AboveScale => Err(Why::AboveScale),
            Outcome::Refused(refusal, seen) => Err(Why::Refused(*refusal, seen.clone())),
        }
    }
}
