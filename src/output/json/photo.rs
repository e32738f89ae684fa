//! One photo as one line.
use super::limit::Limit;
use super::metrics::metrics;
use super::{FORMAT_VERSION, JsonError, finite, written};
use crate::diagnostics::Refusal;
use crate::dial::Dial;
use crate::maths::source::Source;
use crate::maths::units::Unit;
use crate::output::limit::stand_without;
use crate::output::words::{outcome_sentence, unit_letter};
use crate::reading::{Metrics, Outcome, Reading, Record};
use serde::Serialize;

#[derive(Serialize, Default)]
struct Line<'a> {
    format_version: u32,
    photo: &'a str,
    outcome: &'static str,
    /// Dial unit, as are sigma, low and high (95 % band).
    value: Option<f64>,
    sigma: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    unit: &'static str,
    value_c: Option<f64>,
    value_f: Option<f64>,
    /// Degrees clockwise from straight up on the dial.
    angle_deg: Option<f64>,
    sigma_angle_deg: Option<f64>,
    dial: DialName<'a>,
    flags: Vec<&'static str>,
    reason: Option<&'static str>,
    sentence: String,
    advice: Option<String>,
    taken_at: Option<&'a str>,
    tilt_deg: Option<f64>,
    /// Diameter of the marks' circle in the photo, px.
    dial_px: Option<f64>,
    /// The temperature against the limit; `null` when none was given.
    limit: Option<Limit>,
    #[serde(skip_serializing_if = "Option::is_none")]
    budget: Option<Vec<Term<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    metrics: Option<serde_json::Value>,
}

#[derive(Serialize, Default)]
struct DialName<'a> {
    name: &'a str,
    id: &'a str,
    /// What of the gauge itself is declared in the dial file and so in the band.
    declared: Vec<&'static str>,
}

/// One source: its signed one-sigma contribution in the dial's unit.
#[derive(Serialize)]
struct Term<'a> {
    source: &'a Source,
    contribution: Option<f64>,
}

/// The line of one photo; `path` as the user gave it. With `budget` the terms behind sigma are listed.
///
/// # Errors
/// When it cannot be serialised (a fault of the program).
pub fn photo_line(path: &str, dial: &Dial, record: &Record, budget: bool) -> Result<String, JsonError> {
    photo_line_with(path, dial, record, More { budget, ..More::default() })
}

/// What a photo's line may hold besides.
#[derive(Clone, Copy, Debug, Default)]
pub struct More<'a> {
    /// The terms behind sigma.
    pub budget: bool,
    /// A limit to judge the temperature against, dial unit.
    pub limit: Option<f64>,
    /// What the read measured.
    pub metrics: Option<&'a Metrics>,
}

/// The same with what is asked for besides.
///
/// # Errors
/// As [`photo_line`].
pub fn photo_line_with(path: &str, dial: &Dial, record: &Record, more: More) -> Result<String, JsonError> {
    let mut line = Line {
        outcome: outcome_code(&record.outcome),
        sentence: outcome_sentence(dial, &record.outcome),
        taken_at: record.taken_at.as_deref(),
        limit: more.limit.map(|l| against(dial, &record.outcome, l)),
        metrics: more.metrics.map(metrics),
        ..blank(path, dial)
    };
    if let Some(e) = &record.evidence {
        line.tilt_deg = finite(e.tilt);
        line.dial_px = finite(2.0 * e.radius_px);
        line.angle_deg = e.needle.as_ref().and_then(|n| finite(n.angle));
        line.sigma_angle_deg = e.needle.as_ref().and_then(|n| finite(n.sigma));
    }
    match &record.outcome {
        Outcome::Reading(reading) => number(&mut line, reading, more.budget),
        Outcome::Refused(refusal, _) => {
            line.reason = Some(refusal.code());
            line.advice = Some(refusal.advice().to_string());
        }
        Outcome::BelowScale | Outcome::AboveScale => {}
    }
    written(&line)
}

/// The line of a file that could not be opened: refused with the reason `not_opened`. `error` is what the system said.
///
/// # Errors
/// As [`photo_line`].
pub fn unopened_line(path: &str, dial: &Dial, error: &str) -> Result<String, JsonError> {
    written(&Line {
        outcome: "refused",
        reason: Some(Refusal::NotOpened.code()),
        sentence: format!("The file could not be opened: {error}."),
        advice: Some(Refusal::NotOpened.advice().to_string()),
        ..blank(path, dial)
    })
}

fn blank<'a>(path: &'a str, dial: &'a Dial) -> Line<'a> {
    Line {
        format_version: FORMAT_VERSION,
        photo: path,
        unit: unit_letter(dial.unit),
        dial: DialName { name: &dial.name, id: &dial.id, declared: declared(dial) },
        ..Line::default()
    }
}

fn declared(dial: &Dial) -> Vec<&'static str> {
    let d = &dial.declared;
    let all = [("gauge_accuracy", d.gauge_accuracy.is_some()), ("stiction", d.stiction.is_some()), ("flats", !d.flats.is_empty())];
    all.into_iter().filter_map(|(name, on)| on.then_some(name)).collect()
}

fn against(dial: &Dial, outcome: &Outcome, limit: f64) -> Limit {
    let margin = if let Outcome::Reading(r) = outcome { r.temperature.margin(limit) } else { None };
    margin.as_ref().map_or_else(|| Limit::without(limit, stand_without(dial, outcome, limit)), Limit::of)
}

fn number<'a>(line: &mut Line<'a>, reading: &'a Reading, budget: bool) {
    let value = reading.temperature.value();
    line.unit = unit_letter(reading.unit);
    line.value = finite(value);
    line.sigma = finite(reading.temperature.sigma());
    let (low, high) = reading.temperature.band();
    (line.low, line.high) = (finite(low), finite(high));
    line.value_c = finite(reading.unit.convert(value, Unit::C));
    line.value_f = finite(reading.unit.convert(value, Unit::F));
    line.flags = reading.flags.iter().map(|f| f.code()).collect();
    let terms = reading.temperature.terms().iter();
    line.budget = budget.then(|| terms.map(|(source, t)| Term { source, contribution: finite(*t) }).collect());
}

/// The outcome's code, as in the contract.
pub(super) fn outcome_code(outcome: &Outcome) -> &'static str {
    match outcome {
        Outcome::Reading(_) => "reading",
        Outcome::BelowScale => "below_scale",
        Outcome::AboveScale => "above_scale",
        Outcome::Refused(..) => "refused",
    }
}
