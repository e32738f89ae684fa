//! `note`: photos of a stage to a line of the diary.
use super::args::NoteArgs;
use super::diary::{append, load_or_new};
use super::failure::{Failure, TROUBLE};
use super::files::{self, MAX_PHOTO_BYTES, load_dial, photos, told};
use super::gather::read_all;
use super::which_dial::chosen;
use super::{clip, corrections, times};
use crate::diary::{Conditions, DialStamp, Diary, Note, Noted, Sketch, line, near};
use crate::output::picture::sketch;
use crate::output::{shown_name, text};
use crate::photo::{decode, sha256_hex};
use crate::reading::{Outcome, Reader, Record};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Runs the command; the answer is the exit status.
pub fn run(args: &NoteArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    if let Some(done) = corrections::run(args, out) {
        return done;
    }
    args.jobs.set()?;
    let file = chosen(args.dial.as_deref())?;
    let dial = load_dial(&file)?;
    if let Some(clip) = clip::sole(&args.photos)? {
        return Err(no_clip(clip));
    }
    let paths = photos(&args.photos)?;
    let table = times::table(args.times.as_deref())?;
    if paths.iter().chain(&args.times).chain([&file]).any(|p| files::same(p, &args.diary)) {
        return Err(Failure::trouble(format!(
            "{} is a file that is being read, so it is not taken for the diary. Give the diary another name.",
            told(&args.diary)
        )));
    }
    let diary = load_or_new(&args.diary)?;
    same_gauge(&diary, &dial.name, args, &file)?;
    same_words(&diary, args)?;
    let reader = Reader::new(dial);
    let (records, status) = read_all(&paths, &reader)?;
    if status == TROUBLE {
        return Err(Failure::trouble("Not every photo could be opened, so nothing was noted. Check the paths and note them again."));
    }
    if !records.iter().any(|r| matches!(r.outcome, Outcome::Reading(_))) {
        return Err(Failure::not_read(
            "None of the photos gave a reading, so nothing was noted. See with `needleband read` why, then take new ones.",
        ));
    }
    let seconds = times::of(args.every, table.as_ref(), &paths, &records);
    let note = note(args, &reader, &paths, records, seconds)?;
    let text = line(&note).map_err(|e| Failure::trouble(e.to_string()))?;
    // another may have noted since: what counts is what is there when the line is added
    let name = &reader.dial().name;
    let (number, before) = append(&args.diary, &text, |there| same_gauge(there, name, args, &file))?;
    let size = text.len().div_ceil(1000);
    let said = format!("{}\nNoted as line {number} of {} ({size} kB).\n", text::wrapped(&text::noted(&note, &before)), told(&args.diary));
    let printed = out.write_all(said.as_bytes()).and_then(|()| out.flush());
    printed.map(|()| status).map_err(|e| match e.kind() {
        ErrorKind::BrokenPipe => Failure::from(e),
        _ => Failure::trouble(format!(
            "The photos are noted as line {number} of {}; the summary could not be printed ({}). Do not note them again; see the line \
             with `needleband stages`.",
            told(&args.diary),
            files::plain(&e)
        )),
    })
}

/// A note keeps the digest of each photo and one of them as a picture, so it takes pictures.
fn no_clip(path: &Path) -> Failure {
    let (shown, typed) = (told(path), files::worded(path));
    Failure::trouble(format!(
        "{shown} is a video clip, and a diary keeps photos, so nothing was noted. Make the folder frames, run \
         `ffmpeg -i {typed} -vf fps=1/10 frames/%04d.jpg` and note frames/ with --warm-up --every 10s."
    ))
}

/// A diary is of one gauge: temperatures of two would be mixed in its stages.
fn same_gauge(diary: &Diary, name: &str, args: &NoteArgs, file: &Path) -> Result<(), Failure> {
    match diary.gauge() {
        Some(gauge) if gauge != name => Err(Failure::trouble(format!(
            "{} is the diary of the dial \"{}\", and {} is of the dial \"{}\", so their temperatures would be mixed. \
             Begin another diary for it; if it is the same gauge calibrated anew, calibrate it with --name \"{}\".",
            told(&args.diary),
            shown_name(gauge),
            told(file),
            shown_name(name),
            shown_name(gauge)
        ))),
        _ => Ok(()),
    }
}

/// A stage whose name is nearly that of an earlier one is more likely a slip; a diary only grows, so it is asked about before.
fn same_words(diary: &Diary, args: &NoteArgs) -> Result<(), Failure> {
    let there: Vec<&str> = diary.notes.iter().map(|n| n.stage.as_str()).collect();
    let other = there.iter().find(|s| near(s, args.stage())).filter(|_| !args.new_stage && !there.contains(&args.stage()));
    match other {
        Some(other) => Err(Failure::trouble(format!(
            "The diary has a stage \"{}\", and \"{}\" is nearly the same name, so nothing was noted. Is it the same stage? Then use the \
             same letters. If it is another one, add --new-stage.",
            shown_name(other),
            shown_name(args.stage())
        ))),
        None => Ok(()),
    }
}

fn note(args: &NoteArgs, reader: &Reader, paths: &[PathBuf], records: Vec<Record>, seconds: Vec<Option<f64>>) -> Result<Note, Failure> {
    let dial = reader.dial();
    let shown = if args.warm_up { last(&records) } else { nearest(&records) };
    let (mut photos, mut picture) = (Vec::new(), None);
    for (k, ((path, record), seconds)) in paths.iter().zip(records).zip(seconds).enumerate() {
        let (sha256, drawn) = again(path, &record, (shown == Some(k)).then_some(k))?;
        picture = picture.or(drawn);
        let file = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        photos.push(Noted { file, sha256, seconds, record });
    }
    Ok(Note {
        // to the second, in UTC: the diary may travel
        written_at: jiff::Timestamp::now().strftime("%Y-%m-%dT%H:%M:%SZ").to_string(),
        stage: args.stage().to_string(),
        dial: DialStamp { id: dial.id.clone(), name: dial.name.clone(), unit: dial.unit },
        warm_up: args.warm_up,
        conditions: Conditions { ambient: args.ambient, speed: args.speed.clone(), load: args.load.clone(), text: args.text.clone() },
        photos,
        sketch: picture,
    })
}

/// The file's digest, and its small picture where one is wanted.
fn again(path: &Path, record: &Record, picture: Option<usize>) -> Result<(String, Option<Sketch>), Failure> {
    let changed = |why: &str| {
        Failure::trouble(format!("{} changed while it was read ({why}), so nothing was noted. Note the photos again.", told(path)))
    };
    let bytes = files::read(path, MAX_PHOTO_BYTES).map_err(|e| changed(&files::plain(&e)))?;
    let sha256 = sha256_hex(&bytes);
    if !sha256.starts_with(&record.photo_id) {
        return Err(changed("its content is another one"));
    }
    let drawn = picture.and_then(|place| sketch(&decode(&bytes).ok()?, record, place));
    Ok((sha256, drawn))
}

/// The photo nearest to the median of the readings: the one to show.
fn nearest(records: &[Record]) -> Option<usize> {
    let value = |r: &Record| r.counted().ok().map(|x| x.temperature.value());
    let all: Vec<f64> = records.iter().filter_map(value).collect();
    let middle = crate::maths::robust::median(&all)?;
    let far = |k: &usize| records.get(*k).and_then(value).map_or(f64::INFINITY, |v| (v - middle).abs());
    (0..records.len()).min_by(|a, b| far(a).total_cmp(&far(b)))
}

/// The last photo with a reading: where a run ended.
fn last(records: &[Record]) -> Option<usize> {
    let time = |k: &usize| records.get(*k).and_then(|r| r.taken_at.clone());
    (0..records.len()).filter(|k| records.get(*k).is_some_and(|r| r.counted().is_ok())).max_by_key(|k| (time(k), *k))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostics::Refusal;

    /// Between the reading and the note: gone, or another photo under the same name.
    #[test]
    fn a_photo_that_is_not_the_one_that_was_read_is_not_noted() {
        let dir = tempfile::TempDir::new().unwrap();
        let path = dir.path().join("a.jpg");
        let outcome = Outcome::Refused(Refusal::NoDetail, String::new());
        let record =
            Record { photo_id: sha256_hex(b"read").chars().take(12).collect(), taken_at: None, size: (0, 0), outcome, evidence: None };
        let said = |why: &str| {
            let failure = again(&path, &record, None).unwrap_err();
            assert_eq!(failure.status, TROUBLE);
            let message = failure.message.unwrap();
            assert!(message.contains(&format!("a.jpg changed while it was read ({why}), so nothing was noted.")), "{message}");
        };
        said("No such file or directory");
        std::fs::write(&path, b"another").unwrap();
        said("its content is another one");
        std::fs::write(&path, b"read").unwrap();
        assert_eq!(again(&path, &record, None).unwrap(), (sha256_hex(b"read"), None));
    }
}
