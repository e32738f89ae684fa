//! The diary file: JSON, a note a line, each line whole in itself.
//!
//! A line states its format and version and ends in a check sum of its own content, so that a line changed by hand is not used.
//! Lines are only ever added. A writer that died in the middle of a line costs that line and no other: whoever adds the next
//! one begins on a new line and keeps the broken bytes. A line of a newer version refuses the whole file: a table without that
//! note would be wrong and look right.
mod correction;
mod twin;
use super::error::{Damage, DiaryError, Wrong};
use super::model::{Correction, Note, TakenBack, What};
use crate::dial::Heading;
use crate::photo::{sha256_hex, told};
use correction::CorrectionTwin;
use serde::Serialize;
use serde_json::error::Category;
use twin::NoteTwin;

/// The newest version of the lines that this program writes; the oldest that it reads is 1. A note whose words version 1 has stays of that
/// version, so that older programs read it.
pub const FORMAT_VERSION: u64 = 2;

/// Largest diary that is opened: some thousands of notes.
pub const MAX_FILE_BYTES: u64 = 256 * 1024 * 1024;

/// Most notes: a season has some dozens. Each is kept whole, and every stage is compared with two others.
const MAX_NOTES: usize = 10_000;

/// Most lines that may be damaged: a file with more was overwritten, or is no diary.
const MAX_DAMAGED: usize = 10_000;

const FORMAT: &str = "needleband-diary";
/// Hex digits of the check sum.
const CHECK_DIGITS: usize = 12;

/// What a diary file holds.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Diary {
    /// The notes, in the order of the file.
    pub notes: Vec<Note>,
    /// The line of each note, from 1.
    pub note_lines: Vec<usize>,
    /// Notes that were taken back.
    pub taken_back: Vec<TakenBack>,
    /// Line, old and new name of each stage that was renamed.
    pub renamed: Vec<(usize, String, String)>,
    /// Lines that are not used.
    pub damaged: Vec<Damage>,
    /// Whether the file ends with a whole line, so that the next note can follow at once.
    pub ends_whole: bool,
    /// How many lines it has, blank ones and a last one cut off among them.
    pub lines: usize,
}

impl Diary {
    /// The gauge: the name of the dial of the first note; `None` without a note.
    pub fn gauge(&self) -> Option<&str> {
        self.notes.first().map(|n| n.dial.name.as_str())
    }
    /// Applies a correction to the notes before it. Errors: what it speaks of is not there.
    fn correct(&mut self, by: usize, correction: Correction) -> Result<(), Wrong> {
        let absent = |what: &str| Wrong::Shape(format!("it speaks of {what} that is not there"));
        match correction.what {
            What::TakeBack { line, written_at } => {
                let place = self.note_lines.iter().position(|l| *l == line);
                let place = place.filter(|k| self.notes.get(*k).is_some_and(|n| n.written_at == written_at));
                let place = place.ok_or_else(|| absent("a note"))?;
                self.note_lines.remove(place);
                self.taken_back.push(TakenBack { note: self.notes.remove(place), line, by });
            }
            What::Rename { from, to } => {
                let mut mine = self.notes.iter_mut().filter(|n| n.stage == from).peekable();
                if mine.peek().is_none() {
                    return Err(absent("a stage"));
                }
                mine.for_each(|n| n.stage.clone_from(&to));
                self.renamed.push((by, from, to));
            }
        }
        Ok(())
    }
}

/// A note as a line, its newline included.
///
/// # Errors
/// [`DiaryError::NotKept`] when reading it back would not give the same note to the last bit (a number that is not finite).
pub fn line(note: &Note) -> Result<String, DiaryError> {
    let unkept = |e: serde_json::Error| DiaryError::NotKept(e.to_string());
    let twin = NoteTwin::of(note);
    let text = serde_json::to_string(&twin.sealed(check_of)).map_err(unkept)?;
    match read_line(&text) {
        Ok(Entry::Note(back)) if *back == *note => Ok(text + "\n"),
        Ok(_) => Err(DiaryError::NotKept("a number came back as another".to_string())),
        Err(Line::Wrong(Wrong::Shape(what))) => Err(DiaryError::NotKept(what)),
        Err(_) => Err(DiaryError::NotKept("it cannot be read".to_string())),
    }
}

/// A correction as a line, its newline included.
///
/// # Errors
/// [`DiaryError::NotKept`], as for a note.
pub fn correction_line(correction: &Correction) -> Result<String, DiaryError> {
    let unkept = |e: serde_json::Error| DiaryError::NotKept(e.to_string());
    let text = serde_json::to_string(&CorrectionTwin::of(correction).sealed(check_of)).map_err(unkept)?;
    match read_line(&text) {
        Ok(Entry::Correction(back)) if back == *correction => Ok(text + "\n"),
        _ => Err(DiaryError::NotKept("it cannot be read".to_string())),
    }
}

/// The notes of a diary, corrected as it says itself, and the lines that are not used. Nothing before or after a damaged line is lost.
///
/// # Errors
/// A file that is no diary, too large, damaged throughout, or that holds a line of a newer version. An empty file is an empty diary.
pub fn parse(bytes: &[u8]) -> Result<Diary, DiaryError> {
    if bytes.len() as u64 > MAX_FILE_BYTES {
        return Err(DiaryError::TooLarge { limit: MAX_FILE_BYTES });
    }
    let mut diary = Diary { ends_whole: bytes.is_empty() || bytes.ends_with(b"\n"), ..Diary::default() };
    let mut ours = false;
    for (k, raw) in bytes.split(|b| *b == b'\n').enumerate() {
        // some editors put a byte-order mark in front, others a carriage return at the end
        let raw = raw.strip_prefix(b"\xef\xbb\xbf").unwrap_or(raw).trim_ascii();
        if raw.is_empty() {
            continue;
        }
        diary.lines = k + 1;
        let text = String::from_utf8_lossy(raw);
        // the beginning of a line tells as much, where its end is missing
        ours |= text.starts_with(&format!("{{\"format\":\"{FORMAT}\""));
        match read_line(&text) {
            Ok(_) if diary.notes.len() == MAX_NOTES => return Err(DiaryError::TooMany { limit: MAX_NOTES }),
            Ok(Entry::Note(note)) => {
                ours = true;
                diary.notes.push(*note);
                diary.note_lines.push(k + 1);
            }
            Ok(Entry::Correction(correction)) => {
                if let Err(what) = diary.correct(k + 1, correction) {
                    diary.damaged.push(Damage { line: k + 1, what });
                }
            }
            Err(Line::Newer(found)) => return Err(DiaryError::Version { line: k + 1, found, known: FORMAT_VERSION }),
            Err(Line::Wrong(_)) if diary.damaged.len() == MAX_DAMAGED => return Err(DiaryError::TooDamaged { limit: MAX_DAMAGED }),
            Err(Line::Wrong(what)) => diary.damaged.push(Damage { line: k + 1, what }),
        }
    }
    if ours || diary.damaged.is_empty() { Ok(diary) } else { Err(DiaryError::NotADiary) }
}

/// Why a line gives no note.
enum Line {
    Newer(u64),
    Wrong(Wrong),
}

/// What a line holds.
enum Entry {
    Note(Box<Note>),
    Correction(Correction),
}

fn read_line(text: &str) -> Result<Entry, Line> {
    let shape = |e: &dyn std::fmt::Display| Line::Wrong(Wrong::Shape(told(e)));
    // a number or a word that is cut in two is an error at the very end, too
    let broken = |e: serde_json::Error| match e.classify() {
        Category::Eof => Line::Wrong(Wrong::CutOff),
        Category::Syntax if e.line() == 1 && e.column() >= text.len() => Line::Wrong(Wrong::CutOff),
        _ => Line::Wrong(Wrong::Shape(told(&e))),
    };
    let heading: Heading = serde_json::from_str(text).map_err(broken)?;
    if heading.format.as_deref() != Some(FORMAT) {
        return Err(shape(&"it does not call itself one"));
    }
    match heading.format_version.0 {
        Some(1..=FORMAT_VERSION) => {}
        Some(found) => return Err(Line::Newer(found)),
        None => return Err(shape(&"`format_version` is not a whole number")),
    }
    if text.contains("\"correction\":{") && heading.format_version.0 == Some(correction::VERSION) {
        let (stated, plain) = serde_json::from_str::<CorrectionTwin>(text).map_err(broken)?.unsealed();
        return match stated.as_deref() == Some(check_of(&plain).as_str()) {
            true => Ok(Entry::Correction(plain.into_correction())),
            false => Err(Line::Wrong(Wrong::Changed)),
        };
    }
    let twin: NoteTwin = serde_json::from_str(text).map_err(broken)?;
    let (stated, plain) = twin.unsealed();
    if stated.as_deref() != Some(check_of(&plain).as_str()) {
        return Err(Line::Wrong(Wrong::Changed));
    }
    plain.into_note().map(|n| Entry::Note(Box::new(n))).map_err(|what| Line::Wrong(Wrong::Shape(what)))
}

/// Check sum of a line: the first digits of SHA-256 over its content as compact JSON, without the check sum itself.
fn check_of(twin: &impl Serialize) -> String {
    let content = serde_json::to_vec(twin).unwrap_or_default();
    sha256_hex(&content).chars().take(CHECK_DIGITS).collect()
}
