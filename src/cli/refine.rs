//! `refine`: a changed copy of a dial file, with an identity of its own.
use super::args::RefineArgs;
use super::failure::{ALL_READ, Failure, NOT_ALL_READ, say};
use super::files::{dial_file, load_dial, refuse_existing, told, write_whole};
use super::open::named_photos;
use crate::calibrate::learn_stand;
use crate::output::text;
use std::io::Write;

/// Runs the command; the answer is the exit status.
pub fn run(args: &RefineArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    if args.declared.is_empty() && args.photos.is_empty() {
        return Err(Failure::trouble(
            "Nothing to change was given, so no dial file is written. Give photos, or one of --gauge-accuracy, --stiction and --flat; \
             needleband refine --help shows how.",
        ));
    }
    refuse_existing(&args.out, args.force)?;
    let old = load_dial(&args.dial)?;
    let declared = args.declared.over(&old.declared, old.unit).map_err(Failure::trouble)?;
    let named = |e: &dyn std::fmt::Display| Failure::trouble(format!("{}: {e}", told(&args.dial)));
    let mut new = old.clone();
    if !args.declared.is_empty() {
        new = new.declare(declared).map_err(|e| named(&e))?;
    }
    let mut left_out = Vec::new();
    if !args.photos.is_empty() {
        let photos = named_photos(&args.photos)?;
        let (stand, skipped) = learn_stand(&old, &photos).map_err(|e| Failure::not_read(format!("No dial file is written: {e}")))?;
        (new, left_out) = (new.with_stand(stand), skipped);
    }
    if new.id == old.id {
        return Err(Failure::trouble(format!(
            "{} declares just this already, so there is nothing to change and no file is written. Use it as it is.",
            told(&args.dial)
        )));
    }
    let bytes = dial_file(&new).map_err(|e| named(&e))?;
    write_whole(&args.out, &bytes, args.force)?;
    write!(out, "{}", text::wrapped(&text::refined(&old, &new)))?;
    writeln!(out, "\nDial file: {}", told(&args.out))?;
    left_out.iter().for_each(|line| say(line));
    Ok(if left_out.is_empty() { ALL_READ } else { NOT_ALL_READ })
}
