//! The only rounding in the crate: numbers become text here and nowhere else.
//!
//! The rule is GUM 7.2.6: an uncertainty shows two significant digits, and the value is cut at the same decimal place
//! (y = 10.057 62 with u = 0.027 is shown as 10.058 ± 0.027). Both go to the nearest digit (an exact half to the even one);
//! the GUM asks for no more ("28.05 kHz should be rounded down to 28 kHz"). Bands have one more rule: they are rounded
//! outward, so that a shown band never promises more than the computed one. Nothing that was rounded is computed with again.

/// Beyond this many decimals, or as many places before the point, a power of ten is written.
const PLAIN_DECIMALS: i32 = 9;

/// A double holds no more significant digits than this.
const DIGITS: i32 = 15;

/// How far past a digit, in units of that digit, a number may lie and still count as that digit when rounding outward: 0.3 is
/// not exactly 0.3 in binary.
const OUTWARD_SLACK: f64 = 1e-9;

/// Decimals at which `sigma` shows two significant digits, counted after rounding (0.0996 is shown as 0.10: two decimals).
/// Negative for places before the point. `None` when it is zero or not finite.
pub fn decimals_for(sigma: f64) -> Option<i32> {
    exponent(sigma, 1).map(|e| 1 - e)
}

/// A number with a fixed number of decimals; negative decimals round to tens, hundreds and so on. No negative zero. A number
/// that is not finite becomes "no value".
pub fn fixed(value: f64, decimals: i32) -> String {
    if !value.is_finite() {
        return "no value".to_string();
    }
    let text = if decimals >= 0 {
        format!("{value:.*}", decimals.min(340) as usize)
    } else {
        let whole = format!("{:.0}", value / 10f64.powi(-decimals));
        let zeros = if whole.trim_start_matches('-') == "0" { 0 } else { decimals.unsigned_abs() as usize };
        whole + &"0".repeat(zeros)
    };
    without_negative_zero(text)
}

/// A number to so many significant digits (at least one), for numbers that have no uncertainty of their own to set their
/// digits. With a power of ten when it is very small or very large.
pub fn significant(value: f64, digits: u32) -> String {
    let digits = digits.clamp(1, DIGITS as u32) as i32;
    match exponent(value, digits - 1) {
        None if value == 0.0 => "0".to_string(),
        None => "no value".to_string(),
        Some(e) if plain(digits - 1 - e) => fixed(value, digits - 1 - e),
        Some(_) => format!("{value:.*e}", (digits - 1) as usize),
    }
}

/// A value with its standard uncertainty: "92.84 ± 0.63". The caller says what the uncertainty is (one sigma, or a half width).
///
/// An uncertainty of zero leaves the value as it is ("80 ± 0"); one that is infinite, negative or NaN is named in words; a value
/// that is not finite is "no value". Very large or small numbers share a power of ten: "(1.234 ± 0.056)e-12".
pub fn with_uncertainty(value: f64, sigma: f64) -> String {
    if !value.is_finite() {
        return "no value".to_string();
    }
    if sigma.is_nan() || sigma < 0.0 {
        return format!("{} (uncertainty unknown)", significant(value, 3));
    }
    if sigma.is_infinite() {
        return format!("{} (uncertainty unbounded)", significant(value, 3));
    }
    let Some(decimals) = decimals_for(sigma) else {
        return format!("{} ± 0", shortest(value));
    };
    let largest = exponent(value, 0).unwrap_or(i32::MIN).max(1 - decimals);
    if largest + decimals > DIGITS {
        // The uncertainty lies below the last digit that a double holds.
        return format!("{} ± {sigma:.1e}", shortest(value));
    }
    if plain(decimals) && largest <= DIGITS {
        return format!("{} ± {}", fixed(value, decimals), fixed(sigma, decimals));
    }
    let (v, s) = (shifted(value, largest), shifted(sigma, largest));
    format!("({} ± {})e{largest}", fixed(v, decimals + largest), fixed(s, decimals + largest))
}

/// A value as it stands beside its uncertainty in [`with_uncertainty`], without a power of ten.
pub fn beside(value: f64, sigma: f64) -> String {
    decimals_for(sigma).map_or_else(|| shortest(value), |decimals| fixed(value, decimals))
}

/// A value and half its band as a headline shows them, "5.6" and "0.1": one decimal at most, for a dash gauge deserves no more, and two
/// significant digits at most (GUM 7.2.6). The half is rounded up, and by what rounding took from the value, so that the band shown holds
/// the band computed. `None` where either is not finite, or the half is not above 0.
pub fn headline(value: f64, half: f64) -> Option<(String, String)> {
    if !value.is_finite() || !half.is_finite() || half <= 0.0 {
        return None;
    }
    let mut decimals = decimals_for(half)?.min(1);
    loop {
        let shown = shifted(shifted(value, -decimals).round(), decimals);
        let up = shifted((shifted(half + (value - shown).abs(), -decimals) - OUTWARD_SLACK).ceil(), decimals);
        // rounded up it may have a digit more
        match decimals_for(up)? {
            fewer if fewer < decimals => decimals = fewer,
            _ if plain(decimals) => return Some((fixed(shown, decimals), fixed(up, decimals))),
            _ => return None,
        }
    }
}

/// The same in one text, "5.6 ± 0.1"; where there is no such pair as [`with_uncertainty`].
pub fn headline_text(value: f64, half: f64) -> String {
    headline(value, half).map_or_else(|| with_uncertainty(value, half), |(v, h)| format!("{v} ± {h}"))
}

/// Decimals of a headline number with this half band.
pub fn headline_decimals(value: f64, half: f64) -> i32 {
    match headline(value, half) {
        Some((v, _)) if v.contains('.') => 1,
        Some(_) => 0,
        None => decimals_for(half).unwrap_or(1),
    }
}

/// A band from `low` to `high`, rounded outward at the decimals at which half its width shows two significant digits:
/// "91.6 to 94.1". One end may be infinite: "91.6 or more", "94.1 or less" (three significant digits).
pub fn band(low: f64, high: f64) -> Ends {
    let half = 0.5 * high - 0.5 * low;
    let decimals = if half.is_finite() { decimals_for(half) } else { None };
    let finite = if low.is_finite() { low } else { high };
    let fallback = exponent(finite, 2).map_or(0, |e| 2 - e);
    match decimals {
        None if half == 0.0 => Ends::Both(shortest(low), shortest(high)),
        None => band_at(low, high, fallback),
        Some(d) => band_at(low, high, d),
    }
}

/// A band rounded outward at the given decimals, for instance those of the value it belongs to.
///
/// "no band" when an end is NaN or `low` lies above `high`; "unbounded" when both ends are infinite.
pub fn band_at(low: f64, high: f64, decimals: i32) -> Ends {
    if low.is_nan() || high.is_nan() || low > high {
        return Ends::NoBand;
    }
    let (from, to) = (outward(low, decimals, f64::floor), outward(high, decimals, f64::ceil));
    match (low.is_finite(), high.is_finite()) {
        (true, true) => Ends::Both(from, to),
        (true, false) => Ends::OrMore(from),
        (false, true) => Ends::OrLess(to),
        (false, false) => Ends::Unbounded,
    }
}

/// The ends of a band as they are shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ends {
    /// "91.6 to 94.1"
    Both(String, String),
    /// "91.6 or more"
    OrMore(String),
    /// "94.1 or less"
    OrLess(String),
    /// "unbounded"
    Unbounded,
    /// "no band"
    NoBand,
}

impl Ends {
    /// The numbers as `shown` writes them, with `unit` after the last one; an unbounded band has no unit.
    pub fn with_unit(&self, shown: impl Fn(&str) -> String, unit: &str) -> String {
        match self {
            Ends::Both(from, to) => format!("{} to {} {unit}", shown(from), shown(to)),
            Ends::OrMore(from) => format!("{} {unit} or more", shown(from)),
            Ends::OrLess(to) => format!("{} {unit} or less", shown(to)),
            Ends::Unbounded => self.to_string(),
            Ends::NoBand => format!("{self} {unit}"),
        }
    }
}

impl std::fmt::Display for Ends {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        match self {
            Ends::Both(from, to) => write!(f, "{from} to {to}"),
            Ends::OrMore(from) => write!(f, "{from} or more"),
            Ends::OrLess(to) => write!(f, "{to} or less"),
            Ends::Unbounded => f.write_str("unbounded"),
            Ends::NoBand => f.write_str("no band"),
        }
    }
}

fn outward(value: f64, decimals: i32, away: fn(f64) -> f64) -> String {
    let scaled = shifted(value, -decimals);
    if !plain(decimals) || scaled.abs() >= 1e15 {
        // Every digit counts here: the shortest text that reads back as the same number.
        return shortest(value);
    }
    let nearest = scaled.round();
    let kept = if (scaled - nearest).abs() <= OUTWARD_SLACK { nearest } else { away(scaled) };
    fixed(shifted(kept, decimals), decimals)
}

/// Decimal exponent of a number after rounding to `decimals` + 1 significant digits. `None` for zero and for not finite.
fn exponent(value: f64, decimals: i32) -> Option<i32> {
    if value == 0.0 || !value.is_finite() {
        return None;
    }
    let text = format!("{value:.*e}", decimals.max(0) as usize);
    text.split_once('e').and_then(|(_, e)| e.parse().ok())
}

fn plain(decimals: i32) -> bool {
    (-PLAIN_DECIMALS..=PLAIN_DECIMALS).contains(&decimals)
}

/// value / 10^exponent, in two parts where the power itself would leave the range.
fn shifted(value: f64, exponent: i32) -> f64 {
    let half = exponent / 2;
    let by = |v: f64, e: i32| if e >= 0 { v / 10f64.powi(e) } else { v * 10f64.powi(-e) };
    if exponent.abs() > 250 { by(by(value, half), exponent - half) } else { by(value, exponent) }
}

/// The shortest text of a number, at most fifteen significant digits (0.1 + 0.2 is shown as 0.3).
fn shortest(value: f64) -> String {
    let rounded: f64 = format!("{value:.*e}", (DIGITS - 1) as usize).parse().unwrap_or(value);
    let size = exponent(value, 0).unwrap_or(0);
    without_negative_zero(if size.abs() > DIGITS { format!("{rounded:e}") } else { format!("{rounded}") })
}

fn without_negative_zero(text: String) -> String {
    match text.strip_prefix('-') {
        Some(rest) if !rest.bytes().any(|b| (b'1'..=b'9').contains(&b)) => rest.to_string(),
        _ => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn band(low: f64, high: f64) -> String {
        super::band(low, high).to_string()
    }

    fn band_at(low: f64, high: f64, decimals: i32) -> String {
        super::band_at(low, high, decimals).to_string()
    }

    #[test]
    fn gum_7_2_6() {
        assert_eq!(with_uncertainty(10.05762, 0.027), "10.058 ± 0.027");
        assert_eq!(fixed(28.05, decimals_for(28.05).unwrap()), "28");
        assert_eq!(with_uncertainty(92.8437, 0.6312), "92.84 ± 0.63");
    }

    #[test]
    fn headlines_have_one_decimal_and_hold_the_band() {
        assert_eq!(headline_text(5.609, 0.022), "5.6 ± 0.1");
        assert_eq!(headline_text(92.8437, 0.6312), "92.8 ± 0.7");
        assert_eq!(headline_text(92.8437, 9.96), "93 ± 11");
        assert_eq!(headline_text(28.0, 9.9), "28.0 ± 9.9");
        assert_eq!(headline_text(1234.0, 123.0), "1230 ± 130");
        assert_eq!(headline_text(80.0, 0.0), "80 ± 0");
        for k in 0..2000 {
            let (value, half) = (0.737 * f64::from(k) - 200.0, 0.003 * 1.005f64.powi(k));
            let (v, h) = headline(value, half).unwrap();
            let (v, h): (f64, f64) = (v.parse().unwrap(), h.parse().unwrap());
            assert!(v - h <= value - half + 1e-9 && value + half <= v + h + 1e-9, "{value} ± {half}: {v} ± {h}");
        }
    }

    #[test]
    fn the_digits_are_counted_after_rounding() {
        assert_eq!(with_uncertainty(1.23456, 0.0996), "1.23 ± 0.10");
        assert_eq!(with_uncertainty(92.8437, 9.96), "93 ± 10");
        assert_eq!(with_uncertainty(92.8437, 0.0995), "92.84 ± 0.10");
        assert_eq!(with_uncertainty(12345.6, 1234.5), "12300 ± 1200");
        assert_eq!(with_uncertainty(44.0, 1234.5), "0 ± 1200");
        assert_eq!(with_uncertainty(-0.003, 1.2), "0.0 ± 1.2");
    }

    #[test]
    fn odd_numbers_are_words() {
        assert_eq!(with_uncertainty(92.8437, 0.0), "92.8437 ± 0");
        assert_eq!(with_uncertainty(0.1 + 0.2, 0.0), "0.3 ± 0");
        assert_eq!(with_uncertainty(-0.0, 0.0), "0 ± 0");
        assert_eq!(with_uncertainty(92.8437, f64::NAN), "92.8 (uncertainty unknown)");
        assert_eq!(with_uncertainty(92.8437, -1.0), "92.8 (uncertainty unknown)");
        assert_eq!(with_uncertainty(92.8437, f64::INFINITY), "92.8 (uncertainty unbounded)");
        assert_eq!(with_uncertainty(f64::NAN, 1.0), "no value");
        assert_eq!(with_uncertainty(f64::NEG_INFINITY, 1.0), "no value");
        assert_eq!(
            (fixed(f64::NAN, 2), fixed(-0.0001, 2), fixed(f64::INFINITY, -3)),
            ("no value".into(), "0.00".into(), "no value".into())
        );
        assert_eq!(
            (significant(0.0, 3), significant(f64::NAN, 3), significant(0.0012345, 3)),
            ("0".into(), "no value".into(), "0.00123".into())
        );
    }

    #[test]
    fn tiny_and_huge() {
        assert_eq!(with_uncertainty(1.234e-12, 5.6e-14), "(1.234 ± 0.056)e-12");
        assert_eq!(with_uncertainty(1.234e200, 5.6e199), "(1.23 ± 0.56)e200");
        assert_eq!(with_uncertainty(3.0, 5.6e12), "(0.0 ± 5.6)e12");
        assert_eq!(with_uncertainty(92.8437, 1e-17), "92.8437 ± 1.0e-17");
        assert_eq!(with_uncertainty(0.0, 5e-324), "(0.0 ± 4.9)e-324");
        assert_eq!(significant(6.02214e23, 3), "6.02e23");
        assert_eq!(significant(f64::MAX, 2), "1.8e308");
    }

    #[test]
    fn bands_go_outward() {
        assert_eq!(band(91.64, 94.01), "91.6 to 94.1");
        assert_eq!(band(-3.12, -0.98), "-3.2 to -0.9");
        // Decimal fractions that have no exact binary form stay what they are.
        assert_eq!(band_at(0.3, 1.1, 1), "0.3 to 1.1");
        assert_eq!(band_at(91.6000001, 94.0999999, 1), "91.6 to 94.1");
        assert_eq!(band_at(1234.0, 5678.0, -2), "1200 to 5700");
        assert_eq!(band(-0.04, 0.04), "-0.040 to 0.040");
        assert_eq!(band_at(-0.04, -0.01, 0), "-1 to 0");
    }

    #[test]
    fn open_and_empty_bands() {
        assert_eq!(band(91.64, f64::INFINITY), "91.6 or more");
        assert_eq!(band(f64::NEG_INFINITY, 94.01), "94.1 or less");
        assert_eq!(band(f64::NEG_INFINITY, f64::INFINITY), "unbounded");
        assert_eq!(band(f64::NAN, 3.0), "no band");
        assert_eq!(band(5.0, 3.0), "no band");
        assert_eq!(band(80.0, 80.0), "80 to 80");
    }
}
