//! Numbers and standing sentences as people read them. "±" reaches the farther end of the 95 % band everywhere (half of it where the
//! band is even), and the digits follow it.
use crate::compare::Comparison;
use crate::diagnostics::Refusal;
use crate::dial::{Amount, Dial};
use crate::maths::estimate::Estimate;
use crate::maths::rounding::{Ends, band, band_at, decimals_for, fixed, headline, headline_decimals, with_uncertainty};
use crate::maths::source::Source;
use crate::maths::units::Unit;
use crate::reading::{Outcome, Why};

/// The caution that ends every human text.
pub const CAUTION: &str = "A passenger or a mount takes the photo. A dash gauge is no safety instrument.";
/// The short caution for pictures.
pub const SHORT_CAUTION: &str = "A dash gauge is no safety instrument.";

/// A number with its 95 % band in one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Banded {
    /// The number.
    pub value: f64,
    /// Lower end of the band.
    pub low: f64,
    /// Upper end of the band.
    pub high: f64,
    /// Unit of the three.
    pub unit: Unit,
    /// In a flat zone: no value in the band is likelier, so the band is shown in place of the number.
    pub flat: bool,
}

impl Banded {
    /// A temperature in the unit it is given in.
    pub fn of(temperature: &Estimate, unit: Unit) -> Self {
        let (low, high) = temperature.band();
        Self { value: temperature.value(), low, high, unit, flat: temperature.interval().is_some() }
    }
    /// The same in the other unit of temperature; `None` for what is no temperature.
    pub fn other(self) -> Option<Self> {
        let unit = self.unit.other()?;
        let to = |v: f64| self.unit.convert(v, unit);
        Some(Self { value: to(self.value), low: to(self.low), high: to(self.high), unit, flat: self.flat })
    }
    /// The headline in the other unit; empty for what is no temperature.
    pub fn other_headline(self) -> String {
        self.other().map_or(String::new(), Self::headline)
    }
    /// Own unit and other: "92.84 ± 0.62 °C (199.1 ± 1.1 °F)"; own alone for what is no temperature.
    pub fn both(self) -> String {
        also(&self.plus_minus(), self.other().map(Self::plus_minus))
    }
    /// Half the band, its longer half.
    pub fn half(self) -> f64 {
        (self.value - self.low).max(self.high - self.value)
    }
    /// Decimals at which half the band shows two significant digits; one where there is no band.
    fn digits(self) -> i32 {
        decimals_for(self.half()).unwrap_or(1)
    }
    /// "92.84"
    pub fn value_text(self) -> String {
        number(self.value, self.digits())
    }
    /// "0.62"
    pub fn half_text(self) -> String {
        number(self.half(), self.digits())
    }
    /// What is shown large, and small beside it: "92.8 °C" and " ± 0.7"; in a flat zone "75 to 90 °C" and nothing.
    pub fn head(self) -> (String, String) {
        let unit = self.unit.symbol();
        if self.is_range() {
            return (self.rough_range(), String::new());
        }
        let (value, half) =
            headline(self.value, self.half()).unwrap_or_else(|| (fixed(self.value, self.digits()), fixed(self.half(), self.digits())));
        (format!("{} {unit}", typeset(&value)), format!(" ± {half}"))
    }
    /// The same as one text: "92.8 ± 0.7 °C"; in a flat zone "75 to 90 °C".
    pub fn headline(self) -> String {
        if self.is_range() {
            return self.rough_range();
        }
        let (value, half) = self.head();
        let unit = self.unit.symbol();
        format!("{}{half} {unit}", value.trim_end_matches(unit).trim_end())
    }
    /// The band with the digits of a headline, rounded outward: "92.2 to 93.5 °C".
    pub fn rough_range(self) -> String {
        let digits = if self.is_range() { self.digits().min(1) } else { headline_decimals(self.value, self.half()) };
        with_unit(&band_at(self.low, self.high, digits), self.unit)
    }
    /// Whether the band is shown in place of the number: in a flat zone, and where only a limit is known.
    pub fn is_range(self) -> bool {
        self.flat || self.low.is_infinite() || self.high.is_infinite()
    }
    /// "75 to 90 °C", "46.4 °C or less"
    pub fn range(self) -> String {
        with_unit(&band_at(self.low, self.high, self.digits()), self.unit)
    }
    /// "92.84 ± 0.62 °C"; in a flat zone "75 to 90 °C"
    pub fn plus_minus(self) -> String {
        if self.is_range() {
            return self.range();
        }
        format!("{} {}", typeset(&with_uncertainty(self.value, self.half())), self.unit.symbol())
    }
    /// "92.22 to 93.46", rounded outward
    pub fn band_text(self) -> String {
        typeset(&band_at(self.low, self.high, self.digits()).to_string())
    }
}

/// What is said where a temperature, or what else the dial shows, is lacking.
pub fn none_of(unit: Unit) -> &'static str {
    if unit.is_temperature() { "no temperature" } else { "no value" }
}

/// How near counts as there: "1 °C" for temperatures.
pub fn nearness(near: f64, unit: Unit) -> String {
    if unit.is_temperature() { "1 °C".to_string() } else { format!("{} {}", sigma_text(near), unit.symbol()) }
}

/// The same in another unit in brackets, where there is one: "5 °C (9 °F)".
pub fn also(own: &str, other: Option<String>) -> String {
    other.map_or_else(|| own.to_string(), |o| format!("{own} ({o})"))
}

/// A number to so many decimals, with a real minus sign; "no value" when it is not finite.
pub fn number(value: f64, decimals: i32) -> String {
    typeset(&fixed(value, decimals))
}

/// A standard uncertainty or a scatter: two significant digits.
pub fn sigma_text(sigma: f64) -> String {
    number(sigma, decimals_for(sigma).unwrap_or(1))
}

/// Numbers with a real minus sign.
pub fn typeset(numbers: &str) -> String {
    let mut before = ' ';
    let mut rest = numbers.chars().peekable();
    let mut out = String::with_capacity(numbers.len());
    while let Some(c) = rest.next() {
        // a hyphen in a name, an option or a date is none
        let minus = c == '-' && !before.is_alphanumeric() && rest.peek().is_some_and(char::is_ascii_digit);
        out.push(if minus { '−' } else { c });
        before = c;
    }
    out
}

/// A number of the scale as it may be printed on the dial: no more decimals than it has.
pub fn plain(value: f64) -> String {
    let text = fixed(value, 3);
    typeset(if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text })
}

/// A declared limit: "±2 % of the span (±1.6 °C)", "±3° of needle", "±1.5 °C".
pub fn amount(amount: Amount, dial: &Dial) -> String {
    let (low, high) = dial.span();
    let unit = dial.unit.symbol();
    match amount {
        Amount::PercentOfSpan(p) => format!("±{} % of the span (±{} {unit})", plain(p), plain(amount.as_value(high - low, f64::NAN))),
        Amount::Degrees(d) => format!("±{}° of needle", plain(d)),
        Amount::Value(v) => format!("±{} {unit}", plain(v)),
    }
}

/// Whether a temperature or a change counts the gauge's own accuracy.
pub fn counts_gauge(estimate: &Estimate) -> bool {
    estimate.terms().keys().any(Source::is_gauge)
}

/// "95 % band of the change −8.4 to −7.1 °C (−15.1 to −12.9 °F)"
pub fn change_band(comparison: &Comparison) -> String {
    let (unit, other) = (comparison.unit, comparison.unit.other());
    let ends = |u: Unit| {
        let to = |v: f64| unit.convert_difference(v, u);
        with_unit(&band(to(comparison.delta.band().0), to(comparison.delta.band().1)), u)
    };
    match comparison.delta.band().0.is_infinite() && comparison.delta.band().1.is_infinite() {
        true => "95 % band of the change: unbounded both ways".to_string(),
        false => format!("95 % band of the change {}", also(&ends(unit), other.map(ends))),
    }
}

/// The same with the digits of a headline: "95 % band of the change −5.7 to −5.5 °C (−10.2 to −10.0 °F)"
pub fn rough_change_band(comparison: &Comparison) -> String {
    let (unit, other) = (comparison.unit, comparison.unit.other());
    let ends = |u: Unit| {
        let to = |v: f64| unit.convert_difference(v, u);
        let (low, high) = (to(comparison.delta.band().0), to(comparison.delta.band().1));
        let digits = decimals_for(0.5 * (high - low)).unwrap_or(1).min(1);
        with_unit(&band_at(low, high, digits), u)
    };
    match comparison.delta.band().0.is_infinite() && comparison.delta.band().1.is_infinite() {
        true => change_band(comparison),
        false => format!("95 % band of the change {}", also(&ends(unit), other.map(ends))),
    }
}

/// A band with its unit: "75 to 90 °C"; before the words where one end is open: "46.4 °C or less".
pub fn with_unit(band: &Ends, unit: Unit) -> String {
    band.with_unit(typeset, unit.symbol())
}

/// With a capital at its start.
pub fn sentence_case(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |c| c.to_uppercase().chain(letters).collect())
}

/// "C", "F" or another unit's name, as on the command line and in JSON.
pub fn unit_letter(unit: Unit) -> &'static str {
    unit.code()
}

/// A refusal's sentence with what was seen in the photo. For a file that could not be decoded, what was seen is all of it.
pub fn refusal_sentence(refusal: Refusal, seen: &str) -> String {
    let seen = seen.trim();
    match refusal {
        _ if seen.is_empty() => refusal.sentence().to_string(),
        Refusal::NotOpened | Refusal::Undecodable | Refusal::TooLarge | Refusal::LeftOut => seen.to_string(),
        _ if seen.ends_with('.') => format!("{} {seen}", refusal.sentence()),
        _ => format!("{} ({seen})", refusal.sentence()),
    }
}

/// One sentence on what a photo gave.
pub fn outcome_sentence(dial: &Dial, outcome: &Outcome) -> String {
    let (low, high) = dial.span();
    let end = |v: f64| format!("{} {}", plain(v), dial.unit.symbol());
    match outcome {
        Outcome::Reading(reading) => Banded::of(&reading.temperature, reading.unit).both(),
        Outcome::BelowScale => format!("The needle stands below the first mark ({}): no number can be read.", end(low)),
        Outcome::AboveScale => format!("The needle stands above the last mark ({}): no number can be read.", end(high)),
        Outcome::Refused(refusal, seen) => refusal_sentence(*refusal, seen),
    }
}

/// What a photo gave, in a few words: "90.945 ± 0.051 °C", "below the scale", "not read (no_detail)".
pub fn outcome_short(outcome: &Outcome) -> String {
    match outcome {
        Outcome::Reading(r) => Banded::of(&r.temperature, r.unit).plus_minus(),
        Outcome::BelowScale => "below the scale".to_string(),
        Outcome::AboveScale => "above the scale".to_string(),
        Outcome::Refused(why, _) => format!("not read ({})", why.code().replace('_', " ")),
    }
}

/// Why a photo does not count.
pub fn why_left_out(why: &Why) -> String {
    match why {
        Why::BelowScale => "the needle stands below the first mark".to_string(),
        Why::AboveScale => "the needle stands above the last mark".to_string(),
        Why::Refused(refusal, seen) => format!("{} {}", refusal_sentence(*refusal, seen), refusal.advice()),
        Why::NoTime => "read, but nothing says when it was taken; give --every or --times".to_string(),
        Why::FlatZone => "the needle stands in a flat zone of the dial, so it gives a range and no number".to_string(),
        Why::Repeated => "the same file as an earlier one; counted once".to_string(),
        Why::NotFinite => "its number or band is not finite, so nothing can be counted with it".to_string(),
    }
}
