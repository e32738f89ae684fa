//! The small picture of a note: the dial turned straight, kept bare; needle and comparison are drawn when it is shown.
use super::banner::plain_type;
use super::canvas::Picture;
use super::error::PictureError;
use super::face::Pen;
use super::palette::{NEEDLE, RIM, TEXT};
use super::rectified::Window;
use super::svg::{Anchor, Stroke, Svg, Type};
use super::view::View;
use crate::diary::Sketch;
use crate::photo::{Photo, decode};
use crate::reading::Record;
use image::RgbImage;
use image::codecs::jpeg::JpegEncoder;

/// Fine enough to check the needle by eye, small enough for a line of the diary (some 40 kB).
const WINDOW: Window = Window { size: [560, 440], radius: 160.0 };
const QUALITY: u8 = 82;

/// The dial of a photo turned straight; `None` where it was not found or cannot be turned. `place` is the photo's place in its note.
pub fn sketch(photo: &Photo, record: &Record, place: usize) -> Option<Sketch> {
    let picture = WINDOW.picture(photo, record.evidence.as_ref()?)?;
    let mut jpeg = Vec::new();
    picture.write_with_encoder(JpegEncoder::new_with_quality(&mut jpeg, QUALITY)).ok()?;
    Some(Sketch { photo: place, size: WINDOW.size, radius: WINDOW.radius, jpeg })
}

/// The sketch as JPEG with the needle marked outside the scale, and dashed where it stood before. Angles in degrees clockwise from
/// straight up.
///
/// # Errors
/// When the stored picture cannot be decoded, is not of the size stated, or the drawing fails.
pub fn sketch_drawn(sketch: &Sketch, needle: Option<f64>, before: Option<f64>) -> Result<Vec<u8>, PictureError> {
    let stored = decode(&sketch.jpeg).map_err(|e| PictureError::Drawing(e.to_string()))?;
    let size = [stored.width as u32, stored.height as u32];
    let Some(picture) = RgbImage::from_raw(size[0], size[1], stored.rgb.to_vec()).filter(|_| size == sketch.size) else {
        return Err(PictureError::Empty);
    };
    let window = Window { size, radius: sketch.radius };
    let plane = window.plane().onto();
    let pen = Pen { plane: &plane, view: View { origin: [0, 0], crop: size, scale: 1.0 }, weight: 1.0 };
    let ray = |angle: f64, from: f64, to: f64| [from, to].iter().filter_map(|r| pen.polar(*r, angle)).collect::<Vec<_>>();
    let mut svg = Svg::new();
    if let Some(angle) = before {
        pen.rimmed(&mut svg, &ray(angle, 0.2, 1.1), Stroke::solid(TEXT, 2.2).dashed(8.0));
        if let Some([x, y]) = pen.polar(1.24, angle) {
            svg.text([x, y + 7.0], Type { anchor: Anchor::Middle, halo: Some(RIM), ..plain_type(20.0, TEXT) }, "first");
        }
    }
    if let Some(angle) = needle {
        pen.rimmed(&mut svg, &ray(angle, 1.0, 1.14), Stroke::solid(NEEDLE, 6.0));
    }
    Picture::new(svg.over(picture)?).jpeg()
}
