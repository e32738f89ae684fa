//! A photo that does not count, as an object.
use crate::reading::{LeftOut, Why};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct Left<'a> {
    photo: &'a str,
    outcome: &'static str,
    reason: Option<&'static str>,
}

impl<'a> Left<'a> {
    /// `paths` of all photos given, in the order of the records.
    pub(super) fn of(left: &LeftOut, paths: &'a [String]) -> Self {
        let (outcome, reason) = why(&left.why);
        Self { photo: paths.get(left.index).map_or("", String::as_str), outcome, reason }
    }
}

fn why(why: &Why) -> (&'static str, Option<&'static str>) {
    match why {
        Why::BelowScale => ("below_scale", None),
        Why::AboveScale => ("above_scale", None),
        Why::Refused(refusal, _) => ("refused", Some(refusal.code())),
        Why::NoTime => ("reading", Some("no_time")),
        Why::FlatZone => ("reading", Some("flat_zone")),
        Why::Repeated => ("reading", Some("repeated")),
        Why::NotFinite => ("reading", Some("not_finite")),
    }
}
