//! Rounded text keeps its promises for any number (rule: GUM 7.2.6; worked examples stand beside the code).
use needleband::maths::rounding::{self, decimals_for, fixed, significant, with_uncertainty};
use proptest::prelude::*;

fn band(low: f64, high: f64) -> String {
    rounding::band(low, high).to_string()
}

fn band_at(low: f64, high: f64, decimals: i32) -> String {
    rounding::band_at(low, high, decimals).to_string()
}

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![4 => -500.0..500.0_f64, 1 => prop::num::f64::ANY, 1 => -1e-6..1e-6_f64, 1 => -1e12..1e12_f64]
}

/// The two numbers of a text "v ± s" or "(v ± s)e9".
fn parse(text: &str) -> (f64, f64) {
    let (body, power) = text.strip_prefix('(').map_or((text, ""), |t| t.split_once(")e").unwrap());
    let number = |t: &str| if power.is_empty() { t.parse::<f64>().unwrap() } else { format!("{t}e{power}").parse().unwrap() };
    let (v, s) = body.split_once(" ± ").unwrap();
    (number(v), number(s))
}

proptest! {
    #![proptest_config(super::fixed_seed())]

    /// The shown value lies within half a unit of the uncertainty's second digit (5 % of it), the shown uncertainty within 5 %.
    #[test]
    fn text_is_near_the_numbers(value in -500.0..500.0_f64, power in -14.0..12.0_f64) {
        let sigma = 10f64.powf(power);
        let (v, s) = parse(&with_uncertainty(value, sigma));
        prop_assert!((s - sigma).abs() <= 0.0501 * sigma, "{s} {sigma}");
        prop_assert!((v - value).abs() <= 0.0501 * sigma + 1e-12, "{v} {value} {sigma}");
    }

    /// A shown band holds the computed one.
    #[test]
    fn band_holds_the_band(middle in -500.0..500.0_f64, power in -6.0..3.0_f64, decimals in -2..6_i32) {
        let half = 10f64.powf(power);
        let (low, high) = (middle - half, middle + half);
        for text in [band(low, high), band_at(low, high, decimals)] {
            let (a, b) = text.split_once(" to ").unwrap();
            let (a, b): (f64, f64) = (a.parse().unwrap(), b.parse().unwrap());
            // The slack for decimal fractions is 1e-9 of the last digit.
            let slack = 1e-9 * half.max(10f64.powi(-decimals));
            prop_assert!(a <= low + slack && b >= high - slack, "{text}: {low} {high}");
        }
        let (a, b) = band(low, high).split_once(" to ").map(|(a, b)| (a.parse::<f64>().unwrap(), b.parse::<f64>().unwrap())).unwrap();
        prop_assert!(b - a <= 2.0 * half * 1.11, "wider than a digit at each end");
    }

    /// Nothing panics, nothing says NaN, inf or minus zero.
    #[test]
    fn any_numbers_give_plain_text(a in any_number(), b in any_number(), decimals in -400..400_i32, digits in 0..30_u32) {
        let texts = [with_uncertainty(a, b), band(a, b), band_at(a, b, decimals), fixed(a, decimals), significant(a, digits)];
        for text in texts {
            prop_assert!(!text.is_empty() && !text.contains("NaN") && !text.contains("inf"), "{text}");
            let zero = text.trim_start_matches("-").trim_start_matches(['0', '.']).is_empty();
            prop_assert!(!(text.starts_with('-') && zero), "{text}");
        }
        prop_assert!(decimals_for(a).is_none_or(|d| (-308..=325).contains(&d)));
    }
}
