//! What the readings say, in a plain sentence.
use crate::maths::rounding::{headline_text, significant, with_uncertainty};
use crate::maths::units::Unit;

/// What a run of readings says of the temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// Approached its level and is within a degree Celsius of it.
    Settled {
        /// The level.
        level: f64,
        /// Half its 95 % band, the longer side.
        half: f64,
    },
    /// No approach is seen: the readings stand about one level.
    Steady {
        /// The level.
        level: f64,
        /// Half its 95 % band.
        half: f64,
    },
    /// Two time constants or more are seen, and more than a degree Celsius may be left.
    Approaching {
        /// The level.
        level: f64,
        /// Half its 95 % band, the longer side.
        half: f64,
    },
    /// Too little of the approach is seen to know where it ends: between these two, the farther one may be infinite.
    NotSettled {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// The level itself moves.
    Drifting {
        /// Degrees a minute.
        per_minute: f64,
        /// Half the 95 % band of it.
        half: f64,
    },
    /// The readings do not follow a first-order approach, so it names no level.
    NotFirstOrder,
}

impl Verdict {
    /// Short stable code, as in JSON.
    pub fn code(self) -> &'static str {
        match self {
            Verdict::Settled { .. } => "settled",
            Verdict::Steady { .. } => "steady",
            Verdict::Approaching { .. } => "approaching",
            Verdict::NotSettled { .. } => "not_settled",
            Verdict::Drifting { .. } => "drifting",
            Verdict::NotFirstOrder => "not_first_order",
        }
    }
    /// The plain sentence, without a full stop (± reaches the farther end of the 95 % band).
    pub fn sentence(self, unit: Unit) -> String {
        self.said(unit, with_uncertainty)
    }
    /// The same with the digits of a headline.
    pub fn headline(self, unit: Unit) -> String {
        self.said(unit, headline_text)
    }
    fn said(self, unit: Unit, number: fn(f64, f64) -> String) -> String {
        let u = unit.symbol();
        match self {
            Verdict::Settled { level, half } => format!("settled at {} {u}", number(level, half)),
            Verdict::Steady { level, half } => format!("steady at {} {u}: no approach to a level is seen", number(level, half)),
            Verdict::Approaching { level, half } => format!("not settled yet: on its way to {} {u}", number(level, half)),
            Verdict::NotSettled { low, high } => match (low.is_finite(), high.is_finite()) {
                (true, true) => format!("not settled: between {} and {} {u}", significant(low, 3), significant(high, 3)),
                (true, false) => format!("not settled: {} {u} or more, and these readings set no upper limit", significant(low, 3)),
                (false, true) => format!("not settled: {} {u} or less, and these readings set no lower limit", significant(high, 3)),
                _ => "not settled: these readings set no limit".to_string(),
            },
            Verdict::Drifting { per_minute, half } => {
                format!("not settled: it drifts by {} {u} a minute", with_uncertainty(per_minute, half))
            }
            Verdict::NotFirstOrder => "not told: the readings do not follow a first-order approach to one level".to_string(),
        }
    }
}

/// A length of time to two digits: "25 min".
pub(super) fn length(seconds: f64) -> String {
    if seconds >= 120.0 { format!("{} min", significant(seconds / 60.0, 2)) } else { format!("{} s", significant(seconds, 2)) }
}
