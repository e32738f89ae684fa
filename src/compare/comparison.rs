//! A comparison of two sides: what it holds.
use super::given::Slope;
use super::note::Note;
use super::side::Side;
use super::verdict::{Known, Verdict};
use crate::maths::estimate::Estimate;
use crate::maths::measured::Measured;
use crate::maths::source::Source;
use crate::maths::units::Unit;

/// What the sources named on both sides contribute (one sigma, unit of the comparison).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shared {
    /// To the mean before.
    pub before: f64,
    /// To the mean after.
    pub after: f64,
    /// To the difference: what did not cancel.
    pub left: f64,
}

/// A change with the weather taken out.
#[derive(Clone, Debug, PartialEq)]
pub struct Adjusted {
    /// By how much the settled temperature follows the ambient one.
    pub slope: Slope,
    /// Ambient after minus ambient before. The two count as independent: whether one thermometer was wrong alike on both days is not
    /// known.
    pub ambient: Measured,
    /// The change at the least and at the greatest slope.
    pub ends: (f64, f64),
    /// The middle of the two: no value between them is likelier.
    pub value: f64,
    /// 95 % band, whatever the slope.
    pub band: (f64, f64),
    /// What it says.
    pub verdict: Verdict,
}

/// The change from before to after.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// Unit of every number here (a difference converts by 9/5 alone).
    pub unit: Unit,
    /// The side before.
    pub before: Side,
    /// The side after.
    pub after: Side,
    /// After minus before, term by term; an end of its band is infinite where a side stands partly beyond an end of the scale.
    pub delta: Estimate,
    /// What it says.
    pub verdict: Verdict,
    /// The change with the weather taken out, when both ambient temperatures were given.
    pub adjusted: Option<Adjusted>,
    /// What cancelled.
    pub shared: Shared,
    /// What a reader of the number should know.
    pub notes: Vec<Note>,
    /// Whether a scatter between photos is in the band: from a side, or from elsewhere. Without it no change is called real.
    pub scatter_known: bool,
}

impl Comparison {
    /// Whether a side stands in a flat zone of the dial.
    pub fn in_flat_zone(&self) -> bool {
        self.before.flat.or(self.after.flat).is_some()
    }
    /// What the verdict needs to know beside the band.
    pub(super) fn known(&self) -> Known {
        Known { in_flat_zone: self.in_flat_zone(), scatter: self.scatter_known }
    }
    /// The verdict on a band of the change.
    pub fn verdict_on(&self, delta: f64, band: (f64, f64)) -> Verdict {
        Verdict::told(delta, band, self.known())
    }
    /// The same with each side judged against a limit (unit of the comparison).
    pub fn against(mut self, limit: f64) -> Self {
        for side in [&mut self.before, &mut self.after] {
            side.margin = side.mean.margin(limit);
        }
        self
    }
}

impl Shared {
    pub(super) fn of(before: &Measured, after: &Measured, delta: &Measured) -> Self {
        let both = |s: &Source| before.terms().contains_key(s) && after.terms().contains_key(s);
        let part = |m: &Measured| m.variance_of(both).sqrt();
        Self { before: part(before), after: part(after), left: part(delta) }
    }
}
