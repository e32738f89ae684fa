//! `view`: readings as one page, each photo with what was found in it; a file, or served to this computer with buttons to leave photos out.
use super::args::ViewArgs;
use super::failure::Failure;
use super::files::{self, load_dial, needs_ending, photos, refuse_existing, told, write_whole};
use super::readings::Readings;
use super::which_dial::chosen;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Runs the command; the answer is the exit status.
pub fn run(args: &ViewArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    args.jobs.set()?;
    let dial_file = chosen(args.dial.as_deref())?;
    let paths = photos(&args.photos)?;
    if let Some(target) = &args.out {
        target_of(target, args, paths.iter().chain([&dial_file]))?;
    }
    let dial = load_dial(&dial_file)?;
    let limit = args.limit.map(|l| l.at(dial.unit)).transpose()?;
    let readings = Readings::of(dial, paths, limit)?;
    if let Some(target) = &args.out {
        let text = readings.page(None);
        write_whole(target, text.as_bytes(), args.force)?;
        writeln!(out, "Page: {} ({} kB, all in one file)", told(target), text.len().div_ceil(1000))?;
    }
    let status = readings.status();
    if args.open {
        serve(readings, out)?;
    }
    Ok(status)
}

#[cfg(feature = "page")]
fn serve(readings: Readings, out: &mut dyn Write) -> Result<(), Failure> {
    super::page::view(readings, out)
}

#[cfg(not(feature = "page"))]
fn serve(_: Readings, _: &mut dyn Write) -> Result<(), Failure> {
    Err(Failure::trouble("This program was built without its pages (feature \"page\"). Use view --out, or build it with."))
}

fn target_of<'a>(target: &Path, args: &ViewArgs, mut read: impl Iterator<Item = &'a PathBuf>) -> Result<(), Failure> {
    needs_ending(target, ["html", "htm"], "a page")?;
    if read.any(|p| files::same(p, target)) {
        return Err(Failure::trouble(format!(
            "{} is a file that is being read, so it is not written over. Choose another name.",
            told(target)
        )));
    }
    refuse_existing(target, args.force)
}
