//! A run of readings as one object.
use super::left_out::Left;
use super::limit::Limit;
use super::{FORMAT_VERSION, JsonError, check_of, finite, written};
use crate::dial::Dial;
use crate::maths::source::Source;
use crate::output::words::unit_letter;
use crate::settle::{Answer, Note, Range};
use serde::Serialize;

#[derive(Serialize)]
struct Run<'a> {
    format_version: u32,
    verdict: &'static str,
    sentence: String,
    unit: &'static str,
    /// The settled level in `unit`; `null` where none is named.
    level: Option<f64>,
    sigma: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    dof: Option<f64>,
    sigma_scatter: Option<f64>,
    /// Of `sigma_scatter`; `null` = infinitely many.
    dof_scatter: Option<f64>,
    time_constant_s: Option<Ends>,
    within_1c_s: Option<Ends>,
    span_s: Option<f64>,
    /// Capture times of the first and the last reading that tell one.
    taken_first: Option<&'a str>,
    taken_last: Option<&'a str>,
    overshoot: Option<f64>,
    drift_per_min: Option<f64>,
    drift_half: Option<f64>,
    correlation: Option<f64>,
    wander: Option<f64>,
    /// Degrees of freedom of `wander`; `null` = infinitely many.
    wander_dof: Option<f64>,
    /// What a slower approach may still bring, in all and within as long again as was watched, where that is all that keeps the run from
    /// being called settled or steady; `null` elsewhere.
    may_follow: Option<f64>,
    may_follow_next: Option<f64>,
    at_scale_end: bool,
    /// The level against the limit; `null` when none was given or no level is named.
    limit: Option<Limit>,
    dial: DialName<'a>,
    readings: Vec<Reading<'a>>,
    left_out: Vec<Left<'a>>,
    budget: Option<Vec<Term<'a>>>,
    notes: Vec<String>,
    /// Left out where the check sum itself is worked out.
    #[serde(skip_serializing_if = "Option::is_none")]
    check: Option<String>,
}

/// Seconds with their 95 % band; an end that is not known is `null`.
#[derive(Serialize)]
struct Ends {
    value: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
}

#[derive(Serialize)]
struct DialName<'a> {
    name: &'a str,
    id: &'a str,
    /// Ends of the scale in `unit`.
    low: Option<f64>,
    high: Option<f64>,
}

#[derive(Serialize)]
struct Reading<'a> {
    photo: &'a str,
    seconds: Option<f64>,
    value: Option<f64>,
    sigma: Option<f64>,
    /// The curve at that time; `null` where none is believed.
    fitted: Option<f64>,
    /// Held down as bad.
    bad: bool,
}

/// One source: its signed one-sigma contribution to the level.
#[derive(Serialize)]
struct Term<'a> {
    source: &'a Source,
    contribution: Option<f64>,
}

/// The answer as one line; `paths` of all photos given, in the order of the records.
///
/// # Errors
/// When it cannot be serialised (a fault of the program).
pub fn settling(a: &Answer, dial: &Dial, paths: &[String]) -> Result<String, JsonError> {
    let path = |k: usize| paths.get(k).map_or("", String::as_str);
    let level = a.level.as_ref();
    let t = level.map(|l| &l.temperature);
    let reading = |(k, p): (usize, &crate::settle::Point)| Reading {
        photo: path(p.index),
        seconds: finite(p.seconds),
        value: finite(p.value.value()),
        sigma: finite(p.value.sigma()),
        fitted: a.curve.and_then(|c| finite(c.at(p.seconds))),
        bad: a.bad.contains(&k),
    };
    let (low, high) = dial.span();
    let end = |v: f64| finite(dial.unit.convert(v, a.unit));
    sealed(Run {
        format_version: FORMAT_VERSION,
        verdict: a.verdict.code(),
        sentence: a.sentence(),
        unit: unit_letter(a.unit),
        level: t.and_then(|t| finite(t.value())),
        sigma: t.and_then(|t| finite(t.sigma())),
        low: t.and_then(|t| finite(t.band().0)),
        high: t.and_then(|t| finite(t.band().1)),
        dof: t.and_then(|t| finite(t.dof())),
        sigma_scatter: level.and_then(|l| finite(l.scatter)),
        dof_scatter: level.and_then(|l| finite(l.scatter_dof)),
        time_constant_s: a.tau.map(ends),
        within_1c_s: a.within.map(ends),
        span_s: finite(a.span),
        taken_first: a.taken.as_ref().map(|t| t.0.as_str()),
        taken_last: a.taken.as_ref().map(|t| t.1.as_str()),
        overshoot: a.overshoot.and_then(finite),
        drift_per_min: a.drift.and_then(|d| finite(d.per_minute)),
        drift_half: a.drift.and_then(|d| finite(d.half)),
        correlation: finite(a.correlation),
        wander: finite(a.wander),
        wander_dof: finite(a.wander_dof),
        may_follow: a.ahead.and_then(|f| finite(f.left)),
        may_follow_next: a.ahead.and_then(|f| finite(f.next)),
        at_scale_end: a.notes.contains(&Note::AtScaleEnd),
        limit: a.margin().as_ref().map(Limit::of),
        dial: DialName { name: &dial.name, id: &dial.id, low: end(low), high: end(high) },
        readings: a.points.iter().enumerate().map(reading).collect(),
        left_out: a.left_out.iter().map(|l| Left::of(l, paths)).collect(),
        budget: t.map(|t| t.terms().iter().map(|(source, c)| Term { source, contribution: finite(*c) }).collect()),
        notes: a.notes.iter().map(|n| n.sentence()).collect(),
        check: None,
    })
}

/// With its check sum.
fn sealed(mut run: Run) -> Result<String, JsonError> {
    let plain = serde_json::to_value(&run).map_err(|e| JsonError(e.to_string()))?;
    run.check = Some(check_of(&plain));
    written(&run)
}

fn ends(r: Range) -> Ends {
    Ends { value: finite(r.value), low: finite(r.low), high: finite(r.high) }
}
