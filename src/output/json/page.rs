//! What the calibration page is told. Places in px from the picture's top-left corner, as it is for everything that a person types.
use super::ticks::found_dials;
use super::{JsonError, finite, written};
use crate::calibrate::{Calibration, FoundDial};
use crate::dial::{Dial, Mark, MarkKind};
use crate::maths::homography::Homography;
use crate::maths::point::PhotoPoint;
use crate::maths::units::Unit;
use crate::output::picture::cut_from;
use crate::output::words::unit_letter;
use crate::photo::Photo;
use crate::scale::Scale;
use serde_json::{Value, json};

/// What is known before the person does anything.
#[derive(Clone, Copy, Debug)]
pub struct PageStart<'a> {
    /// The photo's file name; `None` as long as none was sent.
    pub photo: Option<&'a str>,
    /// Its width and height, px.
    pub size: [usize; 2],
    /// The unit, when it was typed.
    pub unit: Option<Unit>,
    /// The dial's name.
    pub name: &'a str,
    /// The dial file to be written.
    pub out: &'a str,
    /// The dials found.
    pub dials: &'a [FoundDial],
}

/// Steps of the scale's curve.
const STEPS: u32 = 160;

/// The start.
///
/// # Errors
/// When it cannot be written (a fault of the program).
pub fn page_start(s: &PageStart) -> Result<String, JsonError> {
    written(&json!({
        "photo": s.photo, "size": s.size, "unit": s.unit.map(unit_letter), "name": s.name, "out": s.out, "dials": found_dials(s.dials),
    }))
}

/// A calibration, or what is wrong with the marks. `disagrees`: why what the person sees the needle read is not what the calibration reads there.
///
/// # Errors
/// When it cannot be written (a fault of the program).
pub fn page_fit(photo: Option<&Photo>, done: Result<&Calibration, &str>, disagrees: Option<&str>) -> Result<String, JsonError> {
    match done {
        Err(error) => written(&json!({ "error": error })),
        Ok(done) => written(&fitted(photo, done, disagrees)),
    }
}

/// What was written, or why nothing was.
///
/// # Errors
/// When it cannot be written (a fault of the program).
pub fn page_saved(done: Result<&str, &str>) -> Result<String, JsonError> {
    match done {
        Ok(text) => written(&json!({ "text": text })),
        Err(error) => written(&json!({ "error": error })),
    }
}

fn fitted(photo: Option<&Photo>, done: &Calibration, disagrees: Option<&str>) -> Value {
    let dial = &done.dial;
    let [x, y] = photo.and_then(|p| cut_from(p, &dial.face)).unwrap_or_default().map(|v| v as f64 + 0.5);
    let plane = Homography::<_, PhotoPoint>::shifted(x, y) * dial.face.plane;
    json!({
        "error": null,
        "id": dial.id,
        "tilt": finite(dial.face.tilt),
        "plane": plane.rows().as_flattened(),
        "marks": dial.marks.iter().map(mark).collect::<Vec<_>>(),
        "curve": curve(dial),
        "needle_reads": done.needle_reads.and_then(finite),
        "disagrees": disagrees,
        "warnings": done.warnings.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "rival_steps": done.rival_steps,
        "questions": done.questions.iter().map(|q| json!({ "value": q.value, "text": q.text })).collect::<Vec<_>>(),
    })
}

fn mark(m: &Mark) -> Value {
    json!({
        "value": m.value,
        "angle": finite(m.angle),
        "sigma": finite(m.sigma()),
        "given": m.kind == MarkKind::Labelled,
        "residual": m.click.and_then(|c| c.residual).map(f64::abs),
        "snapped": m.click.map(|c| c.snapped.map(|v| v + 0.5)),
    })
}

/// (angle, value) from the first mark to the last.
fn curve(dial: &Dial) -> Vec<[f64; 2]> {
    let (Some(a), Some(b)) = (dial.marks.first(), dial.marks.last()) else { return Vec::new() };
    let scale = Scale::new(dial);
    let angle = |k: u32| a.angle + (b.angle - a.angle) * f64::from(k) / f64::from(STEPS);
    (0..=STEPS).map(|k| [angle(k), scale.value(angle(k))]).collect()
}
