//! Units. A temperature converts by 9/5 and 32, a difference by 9/5 alone (NIST SP 811, B.8/B.9). Any other unit is a name that is shown and
//! converts to nothing else.
use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::sync::Mutex;

/// The unit printed on a dial.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Degrees Celsius.
    C,
    /// Degrees Fahrenheit.
    F,
    /// Any other, by the name under which it is shown.
    Other(UnitName),
}

/// The name of a unit that is no temperature, like "bar" or "rpm"; see [`Unit::named`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UnitName(&'static str);

/// Longest name, characters.
const LONGEST: usize = 12;
/// Different names that one run of the program takes.
const MOST: usize = 256;
/// The names met so far: each is kept once and for ever, so that a unit can be copied and compared like a number.
static NAMES: Mutex<Vec<&'static str>> = Mutex::new(Vec::new());

/// A name that is no unit's.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "\"{0}\" is no name for a unit: it must have 1 to {LONGEST} letters, signs like % ° / · or digits, and begin with none of these digits"
)]
pub struct UnitError(String);

fn kept(name: &str) -> Option<&'static str> {
    let mut names = NAMES.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    if let Some(known) = names.iter().find(|n| **n == name) {
        return Some(known);
    }
    if names.len() >= MOST {
        return None;
    }
    let kept: &'static str = Box::leak(name.to_string().into_boxed_str());
    names.push(kept);
    Some(kept)
}

impl Unit {
    /// The unit of a name as people write it: "C", "°F", "celsius", "degF" and the like are the temperatures, in any case; anything else is
    /// shown as it is: "bar", "rpm", "%".
    ///
    /// # Errors
    /// An empty name, one longer than 12 characters, one that begins with a digit or a sign of a number, or that holds anything but letters,
    /// digits and the signs of units.
    pub fn named(name: &str) -> Result<Self, UnitError> {
        let word = name.trim().to_lowercase();
        let degrees = ["degrees", "degree", "deg", "°"].into_iter().find_map(|d| word.strip_prefix(d)).unwrap_or(&word);
        match degrees.trim_start_matches(['.', '°', ' ']) {
            "c" | "celsius" | "℃" => Ok(Unit::C),
            "f" | "fahrenheit" | "℉" => Ok(Unit::F),
            _ => Self::printed(name.trim()),
        }
    }
    /// The unit of a code, any other by its name as it is printed.
    fn printed(name: &str) -> Result<Self, UnitError> {
        match name.trim_start_matches('°') {
            "C" | "c" => return Ok(Unit::C),
            "F" | "f" => return Ok(Unit::F),
            _ => {}
        }
        let sign = |c: char| "%°/·*²³µ\"'-^".contains(c);
        let starts = name.chars().next().is_some_and(|c| c.is_alphabetic() || "%°\"'".contains(c));
        let fits = starts && name.chars().count() <= LONGEST && name.chars().all(|c| c.is_alphanumeric() || sign(c));
        let other = if fits { kept(name) } else { None };
        other.map(|n| Unit::Other(UnitName(n))).ok_or_else(|| UnitError(name.chars().take(2 * LONGEST).collect()))
    }
    /// "°C", "°F", or the name.
    pub fn symbol(self) -> &'static str {
        match self {
            Unit::C => "°C",
            Unit::F => "°F",
            Unit::Other(name) => name.0,
        }
    }
    /// "C", "F", or the name, as on the command line, in files and in JSON.
    pub fn code(self) -> &'static str {
        match self {
            Unit::C => "C",
            Unit::F => "F",
            Unit::Other(name) => name.0,
        }
    }
    /// Whether it is a unit of temperature.
    pub fn is_temperature(self) -> bool {
        matches!(self, Unit::C | Unit::F)
    }
    /// The other unit of temperature; `None` where it is none.
    pub fn other(self) -> Option<Unit> {
        match self {
            Unit::C => Some(Unit::F),
            Unit::F => Some(Unit::C),
            Unit::Other(_) => None,
        }
    }
    /// Whether values convert from this unit into the other: both are the same, or both are temperatures.
    pub fn converts_to(self, to: Unit) -> bool {
        self == to || self.is_temperature() && to.is_temperature()
    }
    /// A value in this unit, expressed in `to`; NaN where one does not convert into the other.
    pub fn convert(self, value: f64, to: Unit) -> f64 {
        match (self, to) {
            (Unit::C, Unit::F) => value * 9.0 / 5.0 + 32.0,
            (Unit::F, Unit::C) => (value - 32.0) * 5.0 / 9.0,
            _ if self == to => value,
            _ => f64::NAN,
        }
    }
    /// A *difference* (or a sigma) in this unit, expressed in `to`: no offset. NaN as for [`Self::convert`].
    pub fn convert_difference(self, value: f64, to: Unit) -> f64 {
        match (self, to) {
            (Unit::C, Unit::F) => value * 9.0 / 5.0,
            (Unit::F, Unit::C) => value * 5.0 / 9.0,
            _ if self == to => value,
            _ => f64::NAN,
        }
    }
}

impl Serialize for Unit {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.code())
    }
}

impl<'de> Deserialize<'de> for Unit {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let name = String::deserialize(from)?;
        let unit = Unit::printed(&name).map_err(D::Error::custom)?;
        // a file states each unit in one spelling only
        if unit.code() == name { Ok(unit) } else { Err(D::Error::custom(format!("\"{name}\" is no spelling of a unit"))) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_units() {
        for (name, symbol) in
            [("C", "°C"), ("°f", "°F"), (" bar ", "bar"), ("%", "%"), ("kg/cm²", "kg/cm²"), ("rpm", "rpm"), ("V", "V"), ("\"Hg", "\"Hg")]
        {
            assert_eq!(Unit::named(name).unwrap().symbol(), symbol);
        }
        for name in ["celsius", "Celsius", "°C", "degC", "deg. C", "degrees Celsius", "c", "℃"] {
            assert_eq!(Unit::named(name), Ok(Unit::C), "{name}");
        }
        for name in ["fahrenheit", "Fahrenheit", "FAHRENHEIT", "°F", "degF", "° f", "deg fahrenheit"] {
            assert_eq!(Unit::named(name), Ok(Unit::F), "{name}");
        }
        assert!([" deg", "cc", "CF", "degree", "farad"].iter().all(|n| !Unit::named(n).unwrap().is_temperature()));
        assert_eq!(Unit::named("bar"), Unit::named("bar"));
        assert_ne!(Unit::named("bar"), Unit::named("Bar"));
        for wrong in ["", " ", "°", "7bar", "-bar", "a name too long", "b\u{1b}r", "ba r", "b\nr", "b\u{202e}r", "<b>", "a,b", "b;r"] {
            assert!(Unit::named(wrong).is_err() || wrong == "°", "{wrong:?}");
        }
    }

    #[test]
    fn only_temperatures_convert() {
        let bar = Unit::named("bar").unwrap();
        assert_eq!((bar.convert(2.5, bar), bar.other()), (2.5, None));
        assert!(bar.convert(2.5, Unit::C).is_nan() && Unit::F.convert_difference(1.0, bar).is_nan());
        assert!(!bar.converts_to(Unit::C) && Unit::C.converts_to(Unit::F) && bar.converts_to(bar));
        // NIST SP 811, B.8: 248 °F is 120 °C
        assert_eq!(Unit::F.convert(248.0, Unit::C), 120.0);
    }
}
