//! Many readings for a page, each with its small picture; photos may be left out of them by hand.
use super::failure::{ALL_READ, Failure, NOT_ALL_READ, TROUBLE, say};
use super::open::{Opened, not_opened, opened};
use super::parallel::after_first;
use super::progress::Progress;
use super::{gather, left_out};
use crate::dial::Dial;
use crate::output::picture::overlay_wordless;
use crate::output::{Served, SheetPhoto, sheet};
use crate::reading::{Outcome, Reader, Record};
use std::path::{Path, PathBuf};

/// Width of the small pictures, px.
const WIDTH: u32 = 560;

/// All readings of a run.
#[cfg_attr(not(feature = "page"), allow(dead_code))] // without its pages nothing is left out by a click
pub struct Readings {
    dial: Dial,
    paths: Vec<PathBuf>,
    photos: Vec<SheetPhoto>,
    /// As read, before anything was left out by hand.
    read: Vec<Option<Record>>,
    limit: Option<f64>,
    status: u8,
}

impl Readings {
    /// Reads all photos; says which could not be opened. `limit`: dial unit.
    pub fn of(dial: Dial, paths: Vec<PathBuf>, limit: Option<f64>) -> Result<Self, Failure> {
        let reader = Reader::new(dial.clone());
        let names = gather::names(&paths);
        let (mut photos, mut read, mut status) = (Vec::new(), Vec::new(), ALL_READ);
        let progress = Progress::new(paths.len());
        progress.show(0);
        let work = |k: usize, first: Option<&Record>| paths.get(k).map(|path| seen(path, &reader, first));
        let keep = |s: &Option<Seen>| s.as_ref().and_then(|s| s.0.as_ref().ok().cloned());
        after_first(paths.len(), work, keep, |k, seen| {
            if let (Some((record, jpeg)), Some(path), Some(name)) = (seen, paths.get(k), names.get(k)) {
                if let Err(error) = &record {
                    progress.clear();
                    say(&not_opened(path, error));
                }
                let counted = record.clone().map(|r| left_out::applied(path, r));
                status = status.max(match &counted {
                    Err(_) => TROUBLE,
                    Ok(r) if matches!(r.outcome, Outcome::Reading(_)) => ALL_READ,
                    Ok(_) => NOT_ALL_READ,
                });
                read.push(record.ok());
                photos.push(SheetPhoto { name: name.clone(), record: counted, jpeg });
            }
            progress.show(k + 1);
            Ok::<(), Failure>(())
        })?;
        progress.clear();
        Ok(Self { dial, paths, photos, read, limit, status })
    }
    /// The exit status that they stand for.
    pub fn status(&self) -> u8 {
        self.status
    }
    /// The page.
    pub fn page(&self, served: Option<Served>) -> String {
        sheet(&self.dial, &self.photos, self.limit, served)
    }
    /// Leaves a photo out by its place in the list, or takes it in again (an empty reason), and keeps that beside it.
    #[cfg(feature = "page")]
    pub fn mark(&mut self, place: usize, reason: &str) -> Result<(), Failure> {
        let unknown = || Failure::trouble("There is no such photo on this page.");
        let path = self.paths.get(place).ok_or_else(unknown)?;
        let (photo, read) = self.photos.get_mut(place).zip(self.read.get(place)).ok_or_else(unknown)?;
        left_out::mark(path, reason)?;
        if let Some(record) = read {
            photo.record = Ok(left_out::applied(path, record.clone()));
        }
        Ok(())
    }
}

/// A photo's record and its small picture.
type Seen = (Result<Record, String>, Option<Vec<u8>>);

fn seen(path: &Path, reader: &Reader, earlier: Option<&Record>) -> Seen {
    match opened(path, |photo| reader.read_after(photo, earlier)) {
        Opened::Missing(error) => (Err(error), None),
        Opened::Damaged(record) => (Ok(*record), None),
        Opened::Read(photo, record) => {
            // a picture that cannot be drawn takes no reading away
            let small = overlay_wordless(&photo, reader.dial(), &record).and_then(|p| p.no_wider(WIDTH).jpeg()).ok();
            (Ok(record), small)
        }
    }
}
