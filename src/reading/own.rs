//! What of a reading belongs to its photo alone, and by how much its band is wider than its terms explain.
use super::record::{Outcome, Reading, Record};
use crate::maths::margin::Known;
use crate::maths::student::coverage_factor_95;
use crate::maths::units::Unit;

/// A reading's band counts as wider than its terms (a flat stretch of the scale, an interval rather than a normal error) from this
/// factor over 1.96 sigma on; below it the surplus is taken as the shape of the same error.
const NOT_NORMAL: f64 = 1.25;

impl Reading {
    /// By how much the band reaches further below and above the value than 1.96 sigma of the terms; 0 for a normal band.
    pub fn surplus(&self, unit: Unit) -> (f64, f64) {
        let (value, normal) = (self.temperature.value(), coverage_factor_95(f64::INFINITY) * self.temperature.sigma());
        let over = |reach: f64| if reach > NOT_NORMAL * normal { self.unit.convert_difference(reach - normal, unit) } else { 0.0 };
        (over(value - self.band.0), over(self.band.1 - value))
    }
    /// What is known of the temperature, for a judgement against a limit; in the dial's unit.
    pub fn known(&self) -> Known {
        let t = &self.temperature;
        Known { value: t.value(), band: self.band, sigma: t.sigma(), dof: f64::INFINITY, flat: self.flat }
    }
}

/// The unit of the first reading.
pub fn unit_of(records: &[Record]) -> Option<Unit> {
    records.iter().find_map(|r| if let Outcome::Reading(x) = &r.outcome { Some(x.unit) } else { None })
}
