//! Temperature units. A temperature converts by 9/5 and 32, a difference by 9/5 alone (NIST SP 811, B.8/B.9).
use serde::{Deserialize, Serialize};

/// The unit printed on a dial.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Unit {
    /// Degrees Celsius.
    C,
    /// Degrees Fahrenheit.
    F,
}

impl Unit {
    /// "°C" or "°F".
    pub fn symbol(self) -> &'static str {
        match self {
            Unit::C => "°C",
            Unit::F => "°F",
        }
    }
    /// The other unit.
    pub fn other(self) -> Unit {
        match self {
            Unit::C => Unit::F,
            Unit::F => Unit::C,
        }
    }
    /// A temperature in this unit, expressed in `to`.
    pub fn convert(self, value: f64, to: Unit) -> f64 {
        match (self, to) {
            (Unit::C, Unit::F) => value * 9.0 / 5.0 + 32.0,
            (Unit::F, Unit::C) => (value - 32.0) * 5.0 / 9.0,
            _ => value,
        }
    }
    /// A temperature *difference* (or a sigma) in this unit, expressed in `to`: no offset.
    pub fn convert_difference(self, value: f64, to: Unit) -> f64 {
        match (self, to) {
            (Unit::C, Unit::F) => value * 9.0 / 5.0,
            (Unit::F, Unit::C) => value * 5.0 / 9.0,
            _ => value,
        }
    }
}
