//! A run over time as a plot for a page.
use super::axes::Axes;
use super::look::PAGE;
use super::svg::{Stroke, Svg};
use crate::output::words::{sentence_case, typeset};
use crate::settle::Answer;

/// Width and height, in units that a phone shows at their own size.
const SIZE: [f64; 2] = [360.0, 280.0];
/// A reading's bar is 95 % of its own photo.
const BAR: f64 = 1.959964;

/// Readings, curve and settled band as an element of a page.
pub fn run_inline(a: &Answer) -> String {
    let mut svg = Svg::for_page();
    let axes = Axes::over(a, [36.0, 26.0, 284.0, 200.0], PAGE);
    let [left, right] = axes.ends();
    if let Some(level) = &a.level {
        let (low, high) = (axes.y(level.band.0), axes.y(level.band.1));
        let middle = (low + high) / 2.0;
        // at least two px, so that a narrow band is seen
        let (top, bottom) = (high.min(middle - 1.0), low.max(middle + 1.0));
        svg.area(&[[left, top], [right, top], [right, bottom], [left, bottom]], PAGE.band, 0.45);
    }
    axes.draw(&mut svg);
    if let Some(curve) = a.curve {
        let points: Vec<[f64; 2]> = (0..=120).map(|k| a.span * f64::from(k) / 120.0).map(|t| [axes.x(t), axes.y(curve.at(t))]).collect();
        svg.line(&points, Stroke::solid(PAGE.curve, 1.6));
    }
    for (k, p) in a.points.iter().enumerate() {
        let (x, y, half) = (axes.x(p.seconds), p.value.value(), BAR * p.own);
        let colour = if a.bad.contains(&k) { PAGE.warn } else { PAGE.mark };
        svg.line(&[[x, axes.y(y - half)], [x, axes.y(y + half)]], Stroke::solid(colour, 1.2));
        svg.ring([x, axes.y(y)], 2.8, Stroke::solid(colour, 1.3));
    }
    let said = sentence_case(&typeset(&a.verdict.sentence(a.unit)));
    let alt = format!("Plot of {} readings over time with the fitted curve. {said}.", a.points.len());
    svg.inline(SIZE, &alt)
}
