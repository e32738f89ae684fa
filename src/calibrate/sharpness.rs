//! How sharp the reference's print is.
use super::tick_line;
use super::ticks;
use crate::dial::Dial;
use crate::maths::robust::high_median;

/// Blur of the edges of the printed ticks, px of the reference, one sigma: the middle over the ticks. `None` when no tick is found.
pub fn edge_blur(dial: &Dial) -> Option<f64> {
    let luma = dial.face.picture().luma();
    let at: Vec<(f64, f64)> = dial.marks.iter().map(|m| m.angle.to_radians().sin_cos()).collect();
    let found = ticks::find(&luma, &dial.face.plane, dial.face.scale, &at);
    high_median(found.iter().filter_map(|t| tick_line::refine(&luma, t.line, t.half_width)).map(|l| l.blur))
}
