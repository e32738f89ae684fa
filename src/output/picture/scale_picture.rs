//! The scale as a curve: value over needle angle, its marks, and what a degree of needle is worth along it.
use super::banner::{bold_type, plain_type, shortened};
use super::canvas::{Picture, blank};
use super::error::PictureError;
use super::palette::{NEEDLE, QUIET, SCALE, TEXT};
use super::svg::{Anchor, Stroke, Svg, Type};
use crate::dial::{Dial, MarkKind};
use crate::output::words::{number, plain};
use crate::scale::Scale;

const SIZE: [u32; 2] = [1400, 1000];
/// Left, top, width, height of the curve and of the worth of a degree below it, px.
const CURVE: [f64; 4] = [130.0, 150.0, 1210.0, 500.0];
const WORTH: [f64; 4] = [130.0, 730.0, 1210.0, 170.0];

/// Draws the scale, 1400 x 1000 px.
///
/// # Errors
/// When the drawing fails.
pub fn scale_picture(dial: &Dial) -> Result<Picture, PictureError> {
    Ok(Picture::new(drawn(dial).over(blank(SIZE[0], SIZE[1]))?))
}

fn drawn(dial: &Dial) -> Svg {
    let mut svg = Svg::new();
    let (Some(first), Some(last)) = (dial.marks.first(), dial.marks.last()) else { return svg };
    let (scale, sweep, unit) = (Scale::new(dial), last.angle - first.angle, dial.unit.symbol());
    let along = |angle: f64| (angle - first.angle) / sweep;
    let at = |k: u32| first.angle + sweep * f64::from(k) / 240.0;
    svg.text([44.0, 70.0], bold_type(44.0, TEXT), &shortened(&dial.name, 36));
    svg.text([44.0, 112.0], plain_type(26.0, QUIET), &format!("{unit} over degrees of needle, clockwise from straight up"));
    let place = |[left, top, width, height]: [f64; 4], x: f64, y: f64| [left + width * x, top + height * (1.0 - y)];
    let high = |value: f64| (value - first.value) / (last.value - first.value);
    for m in dial.marks.iter().filter(|m| m.kind != MarkKind::Counted) {
        let y = place(CURVE, 0.0, high(m.value))[1];
        svg.line(&[[CURVE[0], y], [CURVE[0] + CURVE[2], y]], Stroke::solid(QUIET, 1.0).faded(0.25));
        svg.text([CURVE[0] - 14.0, y + 9.0], Type { anchor: Anchor::End, ..plain_type(26.0, TEXT) }, &plain(m.value));
        let x = place(CURVE, along(m.angle), 0.0)[0];
        svg.line(&[[x, CURVE[1]], [x, WORTH[1] + WORTH[3]]], Stroke::solid(QUIET, 1.0).faded(0.25));
        svg.text(
            [x, CURVE[1] + CURVE[3] + 36.0],
            Type { anchor: Anchor::Middle, ..plain_type(24.0, TEXT) },
            &format!("{}°", number(m.angle, 0)),
        );
    }
    let curve: Vec<_> = (0..=240).map(|k| place(CURVE, along(at(k)), high(scale.value(at(k))))).collect();
    svg.line(&curve, Stroke::solid(NEEDLE, 3.0));
    for m in &dial.marks {
        let radius = if m.kind == MarkKind::Counted { 3.5 } else { 8.0 };
        svg.ring(place(CURVE, along(m.angle), high(m.value)), radius, Stroke::solid(SCALE, 2.6));
    }
    let slopes: Vec<f64> = (1..240).map(|k| scale.slope(at(k)).abs()).collect();
    let most = slopes.iter().copied().fold(0.0, f64::max).max(1e-9);
    let worth: Vec<_> = slopes.iter().zip(1..).map(|(s, k)| place(WORTH, along(at(k)), s / (1.1 * most))).collect();
    svg.line(&worth, Stroke::solid(SCALE, 2.6));
    for (share, value) in [(0.0, 0.0), (1.0 / 1.1, most)] {
        let y = place(WORTH, 0.0, share)[1];
        svg.line(&[[WORTH[0], y], [WORTH[0] + WORTH[2], y]], Stroke::solid(QUIET, 1.0).faded(0.4));
        svg.text(
            [WORTH[0] - 14.0, y + 9.0],
            Type { anchor: Anchor::End, ..plain_type(24.0, TEXT) },
            &plain((value * 100.0).round() / 100.0),
        );
    }
    svg.text([WORTH[0], WORTH[1] + WORTH[3] + 46.0], plain_type(26.0, QUIET), &format!("what a degree of needle is worth, {unit}"));
    svg
}
