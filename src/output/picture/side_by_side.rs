//! Before and after in one picture, fit for sharing.
use super::banner::{bold_type, plain_type, shortened};
use super::canvas::{Picture, blank};
use super::error::PictureError;
use super::face::Pen;
use super::palette::{NEEDLE, QUIET, RIM, TEXT, WARN};
use super::rectified::Window;
use super::svg::{Anchor, Stroke, Svg, Type, rough_width, wrap};
use super::view::View;
use crate::compare::{Comparison, Side};
use crate::dial::Dial;
use crate::output::limit::{both_units, chance, distance};
use crate::output::words::{Banded, SHORT_CAUTION, rough_change_band, sentence_case};
use crate::photo::Photo;
use crate::reading::Record;
use image::{RgbImage, imageops};

const SIZE: [u32; 2] = [1600, 1000];
const PANEL: Window = Window { size: [778, 600], radius: 218.0 };
const TOP: u32 = 16;
/// Left edges of the two panels.
const LEFT: [u32; 2] = [16, 806];

/// A photo with its record.
#[derive(Clone, Copy, Debug)]
pub struct Shown<'a> {
    /// The photo.
    pub photo: &'a Photo,
    /// Its record.
    pub record: &'a Record,
}

/// Draws two dials upright at the same size, each with the mean of its side, and the verdict below. 1600 x 1000 px.
///
/// Both are straightened with their homographies, so a turned needle is a changed reading and not a moved phone. The
/// numbers are those of the sides, not of the two photos alone. The dashed line after is the needle before.
///
/// # Errors
/// When a photo has no pixels or the drawing fails.
pub fn side_by_side(dial: &Dial, comparison: &Comparison, before: Shown, after: Shown) -> Result<Picture, PictureError> {
    let mut canvas = blank(SIZE[0], SIZE[1]);
    let mut svg = Svg::new();
    let sides = [("BEFORE", before, &comparison.before), ("AFTER", after, &comparison.after)];
    for ((name, shown, side), left) in sides.into_iter().zip(LEFT) {
        imageops::replace(&mut canvas, &panel(shown)?, i64::from(left), i64::from(TOP));
        needles(&mut svg, left, shown, (name == "AFTER").then_some(before));
        label(&mut svg, [f64::from(left), f64::from(TOP)], name, shown);
        limit(&mut svg, left, dial, side, comparison);
        numbers(&mut svg, f64::from(left), side, comparison);
    }
    verdict(&mut svg, dial, comparison);
    Ok(Picture::new(svg.over(canvas)?))
}

/// The dial straightened, or the whole photo where that is not possible.
fn panel(shown: Shown) -> Result<RgbImage, PictureError> {
    let straight = shown.record.evidence.as_ref().and_then(|e| PANEL.picture(shown.photo, e));
    if let Some(picture) = straight {
        return Ok(picture);
    }
    let whole = View::whole(shown.photo, PANEL.size[0]).picture(shown.photo).ok_or(PictureError::Empty)?;
    Ok(imageops::crop_imm(&whole, 0, 0, PANEL.size[0], PANEL.size[1].min(whole.height())).to_image())
}

fn needles(svg: &mut Svg, left: u32, shown: Shown, ghost: Option<Shown>) {
    let plane = PANEL.plane().onto();
    let origin = [-i64::from(left), -i64::from(TOP)];
    let pen = Pen { plane: &plane, view: View { origin, crop: SIZE, scale: 1.0 }, weight: 1.0 };
    let angle = |s: Shown| s.record.evidence.as_ref().and_then(|e| e.needle.as_ref()).map(|n| n.angle);
    let ray = |angle: f64, from: f64, to: f64| [from, to].iter().filter_map(|r| pen.polar(*r, angle)).collect::<Vec<_>>();
    if let Some(angle) = ghost.and_then(angle) {
        pen.rimmed(svg, &ray(angle, 0.2, 1.1), Stroke::solid(TEXT, 2.4).dashed(10.0));
        if let Some(at) = pen.polar(1.22, angle) {
            svg.text(at, Type { anchor: Anchor::Middle, halo: Some(RIM), ..plain_type(24.0, TEXT) }, "before");
        }
    }
    if let Some(angle) = angle(shown) {
        pen.rimmed(svg, &ray(angle, 1.0, 1.14), Stroke::solid(NEEDLE, 6.0));
    }
}

/// The limit on the scale, and the margin to it at the lower left of the panel.
fn limit(svg: &mut Svg, left: u32, dial: &Dial, side: &Side, comparison: &Comparison) {
    let Some(margin) = &side.margin else { return };
    let plane = PANEL.plane().onto();
    let pen = Pen { plane: &plane, view: View { origin: [-i64::from(left), -i64::from(TOP)], crop: SIZE, scale: 1.0 }, weight: 1.0 };
    pen.limit(svg, dial, comparison.unit.convert(margin.limit, dial.unit));
    let unit = comparison.unit;
    let lines = [
        format!("limit {}: {}", both_units(margin.limit, unit), distance(margin, unit)),
        format!("probability of being above: {}", chance(margin)),
    ];
    let foot = f64::from(TOP + PANEL.size[1]);
    for (line, y) in lines.iter().zip([foot - 92.0, foot - 58.0]) {
        svg.text([f64::from(left) + 22.0, y], Type { halo: Some(RIM), ..plain_type(25.0, WARN) }, line);
    }
}

fn label(svg: &mut Svg, [x, y]: [f64; 2], name: &str, shown: Shown) {
    svg.text([x + 22.0, y + 54.0], Type { halo: Some(RIM), ..bold_type(42.0, TEXT) }, name);
    if let Some(time) = &shown.record.taken_at {
        let right = Type { anchor: Anchor::End, halo: Some(RIM), ..plain_type(25.0, TEXT) };
        svg.text([x + f64::from(PANEL.size[0]) - 20.0, y + f64::from(PANEL.size[1]) - 20.0], right, time);
    }
}

fn numbers(svg: &mut Svg, left: f64, side: &Side, comparison: &Comparison) {
    let own = Banded::of(&side.mean, comparison.unit);
    let (value, half) = own.head();
    let x = left + 22.0;
    svg.runs([x, 710.0], bold_type(88.0, TEXT), &[(&value, bold_type(88.0, TEXT)), (&half, plain_type(58.0, TEXT))]);
    let n = side.read.len();
    let count = if n == 1 { "one photo".to_string() } else { format!("mean of {n} photos") };
    let second = own.other().map_or(count.clone(), |o| format!("{}  ·  {count}", o.head().0 + &o.head().1));
    svg.text([x, 762.0], plain_type(34.0, QUIET), &second);
}

fn verdict(svg: &mut Svg, dial: &Dial, comparison: &Comparison) {
    svg.line(&[[38.0, 796.0], [1562.0, 796.0]], Stroke::solid(QUIET, 1.5).faded(0.5));
    let words = sentence_case(&comparison.verdict.headline(comparison.unit));
    let size = (1500.0 / rough_width(&words, 1.0, true)).min(58.0);
    // one more line, so all stand closer
    let [first, second, foot_line] = if comparison.adjusted.is_some() { [856.0, 902.0, 982.0] } else { [868.0, 920.0, 974.0] };
    svg.text([38.0, first], bold_type(size, TEXT), &words);
    let band = rough_change_band(comparison);
    for (k, line) in wrap(&band, 34.0, 1500.0).iter().take(1).enumerate() {
        svg.text([38.0, second + 40.0 * k as f64], plain_type(34.0, TEXT), line);
    }
    if let Some(a) = &comparison.adjusted {
        let words = format!("With the weather taken out: {}", a.verdict.headline(comparison.unit));
        let size = (1500.0 / rough_width(&words, 1.0, false)).min(31.0);
        svg.text([38.0, 942.0], plain_type(size, TEXT), &words);
    }
    let shared = if comparison.shared.before > 0.0 { "; what both sides share is taken out of the change" } else { "" };
    let foot = format!("{}  ·  ± to the band's far end{shared}", shortened(&dial.name, 30));
    svg.text([38.0, foot_line], plain_type(24.0, QUIET), &foot);
    svg.text([1562.0, foot_line], Type { anchor: Anchor::End, ..plain_type(24.0, QUIET) }, SHORT_CAUTION);
}
