//! `manual`: manual pages and completions into a folder.
use super::args::{ManualArgs, pages};
use super::failure::{ALL_READ, Failure};
use super::files::{parent, plain, told, write_whole};
use std::fs;
use std::io::Write;

/// Runs the command; the answer is the exit status.
pub fn run(args: &ManualArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    let files = pages()?;
    for (place, text) in &files {
        let path = args.folder.join(place);
        let folder = parent(&path);
        fs::create_dir_all(folder).map_err(|e| {
            let shown = told(folder);
            Failure::trouble(format!("The folder {shown} for the pages could not be made ({}). Choose another.", plain(&e)))
        })?;
        write_whole(&path, text, true)?;
    }
    let pages = files.iter().filter(|f| f.0.starts_with("man")).count();
    writeln!(out, "{pages} manual pages and {} completions in {}.", files.len() - pages, told(&args.folder))?;
    Ok(ALL_READ)
}
