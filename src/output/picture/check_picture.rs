//! The picture that shows whether a calibration is right: the reference photo with all that was learned drawn over.
use super::banner::{HEIGHT, bold_type, plain_type, shortened};
use super::canvas::{Picture, stacked};
use super::error::PictureError;
use super::face::Pen;
use super::palette::{NEEDLE, QUIET, RIM, TEXT, WARN};
use super::svg::{Anchor, Stroke, Svg, Type};
use super::view::{View, project};
use crate::base::angle::Angle;
use crate::dial::{Click, Dial, Face, MarkKind};
use crate::output::words::plain;
use crate::photo::Photo;
use nalgebra::Matrix3;

const WIDTH: u32 = 1400;
/// How far round the pivot the picture reaches, in radii of the marks' circle.
const REACH: f64 = 1.55;
/// From this residual on (px of the photo) a click is named beside its mark.
const WORTH_NAMING: f64 = 0.5;

/// Draws the calibration over its reference photo: marks' circle, pivot, each mark with its value, each click and where it
/// was snapped to with the residual across the tick (photo px), and the outline of the needle. 1400 px wide.
///
/// The face picture of the dial is a part of the reference photo and is found in it again pixel by pixel. In any other photo
/// it is not found: then the face picture itself is shown, without the clicks.
///
/// # Errors
/// When there are no pixels or the drawing fails.
pub fn check_picture(photo: &Photo, dial: &Dial) -> Result<Picture, PictureError> {
    let face = Photo {
        width: dial.face.width,
        height: dial.face.height,
        rgb: dial.face.rgb.clone(),
        hash: String::new(),
        taken_at: None,
        focal_ratio: None,
    };
    let cut = cut_from(photo, &dial.face);
    let [x, y] = cut.unwrap_or([0, 0]).map(|v| v as f64);
    let plane = Matrix3::new(1.0, 0.0, x, 0.0, 1.0, y, 0.0, 0.0, 1.0) * dial.face.plane;
    let ground = if cut.is_some() { photo } else { &face };
    let view = view(ground, &plane).unwrap_or_else(|| View::whole(ground, WIDTH));
    let picture = view.picture(ground).ok_or(PictureError::Empty)?;
    let mut svg = Svg::new();
    let pen = Pen { plane: &plane, view, weight: 1.1 };
    pen.scale(&mut svg, dial);
    needle(&mut svg, &pen, dial);
    if let Some(pivot) = pen.at(0.0, 0.0) {
        cross(&mut svg, &pen, pivot);
    }
    if cut.is_some() {
        for mark in &dial.marks {
            if let Some(c) = &mark.click {
                click(&mut svg, &pen, c, pen.polar(1.34, mark.angle));
            }
        }
    }
    summary(&mut svg, dial, f64::from(picture.height()));
    let canvas = stacked(&picture, HEIGHT - 60);
    Ok(Picture::new(svg.over(canvas)?))
}

fn view(ground: &Photo, plane: &Matrix3<f64>) -> Option<View> {
    let centre = project(plane, 0.0, 0.0)?;
    let radius = [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)]
        .iter()
        .filter_map(|(x, y)| project(plane, *x, *y))
        .map(|p| (p[0] - centre[0]).hypot(p[1] - centre[1]))
        .fold(0.0, f64::max);
    View::square(ground, centre, REACH * radius, WIDTH)
}

/// Where the face picture was cut out of the photo: the left and top edge, px; `None` when it is not an exact part of it.
///
/// Every place is tried: first on a coarse grid of pixels, which rules out nearly all, then row by row.
fn cut_from(photo: &Photo, face: &Face) -> Option<[usize; 2]> {
    let (stride, width) = (photo.width * 3, face.width * 3);
    if width == 0 || face.height == 0 || face.width > photo.width || face.height > photo.height {
        return None;
    }
    let pixel = |rgb: &[u8], at: usize| rgb.get(at..at + 3).map(|p| [p[0], p[1], p[2]]);
    let grid: Vec<(usize, usize)> = (0..64).map(|k| ((k * 37 % 64) * face.width / 64, k * face.height / 64)).collect();
    let same = |x: usize, y: usize, (gx, gy): (usize, usize)| {
        pixel(&photo.rgb, (y + gy) * stride + 3 * (x + gx)) == pixel(&face.rgb, gy * width + 3 * gx)
    };
    let rows = |x: usize, y: usize| {
        (0..face.height).all(|r| {
            let from = (y + r) * stride + 3 * x;
            photo.rgb.get(from..from + width).is_some_and(|row| Some(row) == face.rgb.get(r * width..(r + 1) * width))
        })
    };
    let mut places = (0..=photo.height - face.height).flat_map(|y| (0..=photo.width - face.width).map(move |x| (x, y)));
    places.find(|&(x, y)| grid.iter().all(|g| same(x, y, *g)) && rows(x, y)).map(|(x, y)| [x, y])
}

/// The needle's outline: half widths on both sides of its axis.
fn needle(svg: &mut Svg, pen: &Pen, dial: &Dial) {
    let look = &dial.needle;
    let d = Angle::from_degrees(look.angle).direction();
    let at = |t: f64, side: f64| {
        let across = look.offset + side;
        pen.at(t * d.x + across * d.y, t * d.y - across * d.x)
    };
    let seen: Vec<(f64, f64)> = look.radii.iter().copied().zip(look.half_width.iter().copied()).filter(|(_, w)| *w > 0.0).collect();
    let right = seen.iter().filter_map(|(t, w)| at(*t, *w));
    let left = seen.iter().rev().filter_map(|(t, w)| at(*t, -*w));
    let mut outline: Vec<[f64; 2]> = right.chain(left).collect();
    outline.extend(outline.first().copied());
    pen.rimmed(svg, &outline, Stroke::solid(NEEDLE, 2.2));
}

fn cross(svg: &mut Svg, pen: &Pen, [x, y]: [f64; 2]) {
    let r = 15.0;
    pen.rimmed(svg, &[[x - r, y], [x + r, y]], Stroke::solid(TEXT, 2.2));
    pen.rimmed(svg, &[[x, y - r], [x, y + r]], Stroke::solid(TEXT, 2.2));
}

/// The click as a ring, where it was snapped to as a dot, the residual at `label`.
fn click(svg: &mut Svg, pen: &Pen, click: &Click, label: Option<[f64; 2]>) {
    let (given, snapped) = (pen.view.place(click.given[0], click.given[1]), pen.view.place(click.snapped[0], click.snapped[1]));
    svg.ring(given, 9.0, Stroke::solid(RIM, 5.0).faded(0.6));
    svg.ring(given, 9.0, Stroke::solid(WARN, 2.6));
    pen.rimmed(svg, &[given, snapped], Stroke::solid(WARN, 1.8));
    svg.ring(snapped, 2.2, Stroke::solid(TEXT, 3.0));
    let words = match click.residual {
        None => "no tick here".to_string(),
        Some(r) if r.abs() >= WORTH_NAMING => format!("{:.1} px", r.abs()),
        Some(_) => return,
    };
    if let Some([x, y]) = label {
        svg.text([x, y + 9.0], Type { anchor: Anchor::Middle, halo: Some(RIM), ..plain_type(26.0, WARN) }, &words);
    }
}

fn summary(svg: &mut Svg, dial: &Dial, top: f64) {
    let count = |k: MarkKind| dial.marks.iter().filter(|m| m.kind == k).count();
    let (low, high) = dial.span();
    svg.text([44.0, top + 74.0], bold_type(56.0, TEXT), &shortened(&dial.name, 36));
    let mut parts = vec![format!("{} … {} {}", plain(low), plain(high), dial.unit.symbol())];
    let kinds = [(MarkKind::Labelled, "marks given"), (MarkKind::Angle, "angles given"), (MarkKind::Counted, "ticks counted")];
    parts.extend(kinds.iter().filter(|(k, _)| count(*k) > 0).map(|(k, what)| format!("{} {what}", count(*k))));
    let worst = dial.marks.iter().filter_map(|m| m.click.as_ref()?.residual).map(f64::abs).fold(f64::NAN, f64::max);
    if worst.is_finite() {
        parts.push(format!("largest click residual {worst:.1} px"));
    }
    svg.text([44.0, top + 130.0], plain_type(34.0, TEXT), &parts.join("  ·  "));
    let ask = "Check: every blue tick on a printed mark, with its value; the cross on the pivot; the yellow outline on the needle.";
    svg.text([44.0, top + 186.0], plain_type(25.0, QUIET), ask);
    svg.text([44.0, top + 220.0], plain_type(25.0, QUIET), "Orange ring: your click. White dot: the printed tick it was snapped to.");
}
