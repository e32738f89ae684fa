//! How long a temperature takes to settle, in time constants.
use crate::maths::units::Unit;

/// A start from cold, °C: an assumption.
const COLD: f64 = 20.0;
/// So much of the drop may be left when the photos are taken: then the two sides together are wrong by a tenth of it at most when both
/// approach from the same side, and by a fifth when they do not.
const LEFT: f64 = 0.1;
/// Fewer time constants than this show no level.
const LEAST: f64 = 2.0;

/// The wait for a settled temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wait {
    /// Where a cold start begins, dial unit.
    pub from: f64,
    /// What may be left, dial unit.
    pub left: f64,
    /// Time constants at a steady load: ln(distance / left), since distance exp(-t/tau) is left after t.
    pub time_constants: f64,
}

impl Wait {
    /// For a level in `unit` and a drop to be shown; what is no temperature starts at the scale's first mark, `low`.
    pub(super) fn of(level: f64, drop: f64, (unit, low): (Unit, f64)) -> Self {
        let from = if unit.is_temperature() { Unit::C.convert(COLD, unit) } else { low };
        let left = LEFT * drop;
        Self { from, left, time_constants: ((level - from).abs() / left).ln().max(LEAST) }
    }
}
