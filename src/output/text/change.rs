//! A comparison in words.
use super::conditions::{ambient, coverage, limits};
use super::{column, tail};
use crate::compare::{Comparison, LeftOut, Origin, Side};
use crate::maths::rounding::decimals_for;
use crate::maths::source::Source;
use crate::output::words::{
    Banded, CAUTION, change_band, counts_gauge, number, rough_change_band, sentence_case, sigma_text, typeset, why_left_out,
};

const LONGEST_PATH: usize = 44;
/// From here on more degrees of freedom change nothing.
const MANY: f64 = 1000.0;

/// The verdict, both sides, what was left out; with `explain` how it was worked out.
pub fn comparison(c: &Comparison, before: &[String], after: &[String], explain: bool) -> String {
    let mut out = format!("{}.\n", sentence_case(&typeset(&c.verdict.headline(c.unit))));
    out.push_str(&format!("{}.\n\n", rough_change_band(c)));
    out.push_str(&side("before", &Banded::of(&c.before.mean, c.unit), &c.before, before.len()));
    out.push_str(&side("after", &Banded::of(&c.after.mean, c.unit), &c.after, after.len()));
    out.push_str(&ambient(c));
    out.push_str(&limits(c));
    if !c.before.left_out.is_empty() || !c.after.left_out.is_empty() || !c.notes.is_empty() {
        out.push('\n');
    }
    out.push_str(&left_out("before", &c.before.left_out, before));
    out.push_str(&left_out("after", &c.after.left_out, after));
    for note in &c.notes {
        out.push_str(&format!("Mind: {}\n", note.sentence()));
    }
    if explain {
        out.push_str(&explained(c));
    }
    let counted = if counts_gauge(&c.delta) {
        "how well the dial was read, and how right the gauge is, as declared."
    } else {
        "how well the dial was read, not how right the gauge is."
    };
    let more = if explain { "" } else { "--explain tells how it was worked out, and what is not counted.\n" };
    out.push_str(&format!("\n± reaches the farther end of the 95 % band: {counted}\n{more}{CAUTION}\n"));
    out
}

fn side(name: &str, own: &Banded, s: &Side, given: usize) -> String {
    let count = match s.origin {
        Origin::Settled { readings } => format!("settled level of {readings} readings"),
        _ => format!("{} of {given} photo{} read", s.read.len(), if given == 1 { "" } else { "s" }),
    };
    format!("{}{}{}{count}\n", column(name, 8), column(&own.headline(), 19), column(&own.other_headline(), 19))
}

/// All digits, and where they come from.
fn explained(c: &Comparison) -> String {
    let unit = c.unit.symbol();
    let mut out = format!("\nWith all digits\n  {}.\n", typeset(&c.verdict.sentence(c.unit)));
    out.push_str(&format!("  {}.\n", change_band(c)));
    for (name, s) in [("before", &c.before), ("after", &c.after)] {
        let own = Banded::of(&s.mean, c.unit);
        let scatter = s.scatter.map_or(String::new(), |x| format!("; scatter {} {unit}", sigma_text(x.sd)));
        out.push_str(&format!("  {name}: {}, 95 % band {}{scatter}\n", own.both(), own.range()));
    }
    let dof = match c.delta.dof() {
        d if d.is_infinite() => "no scatter in it".to_string(),
        d if d > MANY => format!("more than {MANY} degrees of freedom"),
        d => format!("{} degrees of freedom", number(d, 1)),
    };
    out.push_str(&format!("\nStandard uncertainty {} {unit} ({dof}).\n", sigma_text(c.delta.sigma())));
    let least = c.delta.detection_limit();
    if least.is_finite() {
        let least = sigma_text(least);
        out.push_str(&format!("The smallest change that these photos could have shown is {least} {unit} (in 95 of 100 cases).\n"));
    }
    out + &cancelled(c) + &stiction(c) + &coverage(c)
}

fn cancelled(c: &Comparison) -> String {
    let s = c.shared;
    let largest = s.before.max(s.after);
    if largest <= 0.0 {
        return "Nothing is shared by the two sides, so nothing cancels.\n".to_string();
    }
    let digits = decimals_for(largest).unwrap_or(1);
    let unit = c.unit.symbol();
    format!(
        "What both sides share (marks, pivot, gauge) is {} {unit} of standard uncertainty in the mean before and {} {unit} after; \
         in the change {} {unit} of it is left.\n",
        number(s.before, digits),
        number(s.after, digits),
        number(s.left, digits)
    )
}

/// The declared stiction, which stays whole in each side.
fn stiction(c: &Comparison) -> String {
    let part = |s: &Side| s.mean.measured().variance_of(Source::is_stiction).sqrt();
    let (before, after) = (part(&c.before), part(&c.after));
    if before.max(after) <= 0.0 {
        return String::new();
    }
    let (digits, unit) = (decimals_for(before.max(after)).unwrap_or(1), c.unit.symbol());
    format!(
        "A needle that sticks as declared is {} {unit} of standard uncertainty in the mean before and {} {unit} after; both are in the change.\n",
        number(before, digits),
        number(after, digits)
    )
}

fn left_out(side: &str, all: &[LeftOut], paths: &[String]) -> String {
    let mut out = String::new();
    for l in all {
        let path = paths.get(l.index).map_or(String::new(), |p| tail(p, LONGEST_PATH));
        let why = why_left_out(&l.why);
        out.push_str(&format!("Left out {side}: {path}: {why}\n"));
    }
    out
}
