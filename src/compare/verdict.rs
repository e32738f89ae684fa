//! What a difference says, in a plain sentence.
use crate::base::rounding::{significant, with_uncertainty};
use crate::base::units::Unit;

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
    /// The band holds 0.
    NoChange {
        /// The longer side of the band as counted from no change: a change of up to this could hide.
        hidden: f64,
    },
    /// The band holds 0 because a side stands in a flat zone of the dial, where the needle shows no change.
    NotShown {
        /// The longer side of the band as counted from no change: a change of up to this could hide.
        hidden: f64,
    },
}

impl Verdict {
    /// From a difference and its 95 % band.
    pub fn of(delta: f64, band: (f64, f64)) -> Self {
        let half = (delta - band.0).max(band.1 - delta);
        match delta {
            d if band.1 < 0.0 => Verdict::Drop { by: -d, half },
            d if band.0 > 0.0 => Verdict::Rise { by: d, half },
            _ => Verdict::NoChange { hidden: band.1.max(-band.0) },
        }
    }
    /// The same; with a side in a flat zone "no change seen" would say too much.
    pub fn told(delta: f64, band: (f64, f64), in_flat_zone: bool) -> Self {
        match Self::of(delta, band) {
            Verdict::NoChange { hidden } if in_flat_zone => Verdict::NotShown { hidden },
            seen => seen,
        }
    }
    /// Whether a change is seen.
    pub fn is_real(self) -> bool {
        matches!(self, Verdict::Drop { .. } | Verdict::Rise { .. })
    }
    /// The plain sentence, without a full stop: "a real drop of 7.81 ± 0.62 °C" (± is half the 95 % band).
    pub fn sentence(self, unit: Unit) -> String {
        let u = unit.symbol();
        match self {
            Verdict::Drop { by, half } => format!("a real drop of {} {u}", with_uncertainty(by, half)),
            Verdict::Rise { by, half } => format!("a real rise of {} {u}", with_uncertainty(by, half)),
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
