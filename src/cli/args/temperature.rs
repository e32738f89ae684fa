//! Temperatures as typed, with their unit.
use super::super::failure::Failure;
use super::typed_values::decimal;
use crate::compare::{Ambient, Slope};
use crate::maths::units::Unit;

/// A temperature, or a difference of two, in its own unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Degrees {
    value: f64,
    unit: Unit,
}

impl Degrees {
    /// As it was typed.
    pub fn typed(self) -> (f64, Unit) {
        (self.value, self.unit)
    }
    /// As a value in the dial's unit.
    ///
    /// # Errors
    /// A unit that does not convert into the dial's.
    pub fn at(self, unit: Unit) -> Result<f64, Failure> {
        self.fits(unit).map(|()| self.unit.convert(self.value, unit))
    }
    /// As a difference in the dial's unit: 9/5 alone.
    ///
    /// # Errors
    /// As [`Self::at`].
    pub fn difference(self, unit: Unit) -> Result<f64, Failure> {
        self.fits(unit).map(|()| self.unit.convert_difference(self.value, unit))
    }
    fn fits(self, unit: Unit) -> Result<(), Failure> {
        match self.unit.converts_to(unit) {
            true => Ok(()),
            false => Err(Failure::trouble(mixed(self.unit, unit))),
        }
    }
}

/// That a number is in another unit than the dial.
pub fn mixed(given: Unit, dial: Unit) -> String {
    let (g, d) = (given.symbol(), dial.symbol());
    format!("A value in {g} was given, but the dial shows {d}, and one does not convert into the other. Give it in {d}.")
}

/// A value with the name of any unit: "0.3bar", "250 rpm", "5C".
fn measure(text: &str) -> Result<Degrees, String> {
    let typed = text.trim();
    let starts = typed
        .char_indices()
        .map(|(i, _)| i)
        .skip(1)
        .find(|i| !typed[*i..].starts_with(|c: char| c.is_ascii_digit() || "+-.,eE".contains(c)));
    let (digits, name) = typed.split_at(starts.unwrap_or(typed.len()));
    if name.trim().is_empty() {
        return Err(format!("\"{text}\" names no unit; write it like 5C, 9F or 0.3bar"));
    }
    let unit = Unit::named(name).map_err(|e| e.to_string())?;
    Ok(Degrees { value: decimal(digits, "value")?, unit })
}

/// A value in any unit; a temperature not below absolute zero.
pub fn any(text: &str) -> Result<Degrees, String> {
    let m = measure(text)?;
    if m.unit.is_temperature() { temperature(text) } else { Ok(m) }
}

/// The unit of a dial by its name.
pub fn unit(text: &str) -> Result<Unit, String> {
    Unit::named(text).map_err(|e| format!("{e}; write C, F, or what is printed on the dial, like bar or rpm"))
}

/// "120C", "248 °F".
pub fn temperature(text: &str) -> Result<Degrees, String> {
    let typed = text.trim();
    let unit = match typed.chars().last().map(|c| c.to_ascii_uppercase()) {
        Some('C') => Unit::C,
        Some('F') => Unit::F,
        _ => return Err(format!("\"{text}\" ends in neither C nor F, so its unit is not known; write it like 120C or 248F")),
    };
    let digits = typed.get(..typed.len() - 1).unwrap_or_default().trim_end_matches(['°', ' ']);
    let value = decimal(digits, "temperature")?;
    if unit.convert(value, Unit::C) < -273.15 {
        return Err(format!("{text} lies below absolute zero, so it is no temperature; write it like 120C or 248F"));
    }
    Ok(Degrees { value, unit })
}

/// A difference above 0, like "5C".
pub fn difference(text: &str) -> Result<Degrees, String> {
    match any(text)? {
        d if d.value > 0.0 => Ok(d),
        _ => Err(format!("{text} is not above 0; give the size of the difference, like 5C or 9F")),
    }
}

/// A scatter, 0 or more, like "0.8C".
pub fn spread(text: &str) -> Result<Degrees, String> {
    match any(text)? {
        d if d.value >= 0.0 => Ok(d),
        _ => Err(format!("{text} is below 0, which no scatter is; write it like 0.8C or 1.5F")),
    }
}

/// What keyboards without ± write for it.
pub(super) fn plus_minus(text: &str) -> String {
    text.trim().replace("+/-", "±").replace("+-", "±")
}

/// "24C±2", "24C+-2", "24±2C", "75F +/- 4"; without limits "24C", and the usual ones are assumed.
pub fn ambient(text: &str) -> Result<Ambient, String> {
    let plain = plus_minus(text);
    let Some((first, second)) = plain.split_once('±') else {
        let t = temperature(&plain)?;
        let half = Unit::C.convert_difference(Ambient::ASSUMED, t.unit);
        return Ok(Ambient { value: t.value, half, unit: t.unit, assumed: true });
    };
    let letter = |s: &str| s.trim().chars().last().filter(|c| matches!(c.to_ascii_uppercase(), 'C' | 'F')).map(|c| c.to_ascii_uppercase());
    let unit = match (letter(first), letter(second)) {
        (Some(a), Some(b)) if a != b => return Err(format!("\"{text}\" names two units; write it like 24C±2 or 75F±4")),
        (Some(a), _) | (None, Some(a)) => a,
        _ => return Err(format!("\"{text}\" names no unit; write it like 24C±2 or 75F±4")),
    };
    let with_unit = |s: &str| if letter(s).is_some() { s.trim().to_string() } else { format!("{}{unit}", s.trim()) };
    let value = temperature(&with_unit(first))?;
    let half = temperature(&with_unit(second)).map_err(|_| format!("\"{second}\" is no limit for a temperature; write it like 24C±2"))?;
    if half.value < 0.0 {
        return Err(format!("±{} is below 0, which no limit is; write it like 24C±2", second.trim()));
    }
    Ok(Ambient { value: value.value, half: half.value, unit: value.unit, assumed: false })
}

/// "0.6", or from where to where, "0.3..0.8".
pub fn slope(text: &str) -> Result<Slope, String> {
    let (low, high) = match text.split_once("..") {
        Some((low, high)) => (decimal(low, "lower end of the slope")?, decimal(high, "upper end of the slope")?),
        None => (decimal(text, "slope")?, decimal(text, "slope")?),
    };
    if low > high {
        return Err(format!("{low} is above {high}, so the range holds nothing; write it like 0.3..0.8"));
    }
    if low < 0.0 || high > 1.0 {
        return Err(format!(
            "{text} reaches outside 0..1: at 0 a thermostat holds the temperature whatever the weather, at 1 the cooler is at its limit and passes all of \
             it on. Give a number or a range between them, like 0.6 or 0.3..0.8"
        ));
    }
    Ok(Slope { low, high })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperatures_keep_their_unit() {
        // NIST SP 811, B.8 and B.9: 248 °F is 120 °C; a difference of 9 °F is 5 °C.
        assert_eq!(temperature("248F").unwrap().at(Unit::C), Ok(120.0));
        assert_eq!(temperature(" -40 °c").unwrap().at(Unit::F), Ok(-40.0));
        assert_eq!(temperature("12,5C"), temperature("12.5C"));
        assert_eq!(difference("9f").unwrap().difference(Unit::C), Ok(5.0));
        for wrong in ["", "120", "C", "hotC", "nanC", "1e999C", "-300C", "1,2,5C", "1,234.5C", "5K", "é"] {
            assert!(temperature(wrong).is_err(), "{wrong}");
        }
        let bar = unit("bar").unwrap();
        assert_eq!(difference("0,3 bar").unwrap().difference(bar), Ok(0.3));
        assert!(difference("0.3bar").unwrap().difference(Unit::C).is_err() && difference("5C").unwrap().at(bar).is_err());
        assert!(difference("5").is_err() && difference("bar").is_err() && any("-300C").is_err() && unit("7bar").is_err());
        assert!(difference("0C").is_err() && difference("-5C").is_err() && spread("-1C").is_err() && spread("0C").is_ok());
    }

    #[test]
    fn ambient_temperatures_in_every_form() {
        let of = |value, half, unit| Ok(Ambient { value, half, unit, assumed: false });
        for text in ["24C±2", "24C+-2", "24C+/-2", "24±2C", "24C ± 2C", "24 °C ±2 °C"] {
            assert_eq!(ambient(text), of(24.0, 2.0, Unit::C), "{text}");
        }
        assert_eq!(ambient("75F±4"), of(75.0, 4.0, Unit::F));
        assert_eq!(ambient("-5C±0"), of(-5.0, 0.0, Unit::C));
        assert_eq!(ambient("24C"), Ok(Ambient { value: 24.0, half: 2.0, unit: Unit::C, assumed: true }));
        assert_eq!(ambient("68F").unwrap().half, 3.6);
        for wrong in ["24", "24±2", "24C±2F", "C±2", "24C±", "24C±x", "24C±-2", "24C±2±3", "warm", "±2C"] {
            assert!(ambient(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn slopes() {
        assert_eq!(slope("0.6"), Ok(Slope { low: 0.6, high: 0.6 }));
        assert_eq!(slope("0.3..0.8"), Ok(Slope { low: 0.3, high: 0.8 }));
        for wrong in ["", "0.8..0.3", "-0.1", "1.1", "0..2", "x", "0.3-0.8", "nan"] {
            assert!(slope(wrong).is_err(), "{wrong}");
        }
    }
}
