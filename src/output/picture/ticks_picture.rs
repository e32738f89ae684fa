//! The photo with each found tick's number beside it, large enough for a phone.
use super::banner::plain_type;
use super::canvas::{Picture, stacked};
use super::error::PictureError;
use super::face::Pen;
use super::palette::{QUIET, RIM, SCALE, TEXT, WARN};
use super::svg::{Anchor, Stroke, Svg, Type};
use super::view::View;
use crate::calibrate::{FoundDial, NumberedTick};
use crate::output::text::letter;
use crate::photo::Photo;
use image::RgbImage;

/// Width of the picture, px.
const WIDTH: f64 = 1600.0;
/// How far round a dial the picture reaches, in its radii.
const REACH: f64 = 1.5;
/// Ground below the photo, for two lines of words.
const BELOW: u32 = 120;

/// Draws the ticks of all dials given over the part of the photo that holds them: a line on each tick, its number outside the ring;
/// doubtful ones dashed and in the warning colour, with a question mark. 1600 px wide.
///
/// # Errors
/// When there is no dial, there are no pixels, or the drawing fails.
pub fn ticks_picture(photo: &Photo, dials: &[FoundDial]) -> Result<Picture, PictureError> {
    let view = view(photo, dials).ok_or(PictureError::Empty)?;
    let picture = view.picture(photo).ok_or(PictureError::Empty)?;
    let mut svg = Svg::new();
    for (k, dial) in dials.iter().enumerate() {
        let pen = Pen { plane: &dial.plane, view, weight: (dial.radius * view.scale / 350.0).clamp(0.3, 2.0) };
        ticks(&mut svg, &pen, dial, &picture);
        let name = (dials.len() > 1).then(|| letter(k));
        pivot(&mut svg, &pen, name);
    }
    let top = f64::from(picture.height());
    let line = |svg: &mut Svg, y: f64, words: &str| svg.text([30.0, top + y], plain_type(34.0, TEXT), words);
    line(&mut svg, 48.0, "Say what some numbers stand for:  calibrate --tick NUMBER=VALUE");
    svg.text([30.0, top + 96.0], plain_type(30.0, QUIET), "Orange and with ?: may be no tick of the scale.");
    Ok(Picture::new(svg.over(stacked(&picture, BELOW))?))
}

fn view(photo: &Photo, dials: &[FoundDial]) -> Option<View> {
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    for d in dials {
        for (k, c) in [d.pivot.x + 0.5, d.pivot.y + 0.5].into_iter().enumerate() {
            low[k] = low[k].min(c - REACH * d.radius);
            high[k] = high[k].max(c + REACH * d.radius);
        }
    }
    let size = [photo.width as f64, photo.height as f64];
    // a dial cut by the frame does not show more than the photo holds
    let low = low.map(|v| v.max(0.0).floor());
    let crop: Vec<f64> = (0..2).map(|k| (high[k].min(size[k]) - low[k]).ceil()).collect();
    (crop[0] >= 8.0 && crop[1] >= 8.0).then(|| View {
        origin: low.map(|v| v as i64),
        crop: [crop[0] as u32, crop[1] as u32],
        scale: WIDTH / crop[0],
    })
}

fn ticks(svg: &mut Svg, pen: &Pen, dial: &FoundDial, under: &RgbImage) {
    let gap = dial.ticks.windows(2).map(|w| w[1].angle - w[0].angle).fold(360.0, f64::min);
    // letters as large as the narrowest gap allows, on two rings where they would be too small
    let room = gap.to_radians() * dial.radius * pen.view.scale;
    let rings = if room < 62.0 { 2.0 } else { 1.0 };
    let size = (0.62 * room * rings).clamp(26.0, 54.0);
    let step = 1.15 * size / (dial.radius * pen.view.scale);
    let outside = |t: &NumberedTick| 1.0 + step * if rings > 1.0 && t.number.is_multiple_of(2) { 1.9 } else { 0.9 };
    let inside = |t: &NumberedTick| 2.0 - dial.ticks.iter().map(|t| t.length).fold(0.0, f64::max) - outside(t);
    let print = |radius: &dyn Fn(&NumberedTick) -> f64| -> f64 {
        dial.ticks.iter().filter(|t| t.long).filter_map(|t| pen.polar(radius(t), t.angle)).map(|at| contrast(under, at, 0.6 * size)).sum()
    };
    // a number must not hide the printed numeral
    let inwards = print(&inside) < 0.6 * print(&outside);
    for t in &dial.ticks {
        let ends = [t.inner, t.outer].map(|p| pen.view.place(p.x, p.y));
        let (colour, text) = if t.doubt.is_some() { (WARN, WARN) } else { (SCALE, TEXT) };
        pen.rimmed(svg, &ends, Stroke { dash: if t.doubt.is_some() { 5.0 } else { 0.0 }, ..Stroke::solid(colour, 2.6) });
        let radius = if inwards { inside(t) } else { outside(t) };
        let Some([x, y]) = pen.polar(radius, t.angle) else { continue };
        if (radius - 1.0).abs() > 1.5 * step && !inwards {
            let lead: Vec<_> = [1.02, radius - 0.55 * step].iter().filter_map(|r| pen.polar(*r, t.angle)).collect();
            svg.line(&lead, Stroke::solid(colour, 1.4).faded(0.7));
        }
        let label = if t.doubt.is_some() { format!("{}?", t.number) } else { t.number.to_string() };
        let look = Type { size, bold: true, colour: text, anchor: Anchor::Middle, halo: Some(RIM) };
        svg.text([x, y + 0.36 * size], look, &label);
    }
}

/// Spread of the levels round a place of the canvas: large where something is printed.
fn contrast(picture: &RgbImage, [x, y]: [f64; 2], half: f64) -> f64 {
    let reach = half as i64;
    let level = |dx: i64, dy: i64| {
        let (u, v) = (u32::try_from(x as i64 + dx).ok()?, u32::try_from(y as i64 + dy).ok()?);
        picture.get_pixel_checked(u, v).map(|p| f64::from(p.0[1]))
    };
    let levels: Vec<f64> = (-reach..=reach)
        .step_by(3)
        .flat_map(|dy| (-reach..=reach).step_by(3).map(move |dx| (dx, dy)))
        .filter_map(|(dx, dy)| level(dx, dy))
        .collect();
    let n = levels.len().max(1) as f64;
    let mean = levels.iter().sum::<f64>() / n;
    levels.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n
}

fn pivot(svg: &mut Svg, pen: &Pen, name: Option<char>) {
    let Some([x, y]) = pen.at(0.0, 0.0) else { return };
    pen.rimmed(svg, &[[x - 16.0, y], [x + 16.0, y]], Stroke::solid(TEXT, 2.2));
    pen.rimmed(svg, &[[x, y - 16.0], [x, y + 16.0]], Stroke::solid(TEXT, 2.2));
    if let Some(name) = name {
        let look = Type { size: 64.0, bold: true, colour: TEXT, anchor: Anchor::Start, halo: Some(RIM) };
        svg.text([x + 24.0, y - 20.0], look, &name.to_string());
    }
}
