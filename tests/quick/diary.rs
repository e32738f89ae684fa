//! The diary: what a line keeps, what damage costs, what the stages say, and what the page shows.
use crate::handmade::{PIVOT, RADIUS, banded, photo, plane, record, without};
use needleband::diary::{Ambient, Conditions, DialStamp, Diary, Note, Noted};
use needleband::maths::units::Unit;
use needleband::reading::Record;

mod file;
mod limit;
mod page;
mod stages;

/// The digest of a made-up photo: its identity first, as in real ones.
fn noted(record: Record, seconds: Option<f64>) -> Noted {
    let sha256 = format!("{}{}", record.photo_id, "0".repeat(64 - record.photo_id.len()));
    Noted { file: format!("{}.jpg", record.photo_id), sha256, seconds, record }
}

/// A note of one stage with readings that share the dial's term of 0.8 °C and have `own` each.
fn note(stage: &str, values: &[f64], own: f64) -> Note {
    let id = |k: usize| format!("{stage}{k}").replace(' ', "");
    let one = |(k, v): (usize, &f64)| record(&id(k), *v, &[("dial:d/mark/1", 0.8), (&format!("photo:{}/needle", id(k)), own)]);
    Note {
        written_at: "2026-08-14T10:31:07Z".to_string(),
        stage: stage.to_string(),
        dial: DialStamp { id: "d".to_string(), name: "gearbox oil".to_string(), unit: Unit::C },
        warm_up: false,
        conditions: Conditions::default(),
        photos: values.iter().enumerate().map(one).map(|r| noted(r, None)).collect(),
        sketch: None,
    }
}

fn outside(note: Note, value: f64) -> Note {
    Note { conditions: Conditions { ambient: Some(Ambient { value, unit: Unit::C }), ..Conditions::default() }, ..note }
}

fn diary(notes: Vec<Note>) -> Diary {
    Diary { lines: notes.len(), note_lines: (1..=notes.len()).collect(), notes, ends_whole: true, ..Diary::default() }
}

/// Diaries to be damaged by other tests: three stages, and one note with every outcome.
pub fn kept() -> Vec<Vec<Note>> {
    let small = Note { sketch: None, ..file::full() };
    let three = vec![note("stock", &[90.0, 91.0], 0.1), note("cooler", &[85.0], 0.1), outside(note("thermostat", &[80.0], 0.1), 21.5)];
    vec![three, vec![small]]
}
