//! `manual`: manual pages and completions into a folder.
use super::args::{ManualArgs, completions, pages};
use super::failure::{ALL_READ, Failure};
use super::files::{parent, plain, refuse_existing, told, write_whole};
use std::fs;
use std::io::Write;

/// Runs the command; the answer is the exit status.
pub fn run(args: &ManualArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    if let Some(shell) = args.completions {
        out.write_all(&completions(shell))?;
        return Ok(ALL_READ);
    }
    let Some(target) = &args.folder else { return Ok(ALL_READ) };
    let files = pages()?;
    files.iter().try_for_each(|(place, _)| refuse_existing(&target.join(place), args.force))?;
    for (place, text) in &files {
        let path = target.join(place);
        let folder = parent(&path);
        fs::create_dir_all(folder).map_err(|e| {
            let shown = told(folder);
            Failure::trouble(format!("The folder {shown} for the pages could not be made ({}). Choose another.", plain(&e)))
        })?;
        write_whole(&path, text, args.force)?;
    }
    let pages = files.iter().filter(|f| f.0.starts_with("man")).count();
    writeln!(out, "{pages} manual pages and {} completions in {}.", files.len() - pages, told(target))?;
    Ok(ALL_READ)
}
