//! `settle`: photos over time to whether the temperature has settled, and at what.
use super::args::SettleArgs;
use super::clip;
use super::failure::{Failure, NOT_ALL_READ, TROUBLE, explained_in_words_alone, say};
use super::files::{load_dial, photos, refuse_existing, refuse_read, told, write_whole};
use super::gather::{names, read_all};
use super::times;
use super::which_dial::chosen;
use crate::output::picture::{plot_png, plot_svg};
use crate::output::{csv, json, text};
use crate::reading::{Reader, Record};
use crate::settle::{Answer, settle};
use std::io::Write;
use std::path::{Path, PathBuf};

/// How a plot is written.
#[derive(Clone, Copy)]
enum Kind {
    Svg,
    Png,
}

/// Runs the command; the answer is the exit status.
pub fn run(args: &SettleArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    args.jobs.set()?;
    let dial = chosen(args.dial.as_deref())?;
    let reader = Reader::new(load_dial(&dial)?);
    let (taken, plot) = match clip::sole(&args.photos)? {
        Some(path) => of_clip(path, args, (&reader, &dial))?,
        None => of_photos(args, (&reader, &dial))?,
    };
    let Taken { names, records, times, mut status } = taken;
    let answer = settle(&records, &times).map_err(|e| Failure { message: Some(e.to_string()), status: status.max(NOT_ALL_READ) })?;
    let answer = match args.limit {
        Some(limit) => {
            let at = limit.at(answer.unit)?;
            answer.against(at)
        }
        None => answer,
    };
    if !answer.left_out.is_empty() {
        status = status.max(NOT_ALL_READ);
    }
    explained_in_words_alone(args.explain, args.json || args.csv);
    if args.json {
        writeln!(out, "{}", json::settling(&answer, reader.dial(), &names)?)?;
    } else if args.csv {
        write!(out, "{}", csv::settling(&answer, reader.dial(), &names)?)?;
    } else {
        write!(out, "{}", text::wrapped(&text::settling(&answer, reader.dial(), &names, args.explain)))?;
    }
    if let Some((path, kind)) = plot
        && let Err(message) = draw(&answer, &reader, (path, kind, args.force))
    {
        say(&message);
        status = TROUBLE;
    }
    Ok(status)
}

/// What was read: a name, a record and a time each, and the exit status so far.
struct Taken {
    names: Vec<String>,
    records: Vec<Record>,
    times: Vec<Option<f64>>,
    status: u8,
}

/// Where the plot goes, and how it is written.
type Plot<'a> = Option<(&'a Path, Kind)>;

fn of_photos<'a>(args: &'a SettleArgs, (reader, dial): (&Reader, &Path)) -> Result<(Taken, Plot<'a>), Failure> {
    let paths = photos(&args.photos)?;
    let table = times::table(args.times.as_deref())?;
    let plot = args.plot.as_deref().map(|p| target(p, args, (&paths, dial))).transpose()?;
    let (records, status) = read_all(&paths, reader)?;
    let times = times::of(args.every, table.as_ref(), &paths, &records);
    Ok((Taken { names: names(&paths), records, times, status }, plot))
}

#[cfg(feature = "video")]
fn of_clip<'a>(path: &Path, args: &'a SettleArgs, (reader, dial): (&Reader, &Path)) -> Result<(Taken, Plot<'a>), Failure> {
    if args.times.is_some() {
        return Err(Failure::trouble(format!(
            "{} is a video clip and brings its own times, and --times gives others, so it is not clear which are meant. Leave --times out.",
            told(path)
        )));
    }
    let plot = args.plot.as_deref().map(|p| target(p, args, (&args.photos, dial))).transpose()?;
    let frames = clip::read(path, args.every, reader)?;
    let times = frames.times.into_iter().map(Some).collect();
    Ok((Taken { names: frames.names, records: frames.records, times, status: frames.status }, plot))
}

#[cfg(not(feature = "video"))]
fn of_clip<'a>(path: &Path, _: &'a SettleArgs, _: (&Reader, &Path)) -> Result<(Taken, Plot<'a>), Failure> {
    Err(clip::refused(path))
}

/// Checks the name of the plot before any work: its ending, and that it is none of the files read.
fn target<'a>(path: &'a Path, args: &SettleArgs, (photos, dial): (&[PathBuf], &Path)) -> Result<(&'a Path, Kind), Failure> {
    let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
    let kind = match ending.as_deref() {
        Some("svg") => Kind::Svg,
        Some("png") => Kind::Png,
        _ => {
            return Err(Failure::trouble(format!(
                "{} ends in neither .svg nor .png, so it is not clear how to write the plot. Give it one of the two endings.",
                told(path)
            )));
        }
    };
    refuse_read("plot", path, photos.iter().chain(&args.times).map(PathBuf::as_path).chain([dial]))?;
    refuse_existing(path, args.force)?;
    Ok((path, kind))
}

fn draw(answer: &Answer, reader: &Reader, (path, kind, force): (&Path, Kind, bool)) -> Result<(), String> {
    let drawn = match kind {
        Kind::Svg => plot_svg(answer, reader.dial()).map(String::into_bytes),
        Kind::Png => plot_png(answer, reader.dial()),
    };
    let bytes = drawn.map_err(|e| format!("{}: {e}", told(path)))?;
    write_whole(path, &bytes, force).map_err(|f| f.message.unwrap_or_default())
}
