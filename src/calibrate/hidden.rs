//! Marks below the needle of the reference photo: what was taken for their tick may be an edge of the needle.
use super::tick::Tick;
use crate::dial::{Dial, MarkKind};
use crate::maths::angle::wrap;
use crate::maths::source::Cause;
use crate::register::face::NeedlePlace;

/// Ticks farther from a mark than this are others, degrees.
const OWN: f64 = 1.0;

/// Gives the marks whose tick the needle covers in its middle a term of their own: anywhere between the needle's edges (rectangular).
/// Not where further photos have uncovered it.
pub fn doubt(dial: &mut Dial, ticks: &[Tick], scale: f64) {
    let needle = NeedlePlace::new(&dial.needle, 0.0, 0.0);
    let (at, uncovered) = (dial.needle.angle, &dial.face.uncovered);
    let wide = |angle: f64| {
        let off = |t: &&Tick| wrap(t.angle - angle).abs();
        let tick = ticks.iter().min_by(|a, b| off(a).total_cmp(&off(b))).filter(|t| off(t) < OWN)?;
        let middle = 0.5 * (tick.radii[0] + tick.radii[1]);
        let covers = needle.half_angle_at(middle);
        let reach = covers + (tick.half_width / scale / middle).to_degrees();
        let shown = uncovered.iter().any(|[a, b]| (*a..=*b).contains(&middle));
        (covers > 0.0 && !shown && wrap(angle - at).abs() < reach).then_some(reach / 3f64.sqrt())
    };
    let hidden: Vec<Option<f64>> = dial.marks.iter().map(|m| if m.kind == MarkKind::Angle { None } else { wide(m.angle) }).collect();
    for (i, (mark, term)) in dial.marks.iter_mut().zip(hidden).enumerate() {
        if let Some(term) = term {
            mark.terms.insert(Cause::Hidden(i), term);
        }
    }
}
