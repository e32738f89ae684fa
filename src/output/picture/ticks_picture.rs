//! The photo with each found tick's number beside it, large enough for a phone.
use super::banner::plain_type;
use super::canvas::{Picture, stacked};
use super::error::PictureError;
use super::face::Pen;
use super::numbers::{Numbers, label, least_hiding, numbers};
use super::palette::{APART, QUIET, RIM, SCALE, TEXT, WARN};
use super::svg::{Anchor, Stroke, Svg, Type};
use super::view::View;
use crate::calibrate::FoundDial;
use crate::output::text::letter;
use crate::photo::Photo;

/// Width of the picture, px.
const WIDTH: f64 = 1600.0;
/// How far round a dial the picture reaches, in its radii.
const REACH: f64 = 1.5;
/// Size of a dial's letter, and how far beside the pivot its middle lies, px.
const NAME: f64 = 64.0;
const BESIDE: [f64; 2] = [46.0, 44.0];
/// Ground below the photo, for two lines of words.
const BELOW: u32 = 120;

/// Draws the ticks of all dials given over the part of the photo that holds them: a line on each tick, its number outside the ring or, where
/// that hides less, inside; doubtful ones dashed and in the warning colour, with a question mark. Of several dials each has a letter and a
/// colour. 1600 px wide.
///
/// # Errors
/// When there is no dial, there are no pixels, or the drawing fails.
pub fn ticks_picture(photo: &Photo, dials: &[FoundDial]) -> Result<Picture, PictureError> {
    let view = view(photo, dials).ok_or(PictureError::Empty)?;
    let picture = view.picture(photo).ok_or(PictureError::Empty)?;
    let weight = |d: &FoundDial| (d.radius * view.scale / 350.0).clamp(0.3, 2.0);
    let pens: Vec<Pen> = dials.iter().map(|d| Pen { plane: &d.plane, view, weight: weight(d) }).collect();
    let drawn: Vec<(&Pen, &FoundDial)> = pens.iter().zip(dials).collect();
    let all = numbers(&drawn, &picture);
    let mut svg = Svg::new();
    let several = dials.len() > 1;
    for (k, ((pen, dial), own)) in drawn.iter().zip(&all).enumerate() {
        let colours = if several { [APART[k % APART.len()]; 2] } else { [SCALE, TEXT] };
        ticks(&mut svg, pen, dial, own, colours);
    }
    let mut letters = Vec::new();
    for (k, pen) in pens.iter().enumerate() {
        let Some([x, y]) = pen.at(0.0, 0.0) else { continue };
        let colour = APART[k % APART.len()];
        pen.rimmed(&mut svg, &[[x - 16.0, y], [x + 16.0, y]], Stroke::solid(colour, 2.2));
        pen.rimmed(&mut svg, &[[x, y - 16.0], [x, y + 16.0]], Stroke::solid(colour, 2.2));
        if several {
            let corners = [[1.0, -1.0], [-1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
            let at = least_hiding(corners.map(|[a, b]| [x + a * BESIDE[0], y + b * BESIDE[1]]), NAME, (&all, &letters), &picture);
            letters.push(at);
            let look = Type { size: NAME, bold: true, colour, anchor: Anchor::Middle, halo: Some(RIM) };
            svg.text([at[0], at[1] + 0.36 * NAME], look, &letter(k).to_string());
        }
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

fn ticks(svg: &mut Svg, pen: &Pen, dial: &FoundDial, numbers: &Numbers, [stroke, text]: [&'static str; 2]) {
    for (t, radius) in dial.ticks.iter().zip(&numbers.radii) {
        let ends = [t.inner, t.outer].map(|p| pen.view.place(p.x, p.y));
        let (stroke, text) = if t.doubt.is_some() { (WARN, WARN) } else { (stroke, text) };
        pen.rimmed(svg, &ends, Stroke { dash: if t.doubt.is_some() { 5.0 } else { 0.0 }, ..Stroke::solid(stroke, 2.6) });
        let Some([x, y]) = pen.polar(*radius, t.angle) else { continue };
        if *radius > numbers.lead {
            let lead: Vec<_> = [1.02, radius - 0.55 * numbers.step].iter().filter_map(|r| pen.polar(*r, t.angle)).collect();
            svg.line(&lead, Stroke::solid(stroke, 1.4).faded(0.7));
        }
        let look = Type { size: numbers.size, bold: true, colour: text, anchor: Anchor::Middle, halo: Some(RIM) };
        svg.text([x, y + 0.36 * numbers.size], look, &label(t));
    }
}
