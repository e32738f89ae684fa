//! A temperature against a limit, as an object.
use super::finite;
use crate::maths::margin::Margin;
use crate::output::limit::{LIMIT_CAUTION, Stand};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct Limit {
    /// The limit; every number here in the unit of what it judges.
    limit: Option<f64>,
    /// "below", "above" or "not_told", by the 95 % band.
    stands: &'static str,
    /// Limit minus value, and its 95 % band; `null` where there is no number.
    margin: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    /// Probability of being above; the two differ in a flat zone and where only a limit is known.
    probability_low: Option<f64>,
    probability_high: Option<f64>,
    caution: &'static str,
}

impl Limit {
    pub(super) fn of(m: &Margin) -> Self {
        Self {
            limit: finite(m.limit),
            stands: Stand::of(m).code(),
            margin: finite(m.margin),
            low: finite(m.band.0),
            high: finite(m.band.1),
            probability_low: finite(m.above.0),
            probability_high: finite(m.above.1),
            caution: LIMIT_CAUTION,
        }
    }
    /// Where there is no number: only on which side, as far as it is known.
    pub(super) fn without(limit: f64, stand: Stand) -> Self {
        Self {
            limit: finite(limit),
            stands: stand.code(),
            margin: None,
            low: None,
            high: None,
            probability_low: None,
            probability_high: None,
            caution: LIMIT_CAUTION,
        }
    }
}

/// What a band with an open end says: the number beside it is an upper limit, a lower one, or none at all. `None` for a closed band.
pub(super) fn limit_side((low, high): (f64, f64)) -> Option<&'static str> {
    match (low.is_infinite(), high.is_infinite()) {
        (false, false) => None,
        (true, false) => Some("at_most"),
        (false, true) => Some("at_least"),
        (true, true) => Some("none"),
    }
}
