//! `calibrate`: one photo and the places of its marks to a dial file and a check picture.
use super::args::CalibrateArgs;
use super::calibrated::{Further, Wanted, made, save, targets_of};
use super::failure::{ALL_READ, Failure, TROUBLE, say};
use super::files::worded;
use super::open::whole;
use super::ticks;
use crate::output::text;
use crate::photo::Photo;
use std::io::Write;

/// Runs the command; the answer is the exit status.
pub fn run(args: &CalibrateArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    if args.page {
        return page(args, out);
    }
    if args.is_bare() {
        return Err(Failure::trouble(format!(
            "Nothing says what the marks stand for, so there is no scale. The easy way, step by step: needleband start {0}\n\
             Or the page alone: needleband calibrate {0} --page --open --out dial.json\n\
             Or places by hand: --mark VALUE@X,Y for each of three or more marks (see calibrate --help).",
            worded(args.photo())
        )));
    }
    let picture = targets_of(args)?;
    let photo = whole(args.photo())?;
    let done = made(&photo, &wanted(args, &photo)?, &Further::of(args)?, args)?;
    let saved = save(args, &photo, &done, &picture)?;
    write!(out, "{}", text::wrapped(&text::calibration(&done)))?;
    writeln!(out, "\n{}", saved.said)?;
    if let Some(trouble) = &saved.trouble {
        say(trouble);
        return Ok(TROUBLE);
    }
    Ok(ALL_READ)
}

#[cfg(feature = "page")]
fn page(args: &CalibrateArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    super::page::run(args, out)
}

#[cfg(not(feature = "page"))]
fn page(_: &CalibrateArgs, _: &mut dyn Write) -> Result<u8, Failure> {
    Err(Failure::trouble("This program was built without its page (feature \"page\"). Use calibrate --tick or --mark, or build it with."))
}

/// What was typed, the numbers of ticks turned into places.
fn wanted(args: &CalibrateArgs, photo: &Photo) -> Result<Wanted, Failure> {
    let unit = args.unit.ok_or_else(|| {
        Failure::trouble("The unit printed on the dial is not known. Add --unit C or --unit F, or another by its name: --unit bar.")
    })?;
    let (mut marks, mut pivot) = (args.marks.clone(), args.pivot);
    if !args.ticks.is_empty() {
        let picked = ticks::picked(args.photo(), photo, &args.ticks, (args.dial_at, args.within))?;
        marks.extend(picked.marks);
        pivot = pivot.or(picked.pivot);
    }
    Ok(Wanted { unit, name: args.dial_name(), marks, angles: args.angles.clone(), pivot, rim: args.rim, tick_step: args.tick_step })
}
