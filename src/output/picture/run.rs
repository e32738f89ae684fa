//! A run over time as a plot for a page.
use super::axes::Axes;
use super::look::PAGE;
use super::series;
use super::svg::{Stroke, Svg};
use crate::output::words::{sentence_case, typeset};
use crate::settle::Answer;

/// Width and height, in units that a phone shows at their own size.
const SIZE: [f64; 2] = [360.0, 280.0];

/// Readings, curve and settled band as an element of a page.
pub fn run_inline(a: &Answer) -> String {
    let mut svg = Svg::new();
    let axes = Axes::over(a, [36.0, 26.0, 284.0, 200.0], PAGE);
    series::band(&mut svg, a, &axes, PAGE);
    axes.draw(&mut svg);
    series::curve(&mut svg, a, &axes, PAGE);
    series::readings(&mut svg, a, &axes, PAGE);
    if let Some(limit) = a.limit {
        let ([left, right], y) = (axes.ends(), axes.y(limit));
        svg.line(&[[left, y], [right, y]], Stroke::solid(PAGE.warn, 1.6).dashed(6.0));
    }
    let said = sentence_case(&typeset(&a.headline()));
    let alt = format!("Plot of {} readings over time with the fitted curve. {said}.", a.points.len());
    svg.inline(SIZE, &alt)
}
