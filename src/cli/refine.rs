//! `refine`: a changed copy of a dial file, with an identity of its own.
use super::args::RefineArgs;
use super::failure::{ALL_READ, Failure};
use super::files::{load_dial, refuse_existing, write_whole};
use crate::dial::to_bytes;
use crate::output::text;
use std::io::Write;

/// Runs the command; the answer is the exit status.
pub fn run(args: &RefineArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    if args.declared.is_empty() {
        return Err(Failure::trouble(
            "Nothing to change was given, so no dial file is written. Give one of --gauge-accuracy, --stiction and --flat; \
             needleband refine --help shows how.",
        ));
    }
    refuse_existing(&args.out, args.force)?;
    let old = load_dial(&args.dial)?;
    let declared = args.declared.over(&old.declared, old.unit);
    let named = |e: &dyn std::fmt::Display| Failure::trouble(format!("{}: {e}", args.dial.display()));
    let new = old.clone().declare(declared).map_err(|e| named(&e))?;
    if new.id == old.id {
        return Err(Failure::trouble(format!(
            "{} declares just this already, so there is nothing to change and no file is written. Use it as it is.",
            args.dial.display()
        )));
    }
    let bytes = to_bytes(&new).map_err(|e| named(&e))?;
    write_whole(&args.out, &bytes, args.force)?;
    write!(out, "{}", text::refined(&old, &new))?;
    writeln!(out, "\nDial file: {}", args.out.display())?;
    Ok(ALL_READ)
}
