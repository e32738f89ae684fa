//! A comparison in words.
use super::conditions::{ambient, coverage, limits};
use super::{column, tail};
use crate::compare::{Comparison, LeftOut, Origin, Side};
use crate::maths::rounding::decimals_for;
use crate::output::words::{Banded, CAUTION, change_band, counts_gauge, number, sentence_case, sigma_text, why_left_out};
use crate::scale::STICTION;

const LONGEST_PATH: usize = 44;
/// From here on more degrees of freedom change nothing.
const MANY: f64 = 1000.0;
/// Two spaces after "195.699 ± 0.044 °F", too.
const WIDTHS: [usize; 4] = [8, 20, 20, 25];

/// Both sides, the verdict, what cancelled, what was left out. `before` and `after` are the paths of all photos given, in
/// the order of the records.
pub fn comparison(c: &Comparison, before: &[String], after: &[String]) -> String {
    let unit = c.unit.symbol();
    let head = ["", "mean", "", "95 % band"].iter().zip(WIDTHS).map(|(t, w)| column(t, w)).collect::<String>();
    let mut out = format!("{head}scatter\n");
    out.push_str(&side(c, "before", &c.before, before.len()));
    out.push_str(&side(c, "after", &c.after, after.len()));
    out.push_str(&format!("\n{}.\n{}.\n", sentence_case(&c.verdict.sentence(c.unit)), change_band(c)));
    let dof = match c.dof {
        d if d.is_infinite() => "no scatter in it".to_string(),
        d if d > MANY => format!("more than {MANY} degrees of freedom"),
        d => format!("{} degrees of freedom", number(d, 1)),
    };
    let smallest = match c.detection_limit {
        d if d.is_finite() => {
            format!(" The smallest change that these photos could have shown is {} {unit} (in 95 of 100 cases).", sigma_text(d))
        }
        _ => String::new(),
    };
    out.push_str(&format!("Standard uncertainty {} {unit} ({dof}).{smallest}\n", sigma_text(c.sigma)));
    out.push_str(&cancelled(c));
    out.push_str(&stiction(c));
    out.push_str(&ambient(c));
    out.push_str(&limits(c));
    out.push_str(&left_out("before", &c.before.left_out, before));
    out.push_str(&left_out("after", &c.after.left_out, after));
    for note in &c.notes {
        out.push_str(&format!("Mind: {}\n", note.sentence()));
    }
    out.push_str(&coverage(c));
    let counted = if counts_gauge(&c.delta) {
        "how well the dial was read and how right the gauge is, as declared. In the change its error cancels as far as the needle stands alike."
    } else {
        "how well the dial was read. An error of the gauge itself cancels where the needle stands nearly alike."
    };
    out.push_str(&format!("± is half the 95 % band: {counted}\n{CAUTION}\n"));
    out
}

fn side(c: &Comparison, name: &str, s: &Side, given: usize) -> String {
    let own = Banded::of_side(s, c.unit);
    let band = own.range();
    let padded: String =
        [name.to_string(), own.plus_minus(), own.other().plus_minus(), band].iter().zip(WIDTHS).map(|(t, w)| column(t, w)).collect();
    if let Origin::Settled { readings } = s.origin {
        return format!("{padded}settled level of {readings} readings\n");
    }
    let scatter = s.scatter.map_or("one photo".to_string(), |x| format!("{} {}", sigma_text(x.sd), c.unit.symbol()));
    format!("{padded}{scatter}, {} of {given} photo{} read\n", s.read.len(), if given == 1 { "" } else { "s" })
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
    let part = |s: &Side| s.mean.variance_of(|k| k.ends_with(STICTION)).sqrt();
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
