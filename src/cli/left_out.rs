//! Photos left out by hand, with the reason: a list beside them, that only grows.
//!
//! `left-out.csv` (RFC 4180, a heading first) names each photo by its file and by its identity, so that it stays left out under another
//! name in the same folder. The last line of a photo counts; an empty reason takes it in again.
use super::args::LeaveOutArgs;
use super::failure::{ALL_READ, Failure};
use super::files::{self, MAX_PHOTO_BYTES, parent, photos, plain, told};
use super::grown::grow;
use crate::diagnostics::Refusal;
use crate::output::shown_name;
use crate::photo::sha256_hex;
use crate::reading::{Outcome, Record};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// The list's name.
const NAME: &str = "left-out.csv";
const HEAD: &str = "photo,photo_id,reason,written_at";
/// Largest list, bytes: some ten thousand lines.
const LARGEST: u64 = 2 * 1024 * 1024;
/// Hex digits of a photo's identity, as in its record.
const DIGITS: usize = 12;

/// What a list says of a photo.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Entry {
    photo: String,
    id: String,
    reason: String,
}

/// A photo's record, or a refusal with the reason for which it was left out by hand. Where the list beside it cannot be read nobody knows
/// whether it was, and it does not count either.
pub fn applied(path: &Path, record: Record) -> Record {
    let said = match listed(parent(path)) {
        Ok(all) => match all.into_iter().rfind(|e| e.id == record.photo_id) {
            Some(entry) if !entry.reason.is_empty() => format!("Left out by hand: {}.", entry.reason.trim_end_matches('.')),
            _ => return record,
        },
        Err(why) => format!("{NAME} beside the photo cannot be used ({why}), so it is not known whether the photo was left out by hand."),
    };
    Record { outcome: Outcome::Refused(Refusal::LeftOut, said), ..record }
}

/// The lines of a folder's list; none where there is no list.
fn listed(folder: &Path) -> Result<Vec<Entry>, String> {
    let bytes = match files::read(&folder.join(NAME), LARGEST) {
        Ok(bytes) => bytes,
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(e) => return Err(plain(&e)),
    };
    parsed(&bytes)
}

/// The lines of a list's bytes.
fn parsed(bytes: &[u8]) -> Result<Vec<Entry>, String> {
    let text = str::from_utf8(bytes).map_err(|_| "it is no text".to_string())?;
    let mut lines = text.trim_start_matches('\u{feff}').lines().enumerate().filter(|l| !l.1.trim().is_empty());
    if lines.next().is_some_and(|(_, head)| head.trim() != HEAD) {
        return Err(format!("its first line is not {HEAD}"));
    }
    lines.map(|(k, line)| entry(line).ok_or_else(|| format!("line {} is not {HEAD}", k + 1))).collect()
}

fn entry(line: &str) -> Option<Entry> {
    let [photo, id, reason, _] = <[String; 4]>::try_from(cells(line)?).ok()?;
    let hex = id.len() == DIGITS && id.bytes().all(|b| b.is_ascii_hexdigit());
    hex.then_some(Entry { photo, id, reason })
}

/// The cells of a line (RFC 4180, 2.5 to 2.7); `None` where a quote stays open.
fn cells(line: &str) -> Option<Vec<String>> {
    let (mut out, mut quoted, mut signs) = (vec![String::new()], false, line.chars().peekable());
    while let Some(c) = signs.next() {
        let last = out.last_mut()?;
        match c {
            '"' if quoted && signs.peek() == Some(&'"') => last.extend(signs.next()),
            '"' => quoted = !quoted,
            ',' if !quoted => out.push(String::new()),
            c => last.push(c),
        }
    }
    (!quoted).then_some(out)
}

fn quoted(cell: &str) -> String {
    if cell.contains([',', '"']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.to_string() }
}

/// Runs the command; the answer is the exit status.
pub fn run(args: &LeaveOutArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    let paths = photos(&args.photos)?;
    let Some(reason) = args.reason.as_deref().or(args.take_back.then_some("")) else { return told_all(&paths, out) };
    for path in &paths {
        mark(path, reason)?;
        let shown = told(path);
        match reason {
            "" => writeln!(out, "{shown} counts again.")?,
            reason => writeln!(out, "{shown} is left out: {reason}. Every result says so.")?,
        }
    }
    Ok(ALL_READ)
}

/// Adds a line for a photo; an empty reason takes it in again.
pub fn mark(path: &Path, reason: &str) -> Result<(), Failure> {
    let unread =
        |e: &std::io::Error| Failure::trouble(format!("{} could not be opened ({}), so nothing is noted of it.", told(path), plain(e)));
    let bytes = files::read(path, MAX_PHOTO_BYTES).map_err(|e| unread(&e))?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let id: String = sha256_hex(&bytes).chars().take(DIGITS).collect();
    let when = jiff::Timestamp::now().strftime("%Y-%m-%dT%H:%M:%SZ");
    append(&parent(path).join(NAME), &format!("{},{id},{},{when}\r\n", quoted(&shown_name(&name)), quoted(reason)))
}

/// Adds a line under a lock, so that nobody else's is lost; a list that cannot be read, or would be too long to be, stays as it is.
fn append(list: &Path, line: &str) -> Result<(), Failure> {
    let shown = told(list);
    let failed = |e: &std::io::Error| Failure::trouble(format!("{shown} could not be written ({}), so nothing is changed.", plain(e)));
    let amiss = |why: &str| Failure::trouble(format!("{shown}: {why}. Put it right or away first; nothing is changed."));
    if list.exists() && !list.is_file() {
        return Err(amiss("it is no file"));
    }
    grow(list, LARGEST, failed, |before| {
        parsed(before).map_err(|why| amiss(&why))?;
        let start = match before.last() {
            None => format!("{HEAD}\r\n"),
            Some(b'\n') => String::new(),
            Some(_) => "\r\n".to_string(),
        };
        let whole = format!("{start}{line}");
        if (before.len() + whole.len()) as u64 > LARGEST {
            return Err(amiss(&format!("with this line it would have more than the {LARGEST} bytes that are read")));
        }
        Ok((whole, ()))
    })
}

/// What is left out, in the folders of these photos.
fn told_all(paths: &[PathBuf], out: &mut dyn Write) -> Result<u8, Failure> {
    let folders: BTreeSet<&Path> = paths.iter().map(|p| parent(p)).collect();
    let mut any = false;
    for folder in folders {
        let all = listed(folder).map_err(|why| Failure::trouble(format!("{}: {why}.", told(&folder.join(NAME)))))?;
        let last: BTreeMap<String, Entry> = all.into_iter().map(|e| (e.id.clone(), e)).collect();
        for entry in last.values().filter(|e| !e.reason.is_empty()) {
            any = true;
            writeln!(out, "{}: {}", told(&folder.join(&entry.photo)), shown_name(&entry.reason))?;
        }
    }
    if !any {
        writeln!(out, "No photo is left out here. Leave one out: needleband leave-out PHOTO --reason \"...\"")?;
    }
    Ok(ALL_READ)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_come_back_as_they_were_written() {
        // RFC 4180, 2.5 to 2.7
        assert_eq!(cells("aaa,\"b\"\"bb\",\"c,c\","), Some(["aaa", "b\"bb", "c,c", ""].map(String::from).to_vec()));
        assert_eq!(cells("a,\"b"), None);
        for cell in ["plain", "a, b", "\"quoted\"", ""] {
            assert_eq!(cells(&quoted(cell)), Some(vec![cell.to_string()]));
        }
    }

    #[test]
    fn the_last_line_of_a_photo_counts_and_a_broken_list_is_never_passed_over() {
        let dir = tempfile::TempDir::new().unwrap();
        let path = dir.path().join("a, b.jpg");
        std::fs::write(&path, b"bytes").unwrap();
        let id: String = sha256_hex(b"bytes").chars().take(DIGITS).collect();
        let record = Record { photo_id: id, taken_at: None, size: (1, 1), outcome: Outcome::BelowScale, evidence: None };
        let said = |record: Record| match record.outcome {
            Outcome::Refused(Refusal::LeftOut, text) => text,
            _ => String::new(),
        };
        assert_eq!(applied(&path, record.clone()), record);
        mark(&path, "a thumb, in \"front\"").unwrap();
        assert_eq!(said(applied(&path, record.clone())), "Left out by hand: a thumb, in \"front\".");
        mark(&path, "").unwrap();
        assert_eq!(applied(&path, record.clone()), record);
        let list = dir.path().join(NAME);
        let kept = std::fs::read_to_string(&list).unwrap();
        assert!(kept.starts_with(HEAD) && kept.matches("\r\n").count() == 3, "{kept}");
        std::fs::write(&list, "something else\n").unwrap();
        assert!(said(applied(&path, record)).contains("not known whether"));
        assert!(mark(&path, "x").is_err() && std::fs::read_to_string(&list).unwrap() == "something else\n");
    }
}
