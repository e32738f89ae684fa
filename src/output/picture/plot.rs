//! Readings over time as a plot: axes in °C and °F, readings with their bands, the curve, the settled band.
use super::axes::Axes;
use super::banner::{bold_type, plain_type, shortened};
use super::canvas::{Picture, blank};
use super::error::PictureError;
use super::look;
use super::palette::{BAND, NEEDLE, QUIET, RIM, SCALE, TEXT, WARN};
use super::series;
use super::svg::{Anchor, Stroke, Svg, Type, rough_width};
use crate::dial::Dial;
use crate::output::limit::{both_units, chance, distance};
use crate::output::words::{SHORT_CAUTION, nearness, sentence_case, typeset};
use crate::settle::{Answer, Verdict};

const SIZE: [u32; 2] = [1400, 900];
/// The plot as PNG, 1400 x 900 px.
///
/// # Errors
/// When the drawing fails.
pub fn plot_png(answer: &Answer, dial: &Dial) -> Result<Vec<u8>, PictureError> {
    Picture::new(drawn(answer, dial).over(blank(SIZE[0], SIZE[1]))?).png()
}

/// The plot as an SVG document of that size; its letters are outlines, so it needs no font.
///
/// # Errors
/// When the drawing fails.
pub fn plot_svg(answer: &Answer, dial: &Dial) -> Result<String, PictureError> {
    drawn(answer, dial).document(SIZE)
}

fn drawn(a: &Answer, dial: &Dial) -> Svg {
    let mut svg = Svg::new();
    let axes = Axes::over(a, [110.0, 172.0, 1180.0, 588.0], look::PICTURE);
    series::band(&mut svg, a, &axes, look::PICTURE);
    axes.draw(&mut svg);
    series::curve(&mut svg, a, &axes, look::PICTURE);
    if let Some(w) = a.within.filter(|w| w.value > 0.0 && w.value < a.span) {
        let x = axes.x(w.value);
        svg.line(&[[x, 172.0], [x, 760.0]], Stroke::solid(QUIET, 1.6).dashed(7.0));
        svg.text(
            [x - 10.0, 744.0],
            Type { anchor: Anchor::End, ..plain_type(22.0, QUIET) },
            &format!("within {}", nearness(a.near, a.unit)),
        );
    }
    series::readings(&mut svg, a, &axes, look::PICTURE);
    limit(&mut svg, a, &axes);
    words(&mut svg, a, dial);
    svg
}

/// The limit as a line, with the margin to it.
fn limit(svg: &mut Svg, a: &Answer, axes: &Axes) {
    let Some(limit) = a.limit else { return };
    let ([left, right], y) = (axes.ends(), axes.y(limit));
    svg.line(&[[left, y], [right, y]], Stroke::solid(WARN, 2.4).dashed(12.0));
    let words = match a.margin() {
        Some(m) => {
            format!("limit {}: level {}; probability of being above: {}", both_units(limit, a.unit), distance(&m, a.unit), chance(&m))
        }
        None => format!("limit {}", both_units(limit, a.unit)),
    };
    // below the line near the top of the frame, above it elsewhere
    let below = if y < 172.0 + 60.0 { 32.0 } else { -12.0 };
    svg.text([left + 14.0, y + below], Type { halo: Some(RIM), ..plain_type(24.0, WARN) }, &words);
}

fn words(svg: &mut Svg, a: &Answer, dial: &Dial) {
    let sentence = sentence_case(&typeset(&a.headline()));
    let size = (1320.0 / rough_width(&sentence, 1.0, true)).min(46.0);
    svg.text([40.0, 66.0], bold_type(size, TEXT), &sentence);
    let level = if matches!(a.verdict, Verdict::Settled { .. }) { "settled, 95 % band" } else { "level, 95 % band" };
    let key = [("reading, 95 % of its photo", SCALE), ("fitted curve", NEEDLE), (level, BAND), ("held down", WARN)];
    let mut x = 40.0;
    for (k, (label, colour)) in key.into_iter().enumerate() {
        let there = [true, a.curve.is_some(), a.level.is_some(), !a.bad.is_empty()];
        if !there.get(k).copied().unwrap_or(false) {
            continue;
        }
        sample(svg, k, [x + 14.0, 104.0], colour);
        svg.text([x + 40.0, 112.0], plain_type(24.0, TEXT), label);
        x += 90.0 + rough_width(label, 24.0, false);
    }
    svg.text([40.0, 874.0], plain_type(22.0, QUIET), &shortened(&dial.name, 40));
    svg.text([1360.0, 874.0], Type { anchor: Anchor::End, ..plain_type(22.0, QUIET) }, SHORT_CAUTION);
}

/// What a thing of the key looks like: ring, line, area, ring.
fn sample(svg: &mut Svg, kind: usize, [x, y]: [f64; 2], colour: &'static str) {
    match kind {
        1 => svg.line(&[[x - 14.0, y], [x + 14.0, y]], Stroke::solid(colour, 2.6)),
        2 => svg.area(&[[x - 14.0, y - 8.0], [x + 14.0, y - 8.0], [x + 14.0, y + 8.0], [x - 14.0, y + 8.0]], colour, 0.55),
        _ => {
            svg.line(&[[x, y - 11.0], [x, y + 11.0]], Stroke::solid(colour, 2.0));
            svg.ring([x, y], 5.0, Stroke::solid(colour, 2.2));
        }
    }
}
