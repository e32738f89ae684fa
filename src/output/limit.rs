//! A temperature against a limit, in words.
use super::words::{also, number, plain, with_unit};
use crate::dial::Dial;
use crate::maths::margin::Margin;
use crate::maths::rounding::{band, decimals_for, headline_text, significant};
use crate::maths::units::Unit;
use crate::reading::Outcome;

/// What a judgement against a limit cannot be used for.
pub const LIMIT_CAUTION: &str = "A margin to a limit is no alarm: the probability is that of what the needle shows, and an error of gauge or sender that is not declared is not in it.";

/// On which side of a limit a temperature lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stand {
    /// The whole band lies below.
    Below,
    /// The whole band lies above.
    Above,
    /// The band holds the limit.
    NotTold,
}

impl Stand {
    /// By the band.
    pub fn of(m: &Margin) -> Self {
        match m.band {
            (low, _) if low > 0.0 => Stand::Below,
            (_, high) if high < 0.0 => Stand::Above,
            _ => Stand::NotTold,
        }
    }
    /// Stable code, as in JSON.
    pub fn code(self) -> &'static str {
        match self {
            Stand::Below => "below",
            Stand::Above => "above",
            Stand::NotTold => "not_told",
        }
    }
}

/// Where a photo gives no number: a needle beyond an end of the scale tells the side of a limit at that end or further on.
pub fn stand_without(dial: &Dial, outcome: &Outcome, limit: f64) -> Stand {
    let (first, last) = dial.span();
    match outcome {
        Outcome::BelowScale if limit >= first => Stand::Below,
        Outcome::AboveScale if limit <= last => Stand::Above,
        _ => Stand::NotTold,
    }
}

/// What a photo says of a limit (dial unit), without a full stop; `None` where it says nothing.
pub fn photo_against(dial: &Dial, outcome: &Outcome, limit: f64) -> Option<String> {
    if let Outcome::Reading(r) = outcome {
        return r.temperature.margin(limit).map(|m| limit_sentence(&m, r.unit));
    }
    let side = match stand_without(dial, outcome, limit) {
        Stand::Below => "below",
        Stand::Above => "above",
        Stand::NotTold => return None,
    };
    Some(format!("{side} the limit of {}", both_units(limit, dial.unit)))
}

/// The same with the digits of a headline.
pub fn shown_against(dial: &Dial, outcome: &Outcome, limit: f64) -> Option<String> {
    match outcome {
        Outcome::Reading(r) => r.temperature.margin(limit).map(|m| sentence(&m, &distance_by(&m, r.unit, headline_text), r.unit)),
        _ => photo_against(dial, outcome, limit),
    }
}

/// "120 °C (248 °F)"
pub fn both_units(value: f64, unit: Unit) -> String {
    let in_unit = |u: Unit| format!("{} {}", plain(unit.convert(value, u)), u.symbol());
    also(&in_unit(unit), unit.other().map(in_unit))
}

/// "29.1 ± 0.6 °C below the limit of 120 °C (248 °F); the probability of being above it is less than 0.1 %"
pub fn limit_sentence(m: &Margin, unit: Unit) -> String {
    sentence(m, &distance(m, unit), unit)
}

fn sentence(m: &Margin, distance: &str, unit: Unit) -> String {
    format!("{distance} the limit of {}; the probability of being above it is {}", both_units(m.limit, unit), chance(m))
}

/// "29.1 ± 0.6 °C below", "−1 to 3 °C below" where no value is likelier.
pub fn distance(m: &Margin, unit: Unit) -> String {
    distance_by(m, unit, |margin, half| {
        let digits = decimals_for(half).unwrap_or(1);
        format!("{} ± {}", number(margin, digits), number(half, digits))
    })
}

/// The same, the margin's size and half its band written by `shown`.
fn distance_by(m: &Margin, unit: Unit, shown: impl Fn(f64, f64) -> String) -> String {
    if m.flat {
        return format!("{} below", with_unit(&band(m.band.0, m.band.1), unit));
    }
    let half = (m.margin - m.band.0).max(m.band.1 - m.margin);
    let side = if m.margin < 0.0 { "above" } else { "below" };
    format!("{} {} {side}", shown(m.margin.abs(), half), unit.symbol())
}

/// "2.6 %", "between 1.0 % and 97 %", "less than 0.1 %".
pub fn chance(m: &Margin) -> String {
    let (low, high) = (percent(m.above.0), percent(m.above.1));
    if low == high { low } else { format!("between {low} and {high}") }
}

fn percent(p: f64) -> String {
    match p {
        p if p < 0.001 => "less than 0.1 %".to_string(),
        p if p > 0.999 => "more than 99.9 %".to_string(),
        // 99.5 must not become 100
        p if p > 0.99 => format!("{} %", number(100.0 * p, 1)),
        p => format!("{} %", significant(100.0 * p, 2)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn probabilities_in_words() {
        let said = [0.0, 0.0262, 0.6626, 0.5, 0.9951, 0.9999].map(percent);
        assert_eq!(said, ["less than 0.1 %", "2.6 %", "66 %", "50 %", "99.5 %", "more than 99.9 %"]);
    }
}
