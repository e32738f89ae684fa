//! A run of readings in words.
use super::tail;
use crate::dial::Dial;
use crate::maths::rounding::{band, beside, significant, with_uncertainty};
use crate::output::limit::{LIMIT_CAUTION, both_units, limit_sentence};
use crate::output::names::shown;
use crate::output::words::{Banded, CAUTION, also, counts_gauge, nearness, sentence_case, sigma_text, typeset, why_left_out};
use crate::settle::{Answer, LeftOut, Level, Range, Verdict};

const LONGEST_PATH: usize = 44;

/// The answer, the level, the time constant, what was left out; with `explain` how it was worked out.
pub fn settling(a: &Answer, dial: &Dial, paths: &[String], explain: bool) -> String {
    let unit = a.unit.symbol();
    let given = paths.len();
    let mut out = format!("{}.\n", sentence_case(&typeset(&a.headline())));
    out.push_str(&a.level.as_ref().map_or(String::new(), |l| {
        let own = level(a, l);
        let other = own.other().map_or(String::new(), |o| format!("That is {}. ", o.headline()));
        format!("{other}95 % band {}.\n", own.rough_range())
    }));
    out.push_str(&format!("Dial \"{}\", {} of {given} photos over {}.\n\n", shown(&dial.name), a.points.len(), duration(a.span)));
    if let Some(tau) = a.tau {
        let seen = significant(a.span / tau.value, 2);
        out.push_str(&format!("Time constant {}; {seen} time constants seen.\n", range(tau)));
    }
    out.push_str(&when_near(a));
    match (a.overshoot, a.drift) {
        (Some(by), _) => out.push_str(&format!("Overshoot: {} {unit} past where it ended.\n", significant(by, 2))),
        (_, Some(d)) => out.push_str(&format!("It moves by {} {unit} a minute.\n", typeset(&with_uncertainty(d.per_minute, d.half)))),
        _ if a.level.is_some() => out.push_str("No overshoot and no drift seen.\n"),
        _ => {}
    }
    out.push_str(&against(a));
    a.left_out.iter().for_each(|l| out.push_str(&left_out(l, paths)));
    for k in &a.bad {
        let path = a.points.get(*k).and_then(|p| paths.get(p.index)).map_or(String::new(), |p| tail(p, LONGEST_PATH));
        out.push_str(&format!("Held down: {path}\n"));
    }
    a.notes.iter().for_each(|n| out.push_str(&format!("Mind: {}\n", typeset(&n.sentence()))));
    if explain {
        out.push_str(&a.level.as_ref().map_or(String::new(), |l| explained(a, l)));
    }
    let more = if explain { "" } else { "--explain shows all digits, and what they come from.\n" };
    out.push_str(&format!("± reaches the farther end of the 95 % band: {}\n{more}{CAUTION}\n", counted(a)));
    out
}

/// When it is near the level. One that is still on its way may have come near and left it again, so of that only what is to come is told.
fn when_near(a: &Answer) -> String {
    let near = nearness(a.near, a.unit);
    match (a.within, &a.verdict) {
        (Some(w), Verdict::Settled { .. }) if w.high <= 0.0 => format!("Within {near} of it from the first photo on.\n"),
        (Some(w), Verdict::Settled { .. }) => {
            let later = if w.value > a.span { ", which is after the last photo" } else { "" };
            format!("Within {near} of it {} after the first photo{later}.\n", range(w))
        }
        (Some(w), _) if w.value > a.span => {
            format!("If it goes on so, it is within {near} of that {} after the first photo, later than the last.\n", range(w))
        }
        _ => String::new(),
    }
}

fn level(a: &Answer, l: &Level) -> Banded {
    Banded::of(&l.temperature, a.unit)
}

/// The level with all digits.
fn explained(a: &Answer, l: &Level) -> String {
    let (own, unit) = (level(a, l), a.unit.symbol());
    format!(
        "Level {}.\n95 % band {}.\nStandard uncertainty {} {unit}, of which the scatter of the readings is {} {unit}.\n",
        own.both(),
        also(&own.range(), own.other().map(Banded::range)),
        sigma_text(l.temperature.sigma()),
        sigma_text(l.scatter),
    )
}

/// The level against the limit, where one was given.
fn against(a: &Answer) -> String {
    let Some(limit) = a.limit else { return String::new() };
    match a.margin() {
        Some(m) => format!("The level is {}.\n{LIMIT_CAUTION}\n", limit_sentence(&m, a.unit)),
        None => format!("No level is named, so nothing is said of the limit of {}.\n", both_units(limit, a.unit)),
    }
}

fn counted(a: &Answer) -> &'static str {
    match &a.level {
        Some(l) if counts_gauge(&l.temperature) => {
            "how well the dial was read, how the readings scatter, and how right the gauge is, as declared."
        }
        _ => "how well the dial was read and how the readings scatter, not how right the gauge is.",
    }
}

/// "340 s (338 to 342 s)", in minutes from two minutes on.
fn range(r: Range) -> String {
    let (scale, unit) = if r.value >= 120.0 { (60.0, "min") } else { (1.0, "s") };
    let half = 0.5 * (r.high - r.low) / scale;
    let value = if half.is_finite() { typeset(&beside(r.value / scale, half)) } else { significant(r.value / scale, 3) };
    format!("{value} {unit} (95 % band {} {unit})", typeset(&band(r.low / scale, r.high / scale).to_string()))
}

/// A length of time to three digits: "25.0 min".
fn duration(seconds: f64) -> String {
    if seconds >= 120.0 { format!("{} min", significant(seconds / 60.0, 3)) } else { format!("{} s", significant(seconds, 3)) }
}

fn left_out(l: &LeftOut, paths: &[String]) -> String {
    let path = paths.get(l.index).map_or(String::new(), |p| tail(p, LONGEST_PATH));
    let why = why_left_out(&l.why);
    format!("Left out: {path}: {why}\n")
}
