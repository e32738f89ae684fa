//! The picture that shows whether a calibration is right: the reference photo with all that was learned drawn over.
use super::banner::{HEIGHT, bold_type, plain_type, shortened};
use super::canvas::{Picture, stacked};
use super::cut_from::cut_from;
use super::error::PictureError;
use super::face::Pen;
use super::palette::{NEEDLE, QUIET, RIM, TEXT, WARN};
use super::svg::{Anchor, Stroke, Svg, Type};
use super::view::View;
use crate::dial::{Click, Dial, MarkKind};
use crate::maths::homography::{Homography, PlaneInPhoto};
use crate::output::words::plain;
use crate::photo::Photo;

const WIDTH: u32 = 1400;
/// How far round the pivot the picture reaches, in radii of the marks' circle.
const REACH: f64 = 1.55;
/// From this residual on (px of the photo) a click is named beside its mark.
const WORTH_NAMING: f64 = 0.5;

/// Draws the calibration over its reference photo: marks' circle, pivot, each mark with its value, each click and where it
/// was snapped to with the residual across the tick (photo px), and the outline of the needle. 1400 px wide.
///
/// The face picture of the dial is a part of the reference photo and is found in it again by its pixels. In any other photo
/// it is not found: then the face picture itself is shown, without the clicks.
///
/// # Errors
/// When there are no pixels or the drawing fails.
pub fn check_picture(photo: &Photo, dial: &Dial) -> Result<Picture, PictureError> {
    let face = dial.face.picture();
    let cut = cut_from(photo, &dial.face);
    let [x, y] = cut.unwrap_or([0, 0]).map(|v| v as f64);
    let plane = Homography::shifted(x, y) * dial.face.plane;
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
        let told = dial.has_ticks_at_clicks();
        for mark in &dial.marks {
            if let Some(c) = &mark.click {
                click(&mut svg, &pen, c, if told { pen.polar(1.34, mark.angle) } else { None });
            }
        }
    }
    summary(&mut svg, dial, f64::from(picture.height()));
    let canvas = stacked(&picture, HEIGHT - 60);
    Ok(Picture::new(svg.over(canvas)?))
}

fn view(ground: &Photo, plane: &PlaneInPhoto) -> Option<View> {
    let centre = plane.seen_at(0.0, 0.0)?;
    let radius = [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)]
        .iter()
        .filter_map(|(x, y)| plane.seen_at(*x, *y))
        .map(|p| (p[0] - centre[0]).hypot(p[1] - centre[1]))
        .fold(0.0, f64::max);
    View::square(ground, centre, REACH * radius, WIDTH)
}

/// The needle's outline: half widths on both sides of its axis.
fn needle(svg: &mut Svg, pen: &Pen, dial: &Dial) {
    let look = &dial.needle;
    let (s, c) = look.angle.to_radians().sin_cos();
    let at = |t: f64, side: f64| {
        let across = look.offset + if t < 0.0 { look.tail_shift } else { 0.0 } + side;
        pen.at(t * s + across * c, t * c - across * s)
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
    let mut parts = vec![format!("{} to {} {}", plain(low), plain(high), dial.unit.symbol())];
    let kinds = [
        (MarkKind::Labelled, "given"),
        (MarkKind::Angle, "given as angles"),
        (MarkKind::Known, "by thermometer"),
        (MarkKind::Counted, "counted"),
    ];
    let marks: Vec<String> = kinds.iter().filter(|(k, _)| count(*k) > 0).map(|(k, what)| format!("{} {what}", count(*k))).collect();
    parts.push(format!("marks: {}", marks.join(", ")));
    let worst = dial.marks.iter().filter_map(|m| m.click.as_ref()?.residual).map(f64::abs).fold(f64::NAN, f64::max);
    if worst.is_finite() {
        parts.push(format!("largest click residual {worst:.1} px"));
    }
    let bare = !dial.has_ticks_at_clicks() && dial.marks.iter().any(|m| m.click.is_some());
    if bare {
        parts.push("all as clicked".to_string());
    }
    svg.text([44.0, top + 130.0], plain_type(34.0, TEXT), &parts.join("  ·  "));
    let (tick, dot) =
        if bare { ("in line with a printed mark", "") } else { ("on a printed mark", " White dot: the printed tick it was snapped to.") };
    let ask = format!("Check: every blue tick {tick}, with its value; the cross on the pivot; the yellow outline on the needle.");
    svg.text([44.0, top + 186.0], plain_type(25.0, QUIET), &ask);
    svg.text([44.0, top + 220.0], plain_type(25.0, QUIET), &format!("Orange ring: your click.{dot}"));
}
