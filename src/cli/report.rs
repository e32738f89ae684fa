//! `report`: a diary to a page to show others.
use super::args::ReportArgs;
use super::failure::Failure;
use super::files::{self, write_whole};
use super::stages::{of, status};
use crate::output::{markdown, page};
use std::io::Write;

/// Runs the command; the answer is the exit status.
pub fn run(args: &ReportArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    let ending = args.out.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    let (known, what) = if args.markdown { (["md", "markdown"], "Markdown") } else { (["html", "htm"], "a page") };
    if !known.contains(&ending.as_str()) {
        return Err(Failure::trouble(format!(
            "{} does not end in .{}, so it may not be opened as {what}. Give it that ending.",
            args.out.display(),
            known[0]
        )));
    }
    if files::same(&args.out, &args.diary) {
        return Err(Failure::trouble("The page would be written over the diary itself. Choose another name."));
    }
    let (diary, project) = of(&args.diary)?;
    let failed = |e: &dyn std::fmt::Display| Failure::trouble(format!("{}: {e}", args.out.display()));
    if args.markdown {
        let stem = args.out.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let made = markdown(&project, &diary, &stem).map_err(|e| failed(&e))?;
        for (name, bytes) in &made.pictures {
            write_whole(&args.out.with_file_name(name), bytes, true)?;
        }
        write_whole(&args.out, made.text.as_bytes(), true)?;
        let n = made.pictures.len();
        writeln!(out, "Markdown: {}, with {n} picture{} beside it", args.out.display(), if n == 1 { "" } else { "s" })?;
    } else {
        let text = page(&project, &diary).map_err(|e| failed(&e))?;
        write_whole(&args.out, text.as_bytes(), true)?;
        writeln!(out, "Page: {} ({} kB, all in one file)", args.out.display(), text.len().div_ceil(1000))?;
    }
    Ok(status(&diary, &project))
}
