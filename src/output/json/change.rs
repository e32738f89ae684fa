//! A comparison as one object.
use super::left_out::Left;
use super::limit::{Limit, limit_side};
use super::{FORMAT_VERSION, JsonError, finite, written};
use crate::compare::{Adjusted, Ambient, Comparison, Note, Origin, Side};
use crate::output::words::unit_letter;
use serde::Serialize;

#[derive(Serialize)]
struct Change<'a> {
    format_version: u32,
    /// After minus before; this and every number below in `unit`.
    delta: Option<f64>,
    sigma: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    /// Where a side stands partly beyond an end of the scale, `low` or `high` is open: "at_most", "at_least", "none".
    limit_side: Option<&'static str>,
    unit: &'static str,
    /// Effective degrees of freedom; `null` = infinitely many.
    dof: Option<f64>,
    verdict: String,
    detectable: Option<f64>,
    /// The smallest true change that these photos could have shown, 95 times of 100.
    detection_limit: Option<f64>,
    adjusted: Option<AdjustedChange>,
    coverage: CoverageOf,
    before: OneSide<'a>,
    after: OneSide<'a>,
    /// One-sigma part of the sources on both sides: in each mean, and what is left in the change.
    shared: SharedPart,
    notes: Vec<String>,
}

/// The change with the weather taken out, over all slopes in the range.
#[derive(Serialize)]
struct AdjustedChange {
    delta: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    verdict: String,
    slope_low: Option<f64>,
    slope_high: Option<f64>,
    /// The change at the least and the greatest slope.
    delta_at_low: Option<f64>,
    delta_at_high: Option<f64>,
    ambient_change: Option<f64>,
    ambient_sigma: Option<f64>,
}

#[derive(Serialize)]
struct CoverageOf {
    probability: f64,
    counted: Vec<&'static str>,
    not_counted: Vec<&'static str>,
}

#[derive(Serialize)]
struct AmbientOf {
    value: Option<f64>,
    half: Option<f64>,
    assumed: bool,
}

#[derive(Serialize)]
struct RiseOf {
    value: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
}

#[derive(Serialize)]
struct OneSide<'a> {
    /// "photos" or "settled".
    origin: &'static str,
    mean: Option<f64>,
    sigma: Option<f64>,
    dof: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    /// Photos beyond an end of the scale make the side a limit: "at_most", "at_least", "none".
    limit_side: Option<&'static str>,
    n: usize,
    /// Standard deviation of the readings; `null` for one photo.
    scatter: Option<f64>,
    /// What of it the photos do not explain.
    scatter_extra: Option<f64>,
    photos: Vec<&'a str>,
    left_out: Vec<Left<'a>>,
    ambient: Option<AmbientOf>,
    rise: Option<RiseOf>,
    load: Option<&'a str>,
    limit: Option<Limit>,
}

#[derive(Serialize)]
struct SharedPart {
    before: Option<f64>,
    after: Option<f64>,
    left: Option<f64>,
}

/// The comparison as one line; `before` and `after` are the paths of all photos given, in the order of the records.
///
/// # Errors
/// When it cannot be serialised (a fault of the program).
pub fn comparison(c: &Comparison, before: &[String], after: &[String]) -> Result<String, JsonError> {
    let (coverage, (low, high)) = (c.coverage(), c.delta.band());
    written(&Change {
        format_version: FORMAT_VERSION,
        delta: finite(c.delta.value()),
        sigma: finite(c.delta.sigma()),
        low: finite(low),
        high: finite(high),
        limit_side: limit_side((low, high)),
        unit: unit_letter(c.unit),
        dof: finite(c.delta.dof()),
        verdict: c.verdict.sentence(c.unit),
        detectable: finite(c.delta.detectable()),
        detection_limit: finite(c.delta.detection_limit()),
        adjusted: c.adjusted.as_ref().map(|a| adjusted(a, c)),
        coverage: CoverageOf { probability: 0.95, counted: coverage.counted, not_counted: coverage.not_counted },
        before: side(&c.before, before),
        after: side(&c.after, after),
        shared: SharedPart { before: finite(c.shared.before), after: finite(c.shared.after), left: finite(c.shared.left) },
        notes: c.notes.iter().map(|n: &Note| n.sentence()).collect(),
    })
}

fn adjusted(a: &Adjusted, c: &Comparison) -> AdjustedChange {
    AdjustedChange {
        delta: finite(a.value),
        low: finite(a.band.0),
        high: finite(a.band.1),
        verdict: a.verdict.sentence(c.unit),
        slope_low: finite(a.slope.low),
        slope_high: finite(a.slope.high),
        delta_at_low: finite(a.ends.0),
        delta_at_high: finite(a.ends.1),
        ambient_change: finite(a.ambient.value()),
        ambient_sigma: finite(a.ambient.sigma()),
    }
}

fn side<'a>(s: &'a Side, paths: &'a [String]) -> OneSide<'a> {
    let path = |k: usize| paths.get(k).map_or("", String::as_str);
    let (origin, photos, n) = match s.origin {
        Origin::Photos => ("photos", s.read.iter().map(|k| path(*k)).collect(), s.read.len()),
        Origin::Settled { readings } => ("settled", paths.iter().map(String::as_str).collect(), readings),
    };
    OneSide {
        origin,
        mean: finite(s.mean.value()),
        sigma: finite(s.mean.sigma()),
        dof: finite(s.mean.dof()),
        low: finite(s.mean.band().0),
        high: finite(s.mean.band().1),
        limit_side: limit_side(s.mean.band()),
        n,
        scatter: s.scatter.and_then(|x| finite(x.sd)),
        scatter_extra: s.scatter.and_then(|x| finite(x.extra)),
        photos,
        left_out: s.left_out.iter().map(|l| Left::of(l, paths)).collect(),
        ambient: s.ambient.map(|a: Ambient| AmbientOf { value: finite(a.value), half: finite(a.half), assumed: a.assumed }),
        rise: s.rise.as_ref().map(|r| RiseOf { value: finite(r.value()), low: finite(r.band().0), high: finite(r.band().1) }),
        load: s.load.as_deref(),
        limit: s.margin.as_ref().map(Limit::of),
    }
}
