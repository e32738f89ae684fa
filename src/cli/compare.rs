//! `compare`: photos before and after a change to one difference.
use super::args::{CompareArgs, mixed};
use super::failure::{ALL_READ, Failure, NOT_ALL_READ, TROUBLE, explained_in_words_alone, say};
use super::files::{self, Encoding, MAX_PHOTO_BYTES, load_dial, read, refuse_existing, refuse_read, write_whole};
use super::gather::{names, read_all};
use super::sides::Named;
use super::which_dial::chosen;
use crate::compare::{Comparison, Conditions, Elsewhere, Slope, compare_knowing};
use crate::output::picture::{Shown, side_by_side};
use crate::output::{csv, json, text};
use crate::photo::{Photo, decode};
use crate::reading::{Reader, Record};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Runs the command; the answer is the exit status.
pub fn run(args: &CompareArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    args.jobs.set()?;
    let (before, after) = (Named::of(&args.before, "before")?, Named::of(&args.after, "after")?);
    let needed = args.dial.is_some() || !before.photos().is_empty() || !after.photos().is_empty();
    let dial = needed.then(|| chosen(args.dial.as_deref())).transpose()?;
    let reader = dial.as_deref().map(|d| load_dial(d).map(Reader::new)).transpose()?;
    let picture = args.picture.as_ref().map(|p| picture_target(p, args.force, (dial.as_deref(), [&before, &after]))).transpose()?;
    let all: Vec<PathBuf> = before.photos().iter().chain(after.photos()).cloned().collect();
    let (records, mut status) = match &reader {
        Some(reader) if !all.is_empty() => read_all(&all, reader)?,
        _ => (Vec::new(), ALL_READ),
    };
    let (first, second) = records.split_at(before.photos().len());
    let failed = |e: crate::compare::CompareError| Failure { message: Some(e.to_string()), status: status.max(NOT_ALL_READ) };
    let told_scatter = args.scatter.map(|s| s.typed()).map(|(sd, unit)| Elsewhere::told(sd, unit));
    let result = compare_knowing(&before.given(first), &after.given(second), told_scatter).map_err(failed)?;
    let result = told(args, result, [(&before, first), (&after, second)])?;
    let (names_before, names_after) = (names(&before.files()), names(&after.files()));
    explained_in_words_alone(args.explain, args.json || args.csv);
    if args.json {
        writeln!(out, "{}", json::comparison(&result, &names_before, &names_after)?)?;
    } else if args.csv {
        write!(out, "{}", csv::comparison(&result, &names_before, &names_after)?)?;
    } else {
        write!(out, "{}", text::wrapped(&text::comparison(&result, &names_before, &names_after, args.explain)))?;
    }
    if let (Some((path, encoding)), Some(reader)) = (picture, &reader) {
        let pair = [(before.photos(), first, result.before.nearest), (after.photos(), second, result.after.nearest)];
        if let Err(message) = draw(reader, &result, pair, (path, encoding, args.force)) {
            say(&message);
            status = TROUBLE;
        }
    }
    Ok(status)
}

/// The comparison with what is known of conditions and limit.
fn told(args: &CompareArgs, result: Comparison, [before, after]: [(&Named, &[Record]); 2]) -> Result<Comparison, Failure> {
    if let Some(ambient) = args.ambient_before.filter(|a| !a.unit.converts_to(result.unit)) {
        return Err(Failure::trouble(format!(
            "{} Ambient temperatures go with a dial of temperatures: leave --ambient-before and --ambient-after out.",
            mixed(ambient.unit, result.unit)
        )));
    }
    let conditions = |(named, records): (&Named, &[Record]), ambient, load: &Option<String>| {
        named.conditions(records, Conditions { ambient, load: load.clone(), moving: false })
    };
    let before = conditions(before, args.ambient_before, &args.load_before);
    let after = conditions(after, args.ambient_after, &args.load_after);
    let result = result.under(&before, &after, args.ambient_slope.unwrap_or(Slope::UNKNOWN));
    match args.limit {
        Some(limit) => {
            let at = limit.at(result.unit)?;
            Ok(result.against(at))
        }
        None => Ok(result),
    }
}

/// Checks the name of the picture before any work: its ending, that there are photos to show, and that it is none of the files read.
fn picture_target<'a>(path: &'a Path, force: bool, (dial, sides): (Option<&Path>, [&Named; 2])) -> Result<(&'a Path, Encoding), Failure> {
    let encoding = Encoding::of(path)?;
    if sides.iter().any(|s| s.photos().is_empty()) {
        return Err(Failure::trouble(
            "The picture shows a photo of each side, and a side is a settled level without photos, so it cannot be made. \
             Leave --picture out, or give the settled photos of that run as the side.",
        ));
    }
    let taken: Vec<PathBuf> = sides.into_iter().flat_map(Named::files).chain(dial.map(Path::to_path_buf)).collect();
    refuse_read("picture", path, taken.iter())?;
    refuse_existing(path, force)?;
    Ok((path, encoding))
}

/// One side's files, records, and which photo to show.
type Pick<'a> = (&'a [PathBuf], &'a [Record], usize);

fn draw(reader: &Reader, result: &Comparison, pair: [Pick; 2], (path, encoding, force): (&Path, Encoding, bool)) -> Result<(), String> {
    let [before, after] = pair.map(opened_again);
    let (Some(before), Some(after)) = (before, after) else {
        return Err(format!(
            "{}: one of the two photos was moved or changed while the others were read, so the picture was not made. Compare again.",
            files::told(path)
        ));
    };
    let show = |(photo, record)| Shown { photo, record };
    let picture = side_by_side(reader.dial(), result, show((&before.0, &before.1)), show((&after.0, &after.1)));
    let bytes = picture.and_then(|p| encoding.bytes(&p)).map_err(|e| format!("{}: {e}", files::told(path)))?;
    write_whole(path, &bytes, force).map_err(|f| f.message.unwrap_or_default())
}

/// The photo to be shown; `None` when it is gone, or is no longer the one that was read.
fn opened_again((paths, records, k): Pick) -> Option<(Photo, Record)> {
    let (bytes, record) = (read(paths.get(k)?, MAX_PHOTO_BYTES).ok()?, records.get(k)?);
    let photo = decode(&bytes).ok().filter(|p| p.hash.starts_with(&record.photo_id))?;
    Some((photo, record.clone()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostics::Refusal;
    use crate::photo::sha256_hex;
    use crate::reading::Outcome;

    #[test]
    fn a_photo_that_is_not_the_one_that_was_read_is_not_shown() {
        let dir = tempfile::TempDir::new().unwrap();
        let paths = [dir.path().join("a.png")];
        let (one, other) = (std::fs::read("tests/data/source.png").unwrap(), std::fs::read("tests/data/palette.png").unwrap());
        let outcome = Outcome::Refused(Refusal::NoDetail, String::new());
        let photo_id = sha256_hex(&one).chars().take(12).collect();
        let records = [Record { photo_id, taken_at: None, size: (0, 0), outcome, evidence: None }];
        let found = || opened_again((&paths, &records, 0)).is_some();
        assert!(!found());
        std::fs::write(&paths[0], &other).unwrap();
        assert!(!found());
        std::fs::write(&paths[0], &one).unwrap();
        assert!(found());
    }
}
