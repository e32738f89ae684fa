//! A comparison as one object.
use super::left_out::Left;
use super::{FORMAT_VERSION, JsonError, finite, written};
use crate::compare::{Comparison, Note, Side};
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
    unit: &'static str,
    /// Effective degrees of freedom; `null` = infinitely many.
    dof: Option<f64>,
    verdict: String,
    detectable: Option<f64>,
    before: OneSide<'a>,
    after: OneSide<'a>,
    /// One-sigma part of the sources on both sides: in each mean, and what is left in the change.
    shared: SharedPart,
    notes: Vec<String>,
}

#[derive(Serialize)]
struct OneSide<'a> {
    mean: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    n: usize,
    /// Standard deviation of the readings; `null` for one photo.
    scatter: Option<f64>,
    /// What of it the photos do not explain.
    scatter_extra: Option<f64>,
    photos: Vec<&'a str>,
    left_out: Vec<Left<'a>>,
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
    written(&Change {
        format_version: FORMAT_VERSION,
        delta: finite(c.delta.value()),
        sigma: finite(c.sigma),
        low: finite(c.band.0),
        high: finite(c.band.1),
        unit: unit_letter(c.unit),
        dof: finite(c.dof),
        verdict: c.verdict.sentence(c.unit),
        detectable: finite(c.detectable),
        before: side(&c.before, before),
        after: side(&c.after, after),
        shared: SharedPart { before: finite(c.shared.before), after: finite(c.shared.after), left: finite(c.shared.left) },
        notes: c.notes.iter().map(|n: &Note| n.sentence()).collect(),
    })
}

fn side<'a>(s: &Side, paths: &'a [String]) -> OneSide<'a> {
    let path = |k: usize| paths.get(k).map_or("", String::as_str);
    OneSide {
        mean: finite(s.mean.value()),
        low: finite(s.band.0),
        high: finite(s.band.1),
        n: s.read.len(),
        scatter: s.scatter.and_then(|x| finite(x.sd)),
        scatter_extra: s.scatter.and_then(|x| finite(x.extra)),
        photos: s.read.iter().map(|k| path(*k)).collect(),
        left_out: s.left_out.iter().map(|l| Left::of(l, paths)).collect(),
    }
}
