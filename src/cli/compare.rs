//! `compare`: photos before and after a change to one difference.
use super::args::CompareArgs;
use super::failure::{Failure, NOT_ALL_READ, TROUBLE, say};
use super::files::{self, Encoding, load_dial, photos, write_whole};
use super::gather::{names, read_all};
use crate::compare::{Comparison, compare};
use crate::output::picture::{Shown, side_by_side};
use crate::output::{json, text};
use crate::photo::{Photo, decode};
use crate::reading::{Reader, Record};
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Runs the command; the answer is the exit status.
pub fn run(args: &CompareArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    let reader = Reader::new(load_dial(&args.dial)?);
    let (before, after) = (photos(&args.before)?, photos(&args.after)?);
    let all: Vec<PathBuf> = before.iter().chain(&after).cloned().collect();
    let picture = args.picture.as_ref().map(|p| picture_target(p, &args.dial, &all)).transpose()?;
    let (records, mut status) = read_all(&all, &reader)?;
    let (first, second) = records.split_at(before.len());
    let result = compare(first, second).map_err(|e| Failure { message: Some(e.to_string()), status: status.max(NOT_ALL_READ) })?;
    let (names_before, names_after) = (names(&before), names(&after));
    if args.json {
        writeln!(out, "{}", json::comparison(&result, &names_before, &names_after)?)?;
    } else {
        write!(out, "{}", text::comparison(&result, &names_before, &names_after))?;
    }
    if let Some((path, encoding)) = picture {
        let pair = [(&before, first, result.before.nearest), (&after, second, result.after.nearest)];
        if let Err(message) = draw(&reader, &result, pair, path, encoding) {
            say(&message);
            status = TROUBLE;
        }
    }
    Ok(status)
}

/// Checks the name of the picture before any work: its ending, and that it is none of the files read.
fn picture_target<'a>(path: &'a Path, dial: &Path, photos: &[PathBuf]) -> Result<(&'a Path, Encoding), Failure> {
    let encoding = Encoding::of(path)?;
    if files::same(path, dial) || photos.iter().any(|p| files::same(path, p)) {
        return Err(Failure::trouble(format!(
            "The picture {} would be written over a file that is being read. Choose another name.",
            path.display()
        )));
    }
    Ok((path, encoding))
}

/// One side's files, records, and which photo to show.
type Pick<'a> = (&'a Vec<PathBuf>, &'a [Record], usize);

fn draw(reader: &Reader, result: &Comparison, pair: [Pick; 2], path: &Path, encoding: Encoding) -> Result<(), String> {
    let opened = |(paths, records, k): Pick| -> Option<(Photo, Record)> {
        let bytes = fs::read(paths.get(k)?).ok()?;
        Some((decode(&bytes).ok()?, records.get(k)?.clone()))
    };
    let [before, after] = pair.map(opened);
    let (Some(before), Some(after)) = (before, after) else {
        return Err(format!("{}: the two photos could not be opened again, so the picture was not made.", path.display()));
    };
    let show = |(photo, record)| Shown { photo, record };
    let picture = side_by_side(reader.dial(), result, show((&before.0, &before.1)), show((&after.0, &after.1)));
    let bytes = picture.and_then(|p| encoding.bytes(&p)).map_err(|e| format!("{}: {e}", path.display()))?;
    write_whole(path, &bytes, true).map_err(|f| f.message.unwrap_or_default())
}
