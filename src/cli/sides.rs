//! The sides of a comparison: photos, or a settled level in a file.
use super::failure::Failure;
use super::files::{photos, plain, read, told};
use crate::compare::{Conditions, Given, SettledLevel};
use crate::dial::MAX_FILE_BYTES;
use crate::output::json::settled_level;
use crate::reading::Record;
use crate::settle::{seconds_of, settle};
use std::path::{Path, PathBuf};

/// A side as named on the command line.
#[derive(Debug)]
pub enum Named {
    /// Photos.
    Photos(Vec<PathBuf>),
    /// A settled level, and its file.
    Level(PathBuf, Box<SettledLevel>),
}

impl Named {
    /// From the paths given; `word` is the side's name.
    pub fn of(paths: &[PathBuf], word: &str) -> Result<Self, Failure> {
        match paths {
            [one] if is_json(one) => Ok(Named::Level(one.clone(), Box::new(level(one)?))),
            all if all.iter().any(|p| is_json(p)) => Err(Failure::trouble(format!(
                "The side \"{word}\" names a .json file and something beside it, so it is not clear what its temperature is. \
                 Give either photos or one file that settle --json wrote."
            ))),
            all => Ok(Named::Photos(photos(all)?)),
        }
    }
    /// The photos to be read.
    pub fn photos(&self) -> &[PathBuf] {
        match self {
            Named::Photos(paths) => paths,
            Named::Level(..) => &[],
        }
    }
    /// All files that are read.
    pub fn files(&self) -> Vec<PathBuf> {
        match self {
            Named::Photos(paths) => paths.clone(),
            Named::Level(path, _) => vec![path.clone()],
        }
    }
    /// For the comparison.
    pub fn given<'a>(&'a self, records: &'a [Record]) -> Given<'a> {
        match self {
            Named::Photos(_) => Given::Photos(records),
            Named::Level(_, level) => Given::Level(level),
        }
    }
    /// Whether the side was seen to be still moving: by the level's own word, or by the capture times of five photos or more.
    pub fn moving(&self, records: &[Record]) -> bool {
        match self {
            Named::Level(_, level) => level.moving,
            Named::Photos(_) => {
                let times: Vec<Option<f64>> = records.iter().map(|r| r.taken_at.as_deref().and_then(seconds_of)).collect();
                settle(records, &times).is_ok_and(|a| a.moving())
            }
        }
    }
    /// With the conditions that were told.
    pub fn conditions(&self, records: &[Record], told: Conditions) -> Conditions {
        Conditions { moving: self.moving(records), ..told }
    }
}

fn is_json(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case("json")) && !path.is_dir()
}

fn level(path: &Path) -> Result<SettledLevel, Failure> {
    let shown = told(path);
    let bytes = read(path, MAX_FILE_BYTES).map_err(|e| {
        Failure::trouble(format!("The settled level {shown} could not be opened ({}), so nothing is compared. Check the path.", plain(&e)))
    })?;
    settled_level(&bytes).map_err(|e| Failure::trouble(format!("{shown}: {e}")))
}
