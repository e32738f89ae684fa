//! The pictures of the stages, drawn from what the diary holds.
use super::picture::{PictureError, sketch_drawn};
use super::words::Banded;
use crate::diary::{Diary, Note, Project, Sketch};

/// A picture of one stage.
#[derive(Clone, Debug)]
pub struct Shown {
    /// Place of the stage.
    pub stage: usize,
    /// The picture.
    pub jpeg: Vec<u8>,
    /// Width and height, px.
    pub size: [u32; 2],
    /// What it shows, in words.
    pub alt: String,
    /// Name of the photo's file, and when it was taken.
    pub photo: String,
}

/// A picture for each stage that has one, of its latest note, with the needle of the first stage dashed in the later ones.
///
/// # Errors
/// When a stored picture cannot be drawn.
pub fn shown(p: &Project, d: &Diary) -> Result<Vec<Shown>, PictureError> {
    let mut out: Vec<Shown> = Vec::new();
    let mut first: Option<f64> = None;
    for (k, stage) in p.stages.iter().enumerate() {
        let found = stage.notes.iter().rev().filter_map(|n| d.notes.get(*n)).find_map(|n| Some((n, n.sketch.as_ref()?)));
        let Some((note, sketch)) = found else { continue };
        let needle = needle_of(note, sketch);
        let jpeg = sketch_drawn(sketch, needle, first)?;
        let level = stage.level.as_ref().map(|l| Banded::of_level(l, p.unit).plus_minus());
        let number = level.map_or(String::new(), |t| format!(", {t}"));
        let dashed = if first.is_some() { "; the dashed line is where it stood in the first stage" } else { "" };
        let alt = format!("The dial turned straight, stage “{}”{number}: the yellow mark is where the needle points{dashed}", stage.name);
        out.push(Shown { stage: k, jpeg, size: sketch.size, alt, photo: photo(note, sketch) });
        first = first.or(needle);
    }
    Ok(out)
}

fn needle_of(note: &Note, sketch: &Sketch) -> Option<f64> {
    Some(note.photos.get(sketch.photo)?.record.evidence.as_ref()?.needle.as_ref()?.angle)
}

fn photo(note: &Note, sketch: &Sketch) -> String {
    let Some(p) = note.photos.get(sketch.photo) else { return String::new() };
    p.record.taken_at.as_ref().map_or(p.file.clone(), |t| format!("{}, {t}", p.file))
}
