//! What is drawn of a run over time, on its axes: settled band, curve, readings.
use super::axes::Axes;
use super::look::Look;
use super::svg::{Stroke, Svg};
use crate::settle::Answer;

/// A reading's bar is 95 % of its own photo: the dial's share moves all of them alike and is not drawn at each.
const BAR: f64 = 1.959964;

/// The settled level's band, from side to side.
pub(super) fn band(svg: &mut Svg, a: &Answer, axes: &Axes, look: Look) {
    let Some(level) = &a.level else { return };
    let (low, high) = (axes.y(level.temperature.band().0), axes.y(level.temperature.band().1));
    let middle = (low + high) / 2.0;
    // at least two px, so that a narrow band is seen
    let (top, bottom) = (high.min(middle - 1.0), low.max(middle + 1.0));
    let [left, right] = axes.ends();
    svg.area(&[[left, top], [right, top], [right, bottom], [left, bottom]], look.band, look.strokes.band);
}

/// The fitted curve.
pub(super) fn curve(svg: &mut Svg, a: &Answer, axes: &Axes, look: Look) {
    let Some(curve) = a.curve else { return };
    let (width, pieces) = look.strokes.curve;
    let time = |k: u32| a.span * f64::from(k) / f64::from(pieces);
    let points: Vec<[f64; 2]> = (0..=pieces).map(time).map(|t| [axes.x(t), axes.y(curve.at(t))]).collect();
    svg.line(&points, Stroke::solid(look.curve, width));
}

/// The readings, each with its bar; those held down in the colour of a warning.
pub(super) fn readings(svg: &mut Svg, a: &Answer, axes: &Axes, look: Look) {
    for (k, p) in a.points.iter().enumerate() {
        let (x, y, half) = (axes.x(p.seconds), p.value.value(), BAR * p.own);
        let colour = if a.bad.contains(&k) { look.warn } else { look.mark };
        svg.line(&[[x, axes.y(y - half)], [x, axes.y(y + half)]], Stroke::solid(colour, look.strokes.bar));
        svg.ring([x, axes.y(y)], look.strokes.ring.0, Stroke::solid(colour, look.strokes.ring.1));
    }
}
