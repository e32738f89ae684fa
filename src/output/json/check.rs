//! How good a dial file is, as an object.
use super::{FORMAT_VERSION, JsonError, finite, written};
use crate::assess::{Assessment, NoiseFrom, Shown};
use crate::dial::{Dial, MarkKind};
use crate::output::words::unit_letter;
use serde::Serialize;
use serde_json::{Value, json};

#[derive(Serialize)]
struct Checked<'a> {
    format_version: u32,
    schema: &'static str,
    dial: &'a str,
    dial_id: &'a str,
    unit: &'static str,
    marks: Vec<Value>,
    click_residual: Option<f64>,
    reference: Value,
    value_per_degree: Option<f64>,
    stretches: Vec<Value>,
    pixel: Vec<Value>,
    photo_sigma: Option<f64>,
    photo_sigma_from: &'static str,
    smallest_change: Vec<Value>,
    repeats: Option<Value>,
    warnings: Vec<&'static str>,
}

/// Angles in degrees, values in the dial's unit, lengths in px of the reference photo.
///
/// # Errors
/// When it cannot be written (a fault of the program).
pub fn check(dial: &Dial, a: &Assessment) -> Result<String, JsonError> {
    let marks = a.marks.iter().map(|m| {
        json!({
            "value": finite(m.value), "angle": finite(m.angle), "sigma": finite(m.sigma), "sigma_value": finite(m.sigma_value),
            "click_residual": m.residual, "kind": kind(m.kind),
        })
    });
    let stretches =
        a.stretches.iter().map(|s| json!({ "from": s.from, "to": s.to, "angle": s.angle, "value_per_degree": finite(s.per_degree) }));
    let pixel = a.sizes.iter().map(|s| json!({ "across": s.across, "degrees": finite(s.degrees), "value": finite(s.value) }));
    let smallest = a.smallest.iter().map(|s| {
        let of = |f: fn(&Shown) -> f64| s.change.as_ref().and_then(|c| finite(f(c)));
        json!({ "photos": s.photos, "change": of(|c| c.size), "at": of(|c| c.at), "fixed": of(|c| c.fixed) })
    });
    let repeats = a.repeats.map(|r| {
        json!({
            "count": r.count, "mean": finite(r.mean), "low": finite(r.range.0), "high": finite(r.range.1),
            "sd": r.sd.and_then(finite), "expected": finite(r.expected), "wander": r.wander(),
        })
    });
    written(&Checked {
        format_version: FORMAT_VERSION,
        schema: "needleband/check",
        dial: &dial.name,
        dial_id: &dial.id,
        unit: unit_letter(dial.unit),
        marks: marks.collect(),
        click_residual: a.residual,
        reference: json!({ "across": 2.0 * dial.face.scale, "tilt": dial.face.tilt, "blur": a.blur }),
        value_per_degree: finite(a.per_degree),
        stretches: stretches.collect(),
        pixel: pixel.collect(),
        photo_sigma: finite(a.noise.sigma),
        photo_sigma_from: match a.noise.from {
            NoiseFrom::Assumed => "assumed",
            NoiseFrom::Explained => "photo",
            NoiseFrom::Seen => "repeats",
        },
        smallest_change: smallest.collect(),
        repeats,
        warnings: a.worries.iter().map(crate::assess::Worry::code).collect(),
    })
}

fn kind(kind: MarkKind) -> &'static str {
    match kind {
        MarkKind::Labelled => "given",
        MarkKind::Counted => "counted",
        MarkKind::Angle => "angle_given",
        MarkKind::Known => "thermometer",
    }
}
