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
    /// The earlier needle that is dashed in it, or why none is.
    pub earlier: Earlier,
}

/// The needle of the first stage shown, in the picture of a later one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Earlier {
    /// This is the first one, or the first has no needle.
    None,
    /// Dashed: that of the stage in this place.
    Dashed(usize),
    /// Not drawn: read with another dial file, whose angles count from its own reference photo.
    OtherDial(usize),
}

/// A needle to be dashed in later pictures.
struct First<'a> {
    stage: usize,
    dial: &'a str,
    angle: f64,
}

/// A picture for each stage that has one, of its latest note, with the needle of the first of them dashed in the later ones that
/// were read with the same dial file.
///
/// # Errors
/// When a stored picture cannot be drawn.
pub fn shown(p: &Project, d: &Diary) -> Result<Vec<Shown>, PictureError> {
    let mut out: Vec<Shown> = Vec::new();
    let mut first: Option<First> = None;
    for (k, stage) in p.stages.iter().enumerate() {
        let found = stage.notes.iter().rev().filter_map(|n| d.notes.get(*n)).find_map(|n| Some((n, n.sketch.as_ref()?)));
        let Some((note, sketch)) = found else { continue };
        let needle = needle_of(note, sketch);
        let (earlier, dashed) = match &first {
            None => (Earlier::None, None),
            Some(f) if f.dial == note.dial.id => (Earlier::Dashed(f.stage), Some(f.angle)),
            Some(f) => (Earlier::OtherDial(f.stage), None),
        };
        let jpeg = sketch_drawn(sketch, needle, dashed)?;
        let level = stage.level.as_ref().map(|l| Banded::of(&l.temperature, p.unit).headline());
        let number = level.map_or(String::new(), |t| format!(", {t}"));
        let told = told(p, earlier).map_or(String::new(), |t| format!("; {t}"));
        let alt = format!("The dial turned straight, stage “{}”{number}: the yellow mark is where the needle points{told}", stage.name);
        out.push(Shown { stage: k, jpeg, size: sketch.size, alt, photo: photo(note, sketch), earlier });
        first = first.or_else(|| needle.map(|angle| First { stage: k, dial: &note.dial.id, angle }));
    }
    Ok(out)
}

fn told(p: &Project, earlier: Earlier) -> Option<String> {
    match earlier {
        Earlier::None => None,
        Earlier::Dashed(k) => Some(format!("the dashed line is where it stood in “{}”", p.name(k))),
        Earlier::OtherDial(k) => Some(other_dial(p.name(k))),
    }
}

/// Why an earlier needle is not drawn.
pub fn other_dial(stage: &str) -> String {
    format!("read with another dial file than “{stage}”, so where the needle stood there is not drawn")
}

fn needle_of(note: &Note, sketch: &Sketch) -> Option<f64> {
    Some(note.photos.get(sketch.photo)?.record.evidence.as_ref()?.needle.as_ref()?.angle)
}

fn photo(note: &Note, sketch: &Sketch) -> String {
    let Some(p) = note.photos.get(sketch.photo) else { return String::new() };
    p.record.taken_at.as_ref().map_or(p.file.clone(), |t| format!("{}, {t}", p.file))
}
