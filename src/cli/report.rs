//! `report`: a diary to a page to show others.
use super::args::ReportArgs;
use super::failure::Failure;
use super::files::{self, needs_ending, plain, refuse_existing, told, write_whole};
use super::stages::{of, status};
use crate::output::{Markdown, markdown, page};
use std::fs;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Runs the command; the answer is the exit status.
pub fn run(args: &ReportArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    match args.markdown {
        true => needs_ending(&args.out, ["md", "markdown"], "Markdown")?,
        false => needs_ending(&args.out, ["html", "htm"], "a page")?,
    }
    if files::same(&args.out, &args.diary) {
        return Err(Failure::trouble("The page would be written over the diary itself. Choose another name."));
    }
    refuse_existing(&args.out, args.force)?;
    let folder = if args.markdown { Some(folder_of(args)?) } else { None };
    let (diary, project) = of(&args.diary, args.limit)?;
    let failed = |e: &dyn std::fmt::Display| Failure::trouble(format!("{}: {e}", told(&args.out)));
    if let Some(folder) = folder {
        let name = folder.file_name().unwrap_or_default().to_string_lossy();
        let made = markdown(&project, &diary, &name).map_err(|e| failed(&e))?;
        write_markdown(args, &folder, &made)?;
        let (n, shown) = (made.pictures.len(), told(&folder));
        writeln!(out, "Markdown: {}, with {n} picture{} in {shown}", told(&args.out), if n == 1 { "" } else { "s" })?;
    } else {
        let text = page(&project, &diary).map_err(|e| failed(&e))?;
        write_whole(&args.out, text.as_bytes(), args.force)?;
        writeln!(out, "Page: {} ({} kB, all in one file)", told(&args.out), text.len().div_ceil(1000))?;
    }
    Ok(status(&diary, &project))
}

/// Where the pictures of "oil.md" go: "oil.pictures". What is there already stays, unless `--force` was given and it is a folder.
fn folder_of(args: &ReportArgs) -> Result<PathBuf, Failure> {
    let stem = args.out.file_stem().unwrap_or_default().to_string_lossy();
    let folder = args.out.with_file_name(format!("{stem}.pictures"));
    let shown = told(&folder);
    match folder.symlink_metadata() {
        Ok(there) if !there.is_dir() => Err(Failure::trouble(format!(
            "{shown} is to be the folder of the pictures and is no folder, so it is left as it is. Choose another --out."
        ))),
        Ok(_) => refuse_existing(&folder, args.force).map(|()| folder),
        Err(_) => Ok(folder),
    }
}

/// All targets are looked at before the first is written; the text comes last, so that it never names a picture that is not there.
fn write_markdown(args: &ReportArgs, folder: &Path, made: &Markdown) -> Result<(), Failure> {
    let targets: Vec<(PathBuf, &[u8])> = made
        .pictures
        .iter()
        .map(|(name, bytes)| (args.out.with_file_name(name), bytes.as_slice()))
        .chain([(args.out.clone(), made.text.as_bytes())])
        .collect();
    for (path, _) in &targets {
        if path.is_dir() || files::same(path, &args.diary) {
            return Err(Failure::trouble(format!(
                "{} is a folder or the diary itself and not an earlier report, so nothing is written. Choose another --out.",
                told(path)
            )));
        }
        refuse_existing(path, args.force)?;
    }
    match fs::create_dir(folder) {
        Err(e) if e.kind() != ErrorKind::AlreadyExists => Err(Failure::trouble(format!(
            "The folder {} for the pictures could not be made ({}), so nothing is written. Check the folder it lies in and its rights.",
            told(folder),
            plain(&e)
        ))),
        _ => targets.iter().try_for_each(|(path, bytes)| write_whole(path, bytes, args.force)),
    }
}
