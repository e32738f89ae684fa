//! What a note of the diary holds.
use crate::maths::units::Unit;
use crate::reading::Record;

/// One note: photos of one stage, what they gave, and the conditions.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// When it was written, as the computer's clock said (UTC, "2026-08-14T10:31:07Z").
    pub written_at: String,
    /// The stage of the project it belongs to.
    pub stage: String,
    /// The dial file it was read with.
    pub dial: DialStamp,
    /// The photos are a run over time: the stage's temperature is the level that they settle at.
    pub warm_up: bool,
    /// What was noted of the conditions.
    pub conditions: Conditions,
    /// The photos, in the order given.
    pub photos: Vec<Noted>,
    /// A small picture of one of them.
    pub sketch: Option<Sketch>,
}

/// What was put right later, by a line of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Correction {
    /// When, as in a note.
    pub written_at: String,
    /// What.
    pub what: What,
}

/// What is put right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// A note no longer counts.
    TakeBack {
        /// Its line, from 1.
        line: usize,
        /// When it was written, as it says.
        written_at: String,
    },
    /// Earlier notes of a stage are of another one.
    Rename {
        /// Its name up to here.
        from: String,
        /// Its name from now on.
        to: String,
    },
}

/// A note that was taken back, and the line that says so.
#[derive(Clone, Debug, PartialEq)]
pub struct TakenBack {
    /// The note.
    pub note: Note,
    /// Its line, from 1.
    pub line: usize,
    /// The line of the correction.
    pub by: usize,
}

/// Which dial file a note was read with.
#[derive(Clone, Debug, PartialEq)]
pub struct DialStamp {
    /// Its identity, as in the terms' sources.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Its unit.
    pub unit: Unit,
}

/// The conditions, as far as they were noted.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Conditions {
    /// Temperature outside.
    pub ambient: Option<Ambient>,
    /// How fast, in the writer's words.
    pub speed: Option<String>,
    /// What was carried or towed, which gradient, in the writer's words.
    pub load: Option<String>,
    /// Anything else.
    pub text: Option<String>,
}

/// A temperature outside, as it was typed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ambient {
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: Unit,
}

impl Ambient {
    /// The temperature in another unit.
    pub fn to(self, unit: Unit) -> f64 {
        self.unit.convert(self.value, unit)
    }
}

/// A photo of a note.
#[derive(Clone, Debug, PartialEq)]
pub struct Noted {
    /// Name of the file, without its folder.
    pub file: String,
    /// SHA-256 of the file, 64 hex digits.
    pub sha256: String,
    /// Seconds from a start that the photos of the note share; `None` where nothing tells.
    pub seconds: Option<f64>,
    /// What it gave.
    pub record: Record,
}

/// A small picture of one photo: the dial turned straight, nothing drawn on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Sketch {
    /// Which photo of the note.
    pub photo: usize,
    /// Width and height, px.
    pub size: [u32; 2],
    /// px per radius of the marks' circle; the pivot is the middle of the picture.
    pub radius: f64,
    /// The picture.
    pub jpeg: Vec<u8>,
}
