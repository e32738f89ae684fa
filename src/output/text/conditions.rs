//! What a comparison says of weather, limits and what its band covers.
use crate::compare::{Adjusted, Comparison, Side};
use crate::maths::margin::Margin;
use crate::maths::rounding::{band, significant};
use crate::output::limit::{LIMIT_CAUTION, limit_sentence};
use crate::output::words::{Banded, plain, sentence_case, typeset, with_unit};

/// Ambient temperatures, rise over ambient, the change with the weather taken out.
pub(super) fn ambient(c: &Comparison) -> String {
    let Some(a) = &c.adjusted else { return String::new() };
    let unit = c.unit.symbol();
    let air = |s: &Side| s.ambient.map_or(String::new(), |a| format!("{} ± {}", plain_to(a.value), plain_to(a.half)));
    let rise = |s: &Side| {
        s.rise.as_ref().map_or(String::new(), |r| {
            let own = Banded::of(r, c.unit);
            own.headline()
        })
    };
    format!(
        "\nAmbient {} {unit} before and {} {unit} after (± as given: limits). Rise over ambient {} before and {} after.\n{}",
        air(&c.before),
        air(&c.after),
        rise(&c.before),
        rise(&c.after),
        adjusted(a, c)
    )
}

fn adjusted(a: &Adjusted, c: &Comparison) -> String {
    let unit = c.unit.symbol();
    let ends = with_unit(&band(a.band.0, a.band.1), c.unit);
    let number = |v: f64| typeset(&significant(v, 3));
    let range = if a.slope.low < a.slope.high {
        format!(
            "The change is {} {unit} if the temperature followed the ambient one by {} degrees a degree and {} {unit} if by {}; \
             nothing in the photos tells which, so the band holds for all between.",
            number(a.ends.0),
            plain(a.slope.low),
            number(a.ends.1),
            plain(a.slope.high)
        )
    } else {
        format!("Taken with {} degrees of temperature a degree of ambient, as given.", plain(a.slope.low))
    };
    let range = if (a.slope.low, a.slope.high) == (0.0, 1.0) {
        format!("{range} (0: a thermostat in control; 1: the cooler at its limit.)")
    } else {
        range
    };
    format!("With the weather taken out: {}. 95 % band {ends}.\n{}\n", typeset(&a.verdict.headline(c.unit)), sentence_case(&range))
}

/// A number that the user typed, to two decimals at most.
fn plain_to(value: f64) -> String {
    plain((100.0 * value).round() / 100.0)
}

/// Each side against the limit.
pub(super) fn limits(c: &Comparison) -> String {
    let line = |name: &str, m: &Option<Margin>| m.as_ref().map_or(String::new(), |m| format!("{name}: {}.\n", limit_sentence(m, c.unit)));
    let both = format!("{}{}", line("Before", &c.before.margin), line("After", &c.after.margin));
    if both.is_empty() { both } else { format!("\n{both}{LIMIT_CAUTION}\n") }
}

/// What the band of the change covers.
pub(super) fn coverage(c: &Comparison) -> String {
    let all = c.coverage();
    format!(
        "Of 100 such bands some 95 hold the change that the needle shows.\nCounted\n  {}\nNot counted\n  {}\n",
        all.counted.join("\n  "),
        all.not_counted.join("\n  ")
    )
}
