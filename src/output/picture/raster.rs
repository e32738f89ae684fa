//! Outlines painted over a picture.
use super::error::PictureError;
use super::figure::{Figure, Finish};
use image::RgbImage;
use tiny_skia::{Color, FillRule, IntSize, LineCap, LineJoin, Paint, Pixmap, Shader, StrokeDash, Transform};

/// Paints the figures in their order.
///
/// # Errors
/// When the picture has no pixels, or a colour is none (a fault of the program).
pub(super) fn paint(figures: &[Figure], picture: RgbImage) -> Result<RgbImage, PictureError> {
    let (w, h) = picture.dimensions();
    let rgba: Vec<u8> = picture.pixels().flat_map(|p| [p.0[0], p.0[1], p.0[2], 255]).collect();
    let size = IntSize::from_wh(w, h).ok_or(PictureError::Empty)?;
    let mut canvas = Pixmap::from_vec(rgba, size).ok_or(PictureError::Empty)?;
    for figure in figures {
        match figure.finish {
            Finish::Filled(colour, opacity) => {
                canvas.fill_path(&figure.path, &solid(colour, opacity)?, FillRule::Winding, Transform::identity(), None);
            }
            Finish::Stroked(s) => {
                let dash = if s.dash > 0.0 { StrokeDash::new(vec![s.dash as f32; 2], 0.0) } else { None };
                let stroke = tiny_skia::Stroke {
                    width: s.width as f32,
                    line_cap: LineCap::Round,
                    line_join: LineJoin::Round,
                    dash,
                    ..tiny_skia::Stroke::default()
                };
                canvas.stroke_path(&figure.path, &solid(s.colour, s.opacity)?, &stroke, Transform::identity(), None);
            }
        }
    }
    let rgb: Vec<u8> = canvas.data().chunks_exact(4).flat_map(|p| p.iter().take(3).copied()).collect();
    RgbImage::from_raw(w, h, rgb).ok_or(PictureError::Empty)
}

/// Paint of a colour "#rrggbb".
fn solid(colour: &str, opacity: f64) -> Result<Paint<'static>, PictureError> {
    let number = colour.strip_prefix('#').filter(|d| d.len() == 6).and_then(|d| u32::from_str_radix(d, 16).ok());
    let [_, r, g, b] = number.ok_or_else(|| PictureError::Drawing(format!("{colour} is no colour")))?.to_be_bytes();
    let alpha = (255.0 * opacity).round().clamp(0.0, 255.0) as u8;
    Ok(Paint { shader: Shader::SolidColor(Color::from_rgba8(r, g, b, alpha)), ..Paint::default() })
}
