//! A photo file to its record: opened, decoded and read.
use super::failure::Failure;
use super::files::{MAX_PHOTO_BYTES, photos, plain, read, told};
use crate::photo::{Photo, PhotoError, decode, sha256_hex};
use crate::reading::{Outcome, Reader, Record};
use std::path::{Path, PathBuf};

/// What became of a photo file.
#[derive(Debug)]
pub enum Opened<R = Record> {
    /// Decoded and put through the chain, whatever that gave.
    Read(Box<Photo>, R),
    /// Opened, but not a picture that can be decoded: its record says why.
    Damaged(Box<Record>),
    /// Not opened, with what the system said.
    Missing(String),
}

/// Opens, decodes and reads one photo; `earlier`: a photo that may be of the same scene.
pub fn look(path: &Path, reader: &Reader, earlier: Option<&Record>) -> Opened {
    opened(path, |photo| reader.read_after(photo, earlier))
}

/// Opens and decodes one photo and reads it by `of`.
pub fn opened<R>(path: &Path, of: impl FnOnce(&Photo) -> R) -> Opened<R> {
    let bytes = match read(path, MAX_PHOTO_BYTES) {
        Ok(bytes) => bytes,
        Err(e) => return Opened::Missing(plain(&e)),
    };
    match decode(&bytes) {
        Ok(photo) => {
            let read = of(&photo);
            Opened::Read(Box::new(photo), read)
        }
        Err(e) => Opened::Damaged(Box::new(undecoded(&bytes, &e))),
    }
}

fn undecoded(bytes: &[u8], error: &PhotoError) -> Record {
    Record {
        photo_id: sha256_hex(bytes).chars().take(12).collect(),
        taken_at: None,
        size: (0, 0),
        outcome: Outcome::Refused(error.refusal(), error.seen()),
        evidence: None,
    }
}

/// What is said on the error stream about a photo that could not be opened.
pub fn not_opened(path: &Path, error: &str) -> String {
    format!("{} could not be opened ({error}), so it is not read. Check the path and that the file may be read.", told(path))
}

/// A photo that must open.
pub fn whole(path: &Path) -> Result<Photo, Failure> {
    let bytes = read(path, MAX_PHOTO_BYTES).map_err(|e| Failure::trouble(not_opened(path, &plain(&e))))?;
    decode(&bytes).map_err(|e| Failure::not_read(format!("{}: {e}", told(path))))
}

/// Photos and folders of photos that must all open, each with its name.
pub fn named_photos(given: &[PathBuf]) -> Result<Vec<(String, Photo)>, Failure> {
    if given.is_empty() {
        return Ok(Vec::new());
    }
    photos(given)?.iter().map(|p| Ok((told(p), whole(p)?))).collect()
}
