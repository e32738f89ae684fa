//! What is declared of the gauge, as typed.
use super::temperature::{any, mixed};
use super::typed_values::decimal;
use crate::dial::{Amount, Declared};
use crate::maths::units::Unit;
use clap::Args;

/// The options that declare what no photo can show; shared by `calibrate` and `refine`.
#[derive(Args, Clone, Debug, Default)]
pub struct DeclaredArgs {
    /// How far off the gauge may be, either way: 2%span, 3deg of needle, or a difference like 1.5C, 2.7F or 0.1bar
    #[arg(long, value_name = "LIMIT", allow_hyphen_values = true, value_parser = limit)]
    gauge_accuracy: Option<Limit>,
    /// How far from its place the needle may stick, either way; written like --gauge-accuracy
    #[arg(long, value_name = "LIMIT", allow_hyphen_values = true, value_parser = limit)]
    stiction: Option<Limit>,
    /// From which to which value the needle stands still, in the dial's unit, like 75..90; repeat for each such zone
    #[arg(long = "flat", value_name = "LOW..HIGH", allow_hyphen_values = true, value_parser = flat)]
    flats: Vec<(f64, f64)>,
}

/// A limit as typed: a temperature difference still in its own unit.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Limit {
    PercentOfSpan(f64),
    Degrees(f64),
    Difference(f64, Unit),
}

impl Limit {
    /// In the dial's unit; a difference converts by 9/5 alone.
    fn amount(self, unit: Unit) -> Result<Amount, String> {
        match self {
            Limit::PercentOfSpan(v) => Ok(Amount::PercentOfSpan(v)),
            Limit::Degrees(v) => Ok(Amount::Degrees(v)),
            Limit::Difference(_, from) if !from.converts_to(unit) => Err(mixed(from, unit)),
            Limit::Difference(v, from) => Ok(Amount::Value(from.convert_difference(v, unit))),
        }
    }
}

impl DeclaredArgs {
    /// Whether none of the options was given.
    pub fn is_empty(&self) -> bool {
        self.gauge_accuracy.is_none() && self.stiction.is_none() && self.flats.is_empty()
    }
    /// What is declared for a dial of this unit: what was typed, and `earlier` where nothing was.
    ///
    /// # Errors
    /// A limit in a unit that does not convert into the dial's.
    pub fn over(&self, earlier: &Declared, unit: Unit) -> Result<Declared, String> {
        let amount = |l: Option<Limit>| l.map(|l| l.amount(unit)).transpose();
        Ok(Declared {
            gauge_accuracy: amount(self.gauge_accuracy)?.or(earlier.gauge_accuracy),
            stiction: amount(self.stiction)?.or(earlier.stiction),
            flats: if self.flats.is_empty() { earlier.flats.clone() } else { self.flats.clone() },
        })
    }
}

fn limit(text: &str) -> Result<Limit, String> {
    let typed = text.trim().to_ascii_lowercase();
    let value = |ending: &str| typed.strip_suffix(ending).map(|v| decimal(v.trim_end_matches(['°', ' ']), "limit"));
    let found = None
        .or_else(|| Some((value("%span")?, Limit::PercentOfSpan as fn(f64) -> Limit)))
        .or_else(|| Some((value("deg")?, Limit::Degrees)))
        .or_else(|| Some((value("c")?, |v| Limit::Difference(v, Unit::C))))
        .or_else(|| Some((value("f")?, |v| Limit::Difference(v, Unit::F))));
    let (value, kind) = match found {
        Some((value, kind)) => (value?, kind(1.0)),
        None => {
            let own = any(text).map_err(|_| {
                "it ends in none of %span, deg, C, F and the dial's own unit; write it like 2%span, 3deg, 1.5C, 2.7F or 0.1bar".to_string()
            })?;
            (own.typed().0, Limit::Difference(1.0, own.typed().1))
        }
    };
    if value <= 0.0 {
        return Err(format!("{value} is not above 0, so it limits nothing; give how far off it may be at most, or leave the option out"));
    }
    Ok(match kind {
        Limit::PercentOfSpan(_) => Limit::PercentOfSpan(value),
        Limit::Degrees(_) => Limit::Degrees(value),
        Limit::Difference(_, unit) => Limit::Difference(value, unit),
    })
}

fn flat(text: &str) -> Result<(f64, f64), String> {
    let (low, high) = text.split_once("..").ok_or("there is no .. between the two values; write the zone like 75..90")?;
    let (low, high) = (decimal(low, "lower end")?, decimal(high, "upper end")?);
    if low < high { Ok((low, high)) } else { Err(format!("{low} is not below {high}, so the zone holds nothing; write it like 75..90")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_in_every_form() {
        assert_eq!(limit("2%span"), Ok(Limit::PercentOfSpan(2.0)));
        assert_eq!((limit("2,5deg"), flat("75,5..90")), (Ok(Limit::Degrees(2.5)), Ok((75.5, 90.0))));
        assert_eq!(limit(" 3DEG "), Ok(Limit::Degrees(3.0)));
        assert_eq!(limit("1.5C"), Ok(Limit::Difference(1.5, Unit::C)));
        assert_eq!(limit("1.5 °C"), limit("1.5C"), "as it is printed, and as other options take it");
        // NIST SP 811, B.9: a difference of 2.7 °F is 1.5 °C, without the 32
        assert_eq!(limit("2.7f").unwrap().amount(Unit::C), Ok(Amount::Value(1.5)));
        assert!(limit("0.1bar").unwrap().amount(Unit::C).is_err() && limit("2 K").unwrap().amount(Unit::C).is_err());
        // a decimal comma is taken everywhere on the command line
        assert_eq!(limit("1,5C"), limit("1.5C"));
        for wrong in ["2", "C", "degC", "-1C", "0deg", "nanC", "infF", "1e400C", "", "1,5,0C", "1.5,0C"] {
            assert!(limit(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn zones() {
        assert_eq!(flat("75..90"), Ok((75.0, 90.0)));
        assert_eq!(flat("-40.5..-20"), Ok((-40.5, -20.0)));
        for wrong in ["75", "90..75", "75..75", "75-90", "..", "75..nan", "75..inf"] {
            assert!(flat(wrong).is_err(), "{wrong}");
        }
    }
}
