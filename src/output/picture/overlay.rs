//! One photo with what was found in it drawn over, and the number below.
use super::banner::{self, banner, plain_type};
use super::canvas::{Picture, stacked};
use super::error::PictureError;
use super::face::{Pen, angle_for};
use super::palette::{BAND, NEEDLE, QUIET, RIM, SCALE, WARN};
use super::svg::{Stroke, Svg, Type, wrap};
use super::view::View;
use crate::dial::Dial;
use crate::output::limit::photo_against;
use crate::output::words::{SHORT_CAUTION, sentence_case};
use crate::photo::Photo;
use crate::reading::{Evidence, Outcome, Reading, Record};
use crate::scale::Scale;

/// Width of the picture, px.
const WIDTH: u32 = 1200;
/// How far round the pivot the picture reaches, in radii of the marks' circle.
const REACH: f64 = 1.7;

/// Draws one photo's result: the crop round the dial with the marks, the needle's line and the 95 % band as the chain saw
/// them, and the number (or the reason why there is none) below. 1200 px wide; the whole photo when no dial was found.
///
/// The marks and the band are drawn on the plane of the face. The needle stands above it, so seen from the side its line
/// runs beside the middle of the band: that shift is known and is in the reading.
///
/// # Errors
/// When the photo has no pixels or the drawing fails.
pub fn overlay(photo: &Photo, dial: &Dial, record: &Record) -> Result<Picture, PictureError> {
    overlay_against(photo, dial, record, None)
}

/// The same with a limit (dial unit) drawn on the scale and the margin to it told, where one is given.
///
/// # Errors
/// As [`overlay`].
pub fn overlay_against(photo: &Photo, dial: &Dial, record: &Record, limit: Option<f64>) -> Result<Picture, PictureError> {
    let found = record.evidence.as_ref().and_then(|e| Some((e, dial_view(photo, e)?)));
    let view = found.map_or_else(|| View::whole(photo, WIDTH), |(_, v)| v);
    let picture = view.picture(photo).ok_or(PictureError::Empty)?;
    let canvas = stacked(&picture, banner::HEIGHT);
    let mut svg = Svg::new();
    if let Some((evidence, view)) = found {
        draw(&mut svg, dial, record, evidence, view);
        let shown = limit.is_some_and(|l| Pen { plane: &evidence.homography, view, weight: 1.0 }.limit(&mut svg, dial, l));
        legend(&mut svg, evidence, record, shown);
    }
    if let Some(words) = limit.and_then(|l| photo_against(dial, &record.outcome, l)) {
        against(&mut svg, &words, f64::from(picture.height()));
    }
    banner(&mut svg, dial, record, [f64::from(picture.height()), f64::from(WIDTH)]);
    Ok(Picture::new(svg.over(canvas)?))
}

/// What was found, drawn over the part of the photo that holds the dial, without a word: for a small picture beside its text.
///
/// # Errors
/// As [`overlay`].
pub fn overlay_wordless(photo: &Photo, dial: &Dial, record: &Record) -> Result<Picture, PictureError> {
    let found = record.evidence.as_ref().and_then(|e| Some((e, dial_view(photo, e)?)));
    let view = found.map_or_else(|| View::whole(photo, WIDTH), |(_, v)| v);
    let picture = view.picture(photo).ok_or(PictureError::Empty)?;
    let mut svg = Svg::new();
    if let Some((evidence, view)) = found {
        draw(&mut svg, dial, record, evidence, view);
    }
    Ok(Picture::new(svg.over(picture)?))
}

/// The same as PNG bytes.
///
/// # Errors
/// As [`overlay`], or when it cannot be encoded.
pub fn overlay_png(photo: &Photo, dial: &Dial, record: &Record) -> Result<Vec<u8>, PictureError> {
    overlay(photo, dial, record)?.png()
}

/// The same as PNG bytes, with a limit.
///
/// # Errors
/// As [`overlay_png`].
pub fn overlay_png_against(photo: &Photo, dial: &Dial, record: &Record, limit: Option<f64>) -> Result<Vec<u8>, PictureError> {
    overlay_against(photo, dial, record, limit)?.png()
}

/// What is said of the limit, above the lower edge of the photo.
fn against(svg: &mut Svg, words: &str, bottom: f64) {
    for (k, line) in wrap(&format!("{}. {SHORT_CAUTION}", sentence_case(words)), 30.0, 1120.0).iter().rev().enumerate() {
        let kind = Type { halo: Some(RIM), ..plain_type(30.0, WARN) };
        svg.text([40.0, bottom - 24.0 - 38.0 * k as f64], kind, line);
    }
}

fn dial_view(photo: &Photo, evidence: &Evidence) -> Option<View> {
    let centre = evidence.homography.seen_at(0.0, 0.0)?;
    View::square(photo, centre, REACH * evidence.radius_px, WIDTH)
}

/// Most that a needle reads beside its direction, degrees.
const BESIDE: f64 = 10.0;

fn draw(svg: &mut Svg, dial: &Dial, record: &Record, evidence: &Evidence, view: View) {
    let pen = Pen { plane: &evidence.homography, view, weight: 1.0 };
    pen.scale(svg, dial);
    let Some(needle) = &evidence.needle else { return };
    if let Outcome::Reading(reading) = &record.outcome
        && let Some((from, to)) = band_angles(dial, reading, needle.angle)
    {
        pen.band(svg, from, to);
    }
    pen.needle(svg, needle);
}

/// The scale's angles at the ends of the band: as far from where the needle reads as the scale runs between value and end.
fn band_angles(dial: &Dial, reading: &Reading, needle: f64) -> Option<(f64, f64)> {
    let scale = Scale::new(dial);
    let (points, value) = (scale.points(), reading.temperature.value());
    let here = angle_for(&points, value)?;
    // a needle that passes beside the pivot reads where it crosses the marks' ring
    let beside = (value - scale.value(needle)) / scale.slope(needle);
    let reads = if reading.temperature.interval().is_none() && beside.abs() < BESIDE { needle + beside } else { needle };
    let end = |v: f64| angle_for(&points, v).map(|a| reads + a - here);
    Some((end(reading.temperature.band().0)?, end(reading.temperature.band().1)?))
}

/// What the colours mean, at the top left.
fn legend(svg: &mut Svg, evidence: &Evidence, record: &Record, limit: bool) {
    let mut lines = vec![(SCALE, "marks of the dial file")];
    if evidence.needle.is_some() {
        lines.push((NEEDLE, "needle as seen"));
        if matches!(record.outcome, Outcome::Reading(_)) {
            lines.push((BAND, "95 % band, on the face below the needle"));
        }
    }
    if limit {
        lines.push((WARN, "the limit given"));
    }
    for (k, (colour, words)) in lines.into_iter().enumerate() {
        let y = 44.0 + 38.0 * k as f64;
        svg.line(&[[30.0, y - 9.0], [66.0, y - 9.0]], Stroke::solid(RIM, 11.0).faded(0.6));
        svg.line(&[[30.0, y - 9.0], [66.0, y - 9.0]], Stroke::solid(colour, 6.0));
        svg.text([80.0, y], Type { halo: Some(RIM), ..plain_type(27.0, QUIET) }, words);
    }
}
