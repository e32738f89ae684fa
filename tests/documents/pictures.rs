//! The README's pictures are what the program draws: made again and compared; `REGENERATE=1` writes them and fails the run. The one of
//! the calibration page comes from a browser and is left out.
use super::{DEMO, printed, project};
use crate::support::pictures;
use image::RgbImage;
use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::imageops::resize;
use std::path::Path;
use tempfile::TempDir;

/// Where a letter or a line stands elsewhere, levels differ by 100 and more; another rounding inside a JPEG moves some by a few.
const FAR: u8 = 48;

/// How wide the README shows the larger ones.
const WIDE: u32 = 800;

/// The file as it is kept: what was drawn, or a smaller JPEG of it.
fn file(drawn: &Path, scaled: bool) -> Vec<u8> {
    if !scaled {
        return std::fs::read(drawn).unwrap();
    }
    let drawn = pictures::opened(drawn);
    let high = (f64::from(drawn.height()) * f64::from(WIDE) / f64::from(drawn.width())).round() as u32;
    let small = resize(&drawn, WIDE, high, FilterType::Lanczos3);
    let mut bytes = Vec::new();
    small.write_with_encoder(JpegEncoder::new_with_quality(&mut bytes, 90)).unwrap();
    bytes
}

/// Whether the kept picture is what was drawn; writes it when asked to.
fn holds(name: &str, drawn: &Path, scaled: bool) -> bool {
    let kept = Path::new("samples/pictures").join(name);
    let made = file(drawn, scaled);
    let picture = pictures::of_bytes(&made);
    let same = kept.exists() && alike(&pictures::opened(&kept), &picture);
    if !same && std::env::var("REGENERATE").is_ok() {
        std::fs::write(&kept, made).unwrap();
    }
    same
}

fn alike(a: &RgbImage, b: &RgbImage) -> bool {
    a.dimensions() == b.dimensions() && a.iter().zip(b.iter()).all(|(x, y)| x.abs_diff(*y) <= FAR)
}

#[test]
fn the_pictures_of_the_readme_are_what_the_program_draws() {
    let folder = TempDir::new().unwrap();
    let at = |name: &str| folder.path().join(name);
    let to = |name: &str| at(name).to_str().unwrap().to_string();
    let dial = DEMO[2];
    printed(&[&DEMO[..], &["--picture", &to("before-after.jpg")]].concat());
    printed(&["read", "--dial", dial, "samples/gearbox-oil/before/4.jpg", "--overlay", &to("drawn")]);
    printed(&["ticks", "samples/gearbox-oil/reference.jpg", "--picture", &to("ticks.png")]);
    printed(&["check", "--dial", dial, "--picture", &to("scale.png")]);
    printed(&["report", "--diary", project::diary().to_str().unwrap(), "--markdown", "--out", &to("oil.md")]);
    let other: Vec<&str> = [
        ("gearbox-oil-before-after.jpg", "before-after.jpg", false),
        ("gearbox-oil-overlay.jpg", "drawn/4.png", true),
        ("numbered-ticks.jpg", "ticks.png", true),
        ("scale.jpg", "scale.png", true),
        ("gearbox-oil-stages.png", "oil.pictures/stages.png", false),
    ]
    .into_iter()
    .filter(|(name, drawn, scaled)| !holds(name, &at(drawn), *scaled))
    .map(|p| p.0)
    .collect();
    assert!(other.is_empty(), "samples/pictures/: {other:?} are not what the program draws; REGENERATE=1 draws them anew: look at them");
}

#[test]
fn a_picture_with_other_letters_is_told_apart() {
    let at = |name: &str| pictures::opened(format!("samples/pictures/{name}"));
    let kept = at("gearbox-oil-overlay.jpg");
    let mut other = kept.clone();
    assert!(alike(&kept, &other));
    // two levels of noise, as another rounding would make
    other.iter_mut().for_each(|v| *v = v.saturating_add(2));
    assert!(alike(&kept, &other));
    // the large number below the photo, moved by a few pixels
    let (w, h) = kept.dimensions();
    let letters = image::imageops::crop_imm(&kept, 0, h - 200, w - 6, 200).to_image();
    image::imageops::replace(&mut other, &letters, 6, i64::from(h - 200));
    assert!(!alike(&kept, &other));
}
