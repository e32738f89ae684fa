//! What a difference says, in a plain sentence.
use crate::maths::rounding::{Ends, band as ends, headline_text, significant, with_uncertainty};
use crate::maths::units::Unit;

/// What the band of a difference says about the change.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// The whole band lies below 0.
    Drop {
        /// By how much, above 0.
        by: f64,
        /// Half width of the 95 % band, its longer side.
        half: f64,
    },
    /// The whole band lies above 0.
    Rise {
        /// By how much, above 0.
        by: f64,
        /// Half width of the 95 % band, its longer side.
        half: f64,
    },
    /// The whole band lies below 0 and is open downwards: a side stands partly beyond an end of the scale.
    AtLeastLower {
        /// Upper end of the band, above 0.
        by: f64,
    },
    /// The whole band lies above 0 and is open upwards.
    AtLeastHigher {
        /// Lower end of the band, above 0.
        by: f64,
    },
    /// The band is open and holds 0: the photos beyond the scale may hide a change of any size on the open side.
    NoLimit {
        /// The largest drop that could hide, 0 or more; infinite where the band is open downwards.
        drop: f64,
        /// The largest rise that could hide, 0 or more; infinite where the band is open upwards.
        rise: f64,
    },
    /// The band holds 0.
    NoChange {
        /// The longer side of the band as counted from no change: a change of up to this could hide.
        hidden: f64,
    },
    /// The band lies off 0, and each side is one photo of which no scatter is known.
    OnePhoto {
        /// After minus before.
        by: f64,
    },
    /// The band holds 0 because a side stands in a flat zone of the dial, where the needle shows no change.
    NotShown {
        /// The longer side of the band as counted from no change: a change of up to this could hide.
        hidden: f64,
    },
}

/// What a verdict needs to know beside the band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Known {
    /// Whether a side stands in a flat zone of the dial.
    pub in_flat_zone: bool,
    /// Whether a scatter between photos is in the band.
    pub scatter: bool,
}

/// Why a change is known as a limit only, or not at all.
const OFF_SCALE: &str = "a side is partly off the scale";

impl Verdict {
    /// From a difference and its 95 % band; an end of it is infinite where a side stands partly beyond an end of the scale.
    pub fn of(delta: f64, band: (f64, f64)) -> Self {
        let half = (delta - band.0).max(band.1 - delta);
        match delta {
            _ if band.0.is_infinite() && band.1 < 0.0 => Verdict::AtLeastLower { by: -band.1 },
            _ if band.1.is_infinite() && band.0 > 0.0 => Verdict::AtLeastHigher { by: band.0 },
            _ if half.is_infinite() => Verdict::NoLimit { drop: -band.0, rise: band.1 },
            d if band.1 < 0.0 => Verdict::Drop { by: -d, half },
            d if band.0 > 0.0 => Verdict::Rise { by: d, half },
            _ => Verdict::NoChange { hidden: band.1.max(-band.0) },
        }
    }
    /// The same; with a side in a flat zone "no change seen" would say too much, and with a photo a side and no scatter known "real" would.
    pub fn told(delta: f64, band: (f64, f64), known: Known) -> Self {
        match Self::of(delta, band) {
            Verdict::NoChange { hidden } if known.in_flat_zone => Verdict::NotShown { hidden },
            Verdict::Drop { .. } | Verdict::Rise { .. } if !known.scatter => Verdict::OnePhoto { by: delta },
            seen => seen,
        }
    }
    /// Whether a change is seen.
    pub fn is_real(self) -> bool {
        matches!(self, Verdict::Drop { .. } | Verdict::Rise { .. } | Verdict::AtLeastLower { .. } | Verdict::AtLeastHigher { .. })
    }
    /// The plain sentence, without a full stop: "a real drop of 7.81 ± 0.62 °C" (± as everywhere),
    /// or "at least 7.1 °C lower" with the reason, rounded towards no change.
    pub fn sentence(self, unit: Unit) -> String {
        self.with_reason(self.claim(unit, with_uncertainty, true))
    }
    /// The same with the digits of a headline: "a real drop of 7.8 ± 0.7 °C".
    pub fn headline(self, unit: Unit) -> String {
        self.with_reason(self.claim(unit, headline_text, true))
    }
    /// What is said of a limit, with the reason why it is one.
    pub fn with_reason(self, claim: String) -> String {
        match self {
            Verdict::AtLeastLower { .. } | Verdict::AtLeastHigher { .. } => format!("{claim} (a limit: {OFF_SCALE})"),
            Verdict::NoLimit { .. } => format!("{claim} ({OFF_SCALE})"),
            _ => claim,
        }
    }
    /// The sentence without a reason, its numbers written by `number`; `real`: whether a change that is seen is called real.
    pub fn claim(self, unit: Unit, number: fn(f64, f64) -> String, real: bool) -> String {
        let u = unit.symbol();
        let real = if real { "real " } else { "" };
        match self {
            Verdict::AtLeastLower { by } => format!("at least {} {u} lower", limit(ends(by, f64::INFINITY))),
            Verdict::AtLeastHigher { by } => format!("at least {} {u} higher", limit(ends(by, f64::INFINITY))),
            Verdict::NoLimit { drop, rise } => format!("not told: {} could hide", open(drop, rise, u)),
            Verdict::Drop { by, half } => format!("a {real}drop of {} {u}", number(by, half)),
            Verdict::Rise { by, half } => format!("a {real}rise of {} {u}", number(by, half)),
            Verdict::OnePhoto { by } => {
                let less = if by < 0.0 { "lower" } else { "higher" };
                format!("a difference of {} {u} ({less}), seen in one photo a side: may be scatter", significant(by.abs(), 2))
            }
            Verdict::NoChange { hidden } if hidden > 0.0 => {
                format!("no change seen: a change of up to {} {u} could hide", significant(hidden, 2))
            }
            Verdict::NotShown { hidden } => {
                format!(
                    "not shown: in a flat zone of the dial the needle stands still, and a change of up to {} {u} could hide",
                    significant(hidden, 2)
                )
            }
            Verdict::NoChange { .. } => "no change: the two sides are the same".to_string(),
        }
    }
}

/// The number of a band with one open end.
fn limit(band: Ends) -> String {
    match band {
        Ends::OrMore(number) | Ends::OrLess(number) => number,
        other => other.to_string(),
    }
}

/// What could hide where the band is open downwards, upwards or both ways.
fn open(drop: f64, rise: f64, unit: &str) -> String {
    let and_up_to = |other: &str, by: f64| match by > 0.0 {
        // outward: no less than the end of the band
        true => format!(", or a {other} of up to {} {unit},", limit(ends(f64::NEG_INFINITY, by))),
        false => String::new(),
    };
    match (drop.is_finite(), rise.is_finite()) {
        (false, true) => format!("a drop of any size{}", and_up_to("rise", rise)),
        (true, false) => format!("a rise of any size{}", and_up_to("drop", drop)),
        _ => "a drop or a rise of any size".to_string(),
    }
}
