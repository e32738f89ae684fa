//! Where a reading's uncertainty comes from.
use super::{left, right};
use crate::maths::rounding::decimals_for;
use crate::maths::source::Source;
use crate::output::words::number;
use crate::reading::Reading;

/// Sources with less than this share of the variance are summed in one line.
const SMALL: f64 = 0.01;

/// The budget of one reading, largest source first: contribution (one sigma, dial unit) and share of the variance.
///
/// Made from the same terms as sigma, so it cannot disagree with it.
pub fn budget(reading: &Reading) -> String {
    let sigma = reading.temperature.sigma();
    if sigma <= 0.0 {
        return "      no source of uncertainty is named for this reading\n".to_string();
    }
    let digits = decimals_for(sigma).unwrap_or(1) + 1;
    let share = |v: f64| v / (sigma * sigma);
    let mut terms: Vec<(&Source, f64)> = reading.temperature.terms().iter().map(|(s, t)| (s, t * t)).collect();
    terms.sort_by(|a, b| b.1.total_cmp(&a.1));
    let line = |variance: f64, source: &str| {
        let percent = number(100.0 * share(variance), 0);
        format!("      {} %  {}  {source}\n", right(&percent, 4), right(&number(variance.sqrt(), digits), 8))
    };
    let mut out = format!("       share  {}  source\n", right(&format!("σ, {}", reading.unit.symbol()), 8));
    let (large, small): (Vec<_>, Vec<_>) = terms.into_iter().partition(|(_, v)| share(*v) >= SMALL);
    for (source, variance) in large {
        out.push_str(&line(variance, &named(source)));
    }
    if !small.is_empty() {
        let rest = small.iter().map(|(_, v)| v).sum();
        out.push_str(&line(rest, &format!("{} smaller source{}", small.len(), if small.len() == 1 { "" } else { "s" })));
    }
    let dial = reading.temperature.measured().variance_of(Source::is_dial);
    let from_dial = format!("all; of it the dial file, shared by every photo read with it, {} %", number(100.0 * share(dial), 0));
    out.push_str(&line(sigma * sigma, &from_dial));
    out
}

/// "dial   mark/3" for `dial:1f2e/mark/3`.
fn named(source: &Source) -> String {
    match source {
        Source::Dial(_, part) => format!("{}{part}", left("dial", 7)),
        Source::Photo(_, part) => format!("{}{part}", left("photo", 7)),
        other => other.to_string(),
    }
}
