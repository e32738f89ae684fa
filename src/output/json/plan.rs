//! A plan as one object.
use super::{FORMAT_VERSION, JsonError, finite, written};
use crate::output::words::unit_letter;
use crate::plan::Plan;
use serde::Serialize;

#[derive(Serialize)]
struct Planned {
    format_version: u32,
    unit: &'static str,
    drop: Option<f64>,
    at: Option<f64>,
    scatter: Option<f64>,
    scatter_assumed: bool,
    sigma_dial: Option<f64>,
    smallest: Option<f64>,
    /// `null` when 50 a side are too few.
    photos: Option<usize>,
    dial_px: Option<u32>,
    sizes: Vec<SizeOf>,
    wait_time_constants: Option<f64>,
    wait_s: Option<f64>,
    wait_left: Option<f64>,
}

#[derive(Serialize)]
struct SizeOf {
    dial_px: u32,
    sigma_reading: Option<f64>,
    photos: Option<usize>,
}

/// The plan as one line; `time_constant` in seconds where it is known.
///
/// # Errors
/// When it cannot be serialised (a fault of the program).
pub fn planned(p: &Plan, time_constant: Option<f64>) -> Result<String, JsonError> {
    let advice = p.advice();
    written(&Planned {
        format_version: FORMAT_VERSION,
        unit: unit_letter(p.unit),
        drop: finite(p.drop),
        at: finite(p.at),
        scatter: finite(p.scatter),
        scatter_assumed: p.scatter_assumed,
        sigma_dial: finite(p.fixed),
        smallest: finite(p.smallest),
        photos: advice.and_then(|a| a.photos),
        dial_px: advice.map(|a| a.px),
        sizes: p.sizes.iter().map(|s| SizeOf { dial_px: s.px, sigma_reading: finite(s.reading), photos: s.photos }).collect(),
        wait_time_constants: finite(p.wait.time_constants),
        wait_s: time_constant.and_then(|t| finite(t * p.wait.time_constants)),
        wait_left: finite(p.wait.left),
    })
}
