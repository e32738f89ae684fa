//! What a read measured, as JSON: the field `metrics` of a photo's line.
use crate::reading::Metrics;
use crate::reading::metrics::{LineMetrics, NeedleMetrics, PlaceMetrics, ScaleMetrics, Step};
use crate::register::Seen;
use serde_json::{Value, json};

/// The version of the field: rises when one of its numbers changes its meaning or goes.
const METRICS_VERSION: u32 = 2;

/// All numbers; angles in degrees, temperatures in the dial's unit. A stage that was not taken is `null`, one that found nothing `"nothing"`;
/// a number that is not finite is `null`.
pub(super) fn metrics(m: &Metrics) -> Value {
    json!({
        "version": METRICS_VERSION,
        "photo": {
            "width": m.photo.width,
            "height": m.photo.height,
            "levels": m.photo.levels,
            "focal_ratio": m.photo.focal_ratio,
        },
        "file": { "marks": m.file.marks, "uncovered": m.file.uncovered, "mirrored": m.file.mirrored },
        "first": step(&m.first, place),
        "line": step(&m.line, line),
        "last": step(&m.last, place),
        "needle": step(&m.needle, needle),
        "glyphs": step(&m.glyphs, |g| g.iter().map(glyph).collect()),
        "scale": step(&m.scale, scale),
    })
}

fn step<T>(step: &Step<T>, of: impl Fn(&T) -> Value) -> Value {
    match step {
        Step::NotTaken => Value::Null,
        Step::Nothing => json!("nothing"),
        Step::Taken(t) => of(t),
    }
}

fn place(p: &PlaceMetrics) -> Value {
    json!({
        "print_match": p.print_match,
        "seen": p.seen,
        "contradicted": p.contradicted,
        "matches": p.matches,
        "radius_px": p.radius_px,
        "tilt_deg": p.tilt_deg,
        "blur_px": p.blur_px,
        "noise": p.noise,
        "gain": p.gain,
        "from_middle": p.from_middle,
        "radius": p.radius,
    })
}

fn line(l: &LineMetrics) -> Value {
    json!({ "score": l.score, "runner_up": l.runner_up, "runner_up_seen": l.runner_up_seen, "angle_deg": l.angle_deg, "lit": l.lit })
}

fn needle(n: &NeedleMetrics) -> Value {
    json!({
        "angle_deg": n.angle_deg,
        "sigma_deg": n.sigma_deg,
        "turned_deg": n.turned_deg,
        "off_line": n.off_line,
        "from_reference_deg": n.from_reference_deg,
        "step": n.step,
        "noise": n.noise,
        "length_px": n.length_px,
        "seen": n.seen,
        "halves": n.halves,
        "wider": n.wider,
        "taper": n.taper,
        "outline": n.outline,
        "offset": n.offset,
        "expected_offset": n.expected_offset.0,
        "expected_offset_sigma": n.expected_offset.1,
    })
}

fn glyph(s: &Seen) -> Value {
    json!({ "missing": s.missing, "extra": s.extra, "likeness": s.likeness })
}

fn scale(s: &ScaleMetrics) -> Value {
    json!({
        "value": s.value,
        "sigma": s.sigma,
        "read_sigma": s.read_sigma,
        "low": s.band.0,
        "high": s.band.1,
        "flat": s.flat,
        "per_degree": s.per_degree,
        "before_first_deg": s.beyond_deg.0,
        "after_last_deg": s.beyond_deg.1,
        "understated": s.understated,
    })
}
