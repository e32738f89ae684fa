//! Many photos to their records, in the order given.
use super::failure::{ALL_READ, Failure, NOT_ALL_READ, TROUBLE, say};
use super::files::named;
use super::left_out;
use super::open::{Opened, look, not_opened};
use super::parallel::after_first;
use super::progress::Progress;
use crate::diagnostics::Refusal;
use crate::reading::{Outcome, Reader, Record};
use std::path::{Path, PathBuf};

/// Paths as scripts get them; the tables make them safe to show.
pub fn names(paths: &[PathBuf]) -> Vec<String> {
    paths.iter().map(|p| named(p)).collect()
}

/// Reads all photos; the second answer is the exit status so far.
pub fn read_all(paths: &[PathBuf], reader: &Reader) -> Result<(Vec<Record>, u8), Failure> {
    let progress = Progress::new(paths.len());
    progress.show(0);
    let (mut records, mut status) = (Vec::new(), ALL_READ);
    let work = |k: usize, first: Option<&Record>| paths.get(k).map(|p| looked(p, reader, first));
    let keep = |seen: &Option<(Record, Option<String>)>| seen.as_ref().map(|s| s.0.clone());
    after_first(paths.len(), work, keep, |k, seen| {
        if let (Some((record, trouble)), Some(path)) = (seen, paths.get(k)) {
            let read = matches!(record.outcome, Outcome::Reading(_));
            status = status.max(if read { ALL_READ } else { NOT_ALL_READ });
            if let Some(error) = trouble {
                progress.clear();
                say(&not_opened(path, &error));
                status = TROUBLE;
            }
            records.push(record);
        }
        progress.show(k + 1);
        Ok::<(), Failure>(())
    })?;
    progress.clear();
    Ok((records, status))
}

/// A photo's record, and what the system said when it could not be opened (then the record is a refusal).
fn looked(path: &Path, reader: &Reader, earlier: Option<&Record>) -> (Record, Option<String>) {
    match look(path, reader, earlier) {
        Opened::Read(_, record) => (left_out::applied(path, record), None),
        Opened::Damaged(record) => (left_out::applied(path, *record), None),
        Opened::Missing(error) => {
            let outcome = Outcome::Refused(Refusal::NotOpened, format!("The file could not be opened: {error}."));
            (Record { photo_id: String::new(), taken_at: None, size: (0, 0), outcome, evidence: None }, Some(error))
        }
    }
}
