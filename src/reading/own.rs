//! What of a reading belongs to its photo alone, and by how much its band is wider than its terms explain.
use super::record::{Outcome, Reading, Record};
use crate::maths::units::Unit;

/// A reading's band counts as wider than its terms (a flat stretch of the scale, an interval rather than a normal error) from this
/// factor over 1.96 sigma on; below it the surplus is taken as the shape of the same error.
const NOT_NORMAL: f64 = 1.25;

impl Reading {
    /// By how much the band reaches further below and above the value than 1.96 sigma of the terms; 0 for a normal band.
    pub fn surplus(&self, unit: Unit) -> (f64, f64) {
        let (value, (low, high), normal) = (self.temperature.value(), self.temperature.band(), self.temperature.spread().half);
        let over = |reach: f64| if reach > NOT_NORMAL * normal { self.unit.convert_difference(reach - normal, unit) } else { 0.0 };
        (over(value - low), over(high - value))
    }
}

/// The unit of the first reading.
pub fn unit_of(records: &[Record]) -> Option<Unit> {
    records.iter().find_map(|r| if let Outcome::Reading(x) = &r.outcome { Some(x.unit) } else { None })
}
