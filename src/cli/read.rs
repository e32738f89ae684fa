//! `read`: photos of a calibrated dial to temperatures.
use super::args::ReadArgs;
use super::failure::{ALL_READ, Failure, NOT_ALL_READ, TROUBLE, explained_in_words_alone, say};
use super::files::{self, load_dial, photos, told, write_whole};
use super::gather;
use super::left_out;
use super::open::{Opened, not_opened, opened};
use super::parallel::after_first;
use super::progress::Progress;
use super::which_dial::chosen;
use crate::output::csv;
use crate::output::json::{More, photo_line_with, unopened_line};
use crate::output::picture::overlay_png_against;
use crate::output::text::{ReadTable, budget, wrapped};
use crate::photo::Photo;
use crate::reading::{Metrics, Outcome, Reader, Record};
use std::collections::BTreeSet;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

/// A photo's result, small enough to wait for its turn.
struct Seen {
    /// The record, or what the system said when the file could not be opened.
    record: Result<Record, String>,
    /// What was measured, where that is asked for.
    metrics: Option<Metrics>,
    /// Trouble with the overlay.
    trouble: Option<String>,
}

/// Runs the command; the answer is the exit status.
pub fn run(args: &ReadArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    args.jobs.set()?;
    let reader = Reader::new(load_dial(&chosen(args.dial.as_deref())?)?);
    let files = photos(&args.photos)?;
    let overlays = args.overlay.as_ref().map(|dir| overlay_names(dir, &files, args.force)).transpose()?;
    let names = gather::names(&files);
    let limit = args.limit.map(|l| l.at(reader.dial().unit)).transpose()?;
    let mut sheet =
        Sheet { args, reader: &reader, table: ReadTable::new(&names).against(limit).explained(args.explain), status: ALL_READ, limit };
    explained_in_words_alone(args.explain, args.json || args.csv);
    match (args.json, args.csv) {
        (_, true) => write!(out, "{}", csv::photo_head(limit.is_some()))?,
        (false, _) => write!(out, "{}", wrapped(&sheet.table.head(reader.dial())))?,
        _ => {}
    }
    let progress = Progress::new(files.len());
    progress.show(0);
    let target = |k: usize| overlays.as_ref().and_then(|o| o.get(k)).map(PathBuf::as_path);
    let work = |k: usize, first: Option<&Record>| {
        files.get(k).map(|path| see(path, (&reader, first, args.metrics), (target(k), args.force), limit))
    };
    let keep = |seen: &Option<Seen>| seen.as_ref().and_then(|s| s.record.as_ref().ok().cloned());
    after_first(files.len(), work, keep, |k, seen| {
        progress.clear();
        if let (Some(seen), Some(path), Some(name)) = (seen, files.get(k), names.get(k)) {
            sheet.add(path, name, &seen, out)?;
        }
        progress.show(k + 1);
        Ok::<(), Failure>(())
    })?;
    progress.clear();
    if !args.json && !args.csv {
        write!(out, "{}", wrapped(&sheet.table.foot()))?;
    }
    Ok(sheet.status)
}

/// What is printed as the photos come, and the status so far.
struct Sheet<'a> {
    args: &'a ReadArgs,
    reader: &'a Reader,
    table: ReadTable,
    status: u8,
    /// Dial unit.
    limit: Option<f64>,
}

impl Sheet<'_> {
    fn add(&mut self, path: &Path, name: &str, seen: &Seen, out: &mut dyn Write) -> Result<(), Failure> {
        let dial = self.reader.dial();
        match &seen.record {
            Err(error) => {
                say(&not_opened(path, error));
                self.status = TROUBLE;
                self.table.unopened();
                self.machine(&unopened_line(name, dial, error)?, out)?;
            }
            Ok(record) => {
                let read = matches!(record.outcome, Outcome::Reading(_));
                self.status = self.status.max(if read { ALL_READ } else { NOT_ALL_READ });
                if self.args.json || self.args.csv {
                    let more = More { budget: self.args.budget, limit: self.limit, metrics: seen.metrics.as_ref() };
                    self.machine(&photo_line_with(name, dial, record, more)?, out)?;
                } else {
                    self.rows(name, record, out)?;
                }
            }
        }
        if let Some(trouble) = &seen.trouble {
            say(trouble);
            self.status = TROUBLE;
        }
        Ok(())
    }
    /// A photo's line for programs, where one is wanted.
    fn machine(&self, line: &str, out: &mut dyn Write) -> Result<(), Failure> {
        match (self.args.json, self.args.csv) {
            (true, _) => writeln!(out, "{line}")?,
            (_, true) => write!(out, "{}", csv::photo_row(line, self.limit.is_some())?)?,
            _ => {}
        }
        Ok(())
    }
    fn rows(&mut self, name: &str, record: &Record, out: &mut dyn Write) -> Result<(), Failure> {
        write!(out, "{}", wrapped(&self.table.row(name, self.reader.dial(), record)))?;
        if let (true, Outcome::Reading(reading)) = (self.args.budget, &record.outcome) {
            write!(out, "{}", wrapped(&budget(reading)))?;
        }
        Ok(out.flush()?)
    }
}

fn see(
    path: &Path,
    (reader, earlier, measured): (&Reader, Option<&Record>, bool),
    (overlay, force): (Option<&Path>, bool),
    limit: Option<f64>,
) -> Seen {
    let read = |photo: &Photo| {
        if measured {
            let (record, metrics) = reader.measure(photo, earlier);
            (record, Some(metrics))
        } else {
            (reader.read_after(photo, earlier), None)
        }
    };
    match opened(path, read) {
        Opened::Missing(error) => Seen { record: Err(error), metrics: None, trouble: None },
        Opened::Damaged(record) => Seen { record: Ok(left_out::applied(path, *record)), metrics: None, trouble: None },
        Opened::Read(photo, (record, metrics)) => {
            let record = left_out::applied(path, record);
            let trouble = overlay.and_then(|target| draw(&photo, (reader, &record), (target, force), limit).err());
            Seen { record: Ok(record), metrics, trouble }
        }
    }
}

fn draw(photo: &Photo, (reader, record): (&Reader, &Record), (target, force): (&Path, bool), limit: Option<f64>) -> Result<(), String> {
    let png = overlay_png_against(photo, reader.dial(), record, limit).map_err(|e| format!("{}: {e}", told(target)))?;
    write_whole(target, &png, force).map_err(|f| f.message.unwrap_or_default())
}

/// Where each photo's overlay goes; makes the folder. Photos of the same name get -2, -3 and so on.
fn overlay_names(dir: &Path, files: &[PathBuf], force: bool) -> Result<Vec<PathBuf>, Failure> {
    fs::create_dir_all(dir).map_err(|e| {
        let shown = told(dir);
        Failure::trouble(format!("The folder {shown} for the overlays could not be made ({}). Choose another.", files::plain(&e)))
    })?;
    if let Some(photo) = files.iter().find(|p| files::same(files::parent(p), dir)) {
        return Err(Failure::trouble(format!(
            "The overlays would go into the folder of the photo {}, where they could be taken for photos. Choose another folder.",
            told(photo)
        )));
    }
    let mut taken = BTreeSet::new();
    let name = |p: &PathBuf| dir.join(free_name(&p.file_stem().unwrap_or_default().to_string_lossy(), &mut taken));
    let targets: Vec<PathBuf> = files.iter().map(name).collect();
    targets.iter().try_for_each(|t| files::refuse_existing(t, force))?;
    Ok(targets)
}

fn free_name(stem: &str, taken: &mut BTreeSet<String>) -> String {
    let mut name = format!("{stem}.png");
    let mut n = 2;
    while !taken.insert(name.to_lowercase()) {
        name = format!("{stem}-{n}.png");
        n += 1;
    }
    name
}
