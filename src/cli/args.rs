//! What was typed, checked for form. The only place that knows the argument parser.
mod calibrate;
mod check;
mod compare;
mod declared;
mod diary;
mod jobs;
mod manual;
mod needle_reads;
mod plan;
mod read;
mod settle;
mod start;
mod temperature;
mod ticks;
mod typed_values;
mod usage;
mod view;
use super::failure::{ALL_READ, Failure, TROUBLE};
use crate::dial;
use crate::output::json;
use clap::error::ErrorKind;
use clap::{Parser, Subcommand};
use std::io::{self, Write};
use std::sync::LazyLock;

pub use calibrate::{CalibrateArgs, RefineArgs};
pub use check::CheckArgs;
pub use compare::CompareArgs;
pub use declared::DeclaredArgs;
pub use diary::{NoteArgs, ReportArgs, StagesArgs};
pub use jobs::JobsArgs;
pub use manual::{ManualArgs, completions, pages};
pub use needle_reads::NeedleReads;
pub use plan::PlanArgs;
pub use read::ReadArgs;
pub use settle::SettleArgs;
pub use start::{StartArgs, UseArgs};
pub use temperature::{Degrees, mixed};
pub use ticks::TicksArgs;
pub use typed_values::Known;
#[cfg(feature = "page")]
pub use view::reason;
pub use view::{LeaveOutArgs, ViewArgs};

/// Turns phone photos of an analog dash dial into temperatures with an honest 95 % band.
///
/// Calibrate a dial once from one sharp photo of it, then read any later photo of the same dial without clicking, and
/// compare the time before a change with the time after it.
///
/// Exit status: 0 everything was read, 1 some photo was honestly not read, 2 wrong usage or a file that could not be opened
/// or written.
#[derive(Debug, Parser)]
#[command(name = "needleband", version = VERSION.as_str(), arg_required_else_help = true, after_help = AFTER)]
pub struct Typed {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The program's version and those of the files that it writes.
static VERSION: LazyLock<String> = LazyLock::new(|| {
    let [program, dial, diary] = [env!("CARGO_PKG_VERSION"), &dial::FORMAT_VERSION.to_string(), &crate::diary::FORMAT_VERSION.to_string()];
    format!("{program} (dial file format {dial}, diary format {diary}, JSON format {})", json::FORMAT_VERSION)
});

const AFTER: &str = "Examples:
  needleband start dial.jpg                                        (begin here)
  needleband read --dial oil.json monday.jpg
  needleband compare --dial oil.json --before old-cooler/ --after new-cooler/
  needleband settle --dial oil.json warm-up/
  needleband plan --dial oil.json --drop 5C
  needleband note --diary oil.jsonl --stage \"larger cooler\" --dial oil.json new-cooler/
  needleband report --diary oil.jsonl --out oil.html

Nobody drives and photographs: a passenger or a mount takes the photo, or the
vehicle is parked. A dash gauge is no safety instrument.";

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Begin here: from the photo of a dial to the first reading, step by step
    ///
    /// Asks for the photo of your dial, opens a page on which the printed values are typed, lets you check what was learned, reads a
    /// second photo, and says what to do next.
    Start(StartArgs),
    /// Set the dial file that is used where no other is named
    ///
    /// Keeps its path in a settings file of yours. NEEDLEBAND_DIAL in the environment and a dial file in the folder come before it.
    Use(UseArgs),
    /// Learn a dial from one photo and the places of its marks
    ///
    /// Learns a dial from one sharp photo, seen nearly straight on, with the needle somewhere on the scale.
    ///
    /// Give the value and the place of three or more printed marks, and of the pivot when it can be seen. A place is counted in
    /// pixels of the upright photo as picture editors count: (0,0) is the top-left CORNER of the picture, x to the right, y
    /// down, so the centre of the first pixel is at 0.5,0.5. Each place is snapped to the printed mark next to it.
    ///
    /// Writes the dial file and, beside it, a picture to check it by.
    Calibrate(CalibrateArgs),
    /// Find the dials in a photo and number their printed ticks
    ///
    /// Finds the dials, their pivots and their printed ticks without a click, and gives each tick a number: 1 is the first one clockwise
    /// after the gap of the scale. The same photo always gives the same numbers; `calibrate --tick NUMBER=VALUE` takes them.
    ///
    /// A stroke that may be no tick is marked as doubtful. Look at the picture before a number is used.
    Ticks(TicksArgs),
    /// Tell more about a calibrated dial: a changed copy of its file
    ///
    /// Writes a copy of a dial file that also says what no photo can show: how right the gauge is, how far its needle may stick, where
    /// it stands still. What is given takes the place of what the file said of it; the rest stays.
    ///
    /// The copy is a dial of its own with a new identity: readings made with the old file share none of its error terms, so read both
    /// sides of a comparison with the same file.
    Refine(RefineArgs),
    /// Say how good a dial file is
    ///
    /// Tells how well its marks are known, what a degree of needle and a pixel are worth along the scale, the smallest change that can be
    /// shown with so many photos, and what may be wrong. With photos of one temperature it also tells how far their readings lie apart.
    Check(CheckArgs),
    /// Read photos of a calibrated dial
    ///
    /// Reads photos with no clicking: temperature in °C and °F, the 95 % band and remarks. A photo that cannot be read
    /// honestly gets a reason and advice in place of a number. In a folder all picture files are read in the order of their
    /// names; folders inside it are left alone.
    Read(ReadArgs),
    /// Show the readings of many photos on one page
    ///
    /// Writes one page, or opens one in the browser: each photo small with what was found in it, its value with the 95 % band on a time
    /// axis, and the photos that were not read with the reason.
    View(ViewArgs),
    /// Leave photos out of every result, with a reason that is kept and told
    ///
    /// Adds a line to the list left-out.csv beside the photo. From then on every command that reads it says "left out by hand" with the
    /// reason in place of a number. Leave out what went wrong with a photo, never a number that is not liked: no band holds after that.
    LeaveOut(LeaveOutArgs),
    /// Compare the photos before a change with those after it
    ///
    /// Gives the change with its 95 % band and says whether it is real. What both sides share (marks, pivot, gauge accuracy
    /// at the same place of the scale) cancels in the change, so it is known better than either temperature. Three or more
    /// photos a side show how far the needle wanders. A side may also be the file that settle --json wrote.
    ///
    /// With both ambient temperatures it also gives the rise over ambient and the change with the weather taken out.
    Compare(CompareArgs),
    /// Tell from photos over time whether the temperature has settled, and at what
    ///
    /// Fits a first-order approach through the readings and gives the settled temperature with its 95 % band, the time constant, and when
    /// it came within a degree Celsius. With less than two time constants seen it says "not settled" and gives limits, no guess. A
    /// photo without a reading or without a time is left out and named.
    Settle(SettleArgs),
    /// Tell how many photos a side, how near and after how long show a drop of a given size
    ///
    /// Works out what it takes to see a drop of this size 95 times of 100: how many photos a side, how large the dial must be in them,
    /// and how long to wait for the temperature to settle. Needs the dial file and no photo.
    Plan(PlanArgs),
    /// Note photos of a stage of the project in its diary
    ///
    /// Reads the photos and adds one line to the diary: what each gave with its whole uncertainty, its digest, the conditions, and a
    /// small picture of the dial, so that stages can be compared years later, when the photos are gone. Nothing in the diary is
    /// ever changed. Of photos that cannot be opened, or when none gives a reading, nothing is noted.
    Note(NoteArgs),
    /// Tell what each stage of the project brought, from its diary
    ///
    /// Gives each stage's temperature and the change from the stage before and since the first, with 95 % bands. Where several
    /// changes are looked at, one may seem real by chance; what is called real here is so among all of them (Holm).
    Stages(StagesArgs),
    /// Make a page to show others from a diary
    ///
    /// Writes one page that holds all it shows and needs no network and no script: the answer in a sentence, the stages, the dials,
    /// runs over time, tables, conditions, and how it was worked out.
    Report(ReportArgs),
    /// Write the manual pages and the shells' completions
    ///
    /// Writes a manual page for each command into the folder man, and completions for bash, zsh, fish, elvish and PowerShell into the
    /// folder completions, both inside the folder given. They are made from the same words as this help.
    Manual(ManualArgs),
}

/// What is wrong with these words (the program's name first), told as the command would; it is not run.
///
/// # Errors
/// The words of the usage error.
pub fn understood(words: &[&str]) -> Result<(), String> {
    Typed::try_parse_from(words).map(drop).map_err(|e| usage::told(&e, words.get(1).map(|w| w.as_ref())))
}

/// A command from words that this program puts together (without its own name).
///
/// # Errors
/// What is wrong with them, as told to whoever typed them.
pub fn parsed(words: impl IntoIterator<Item = std::ffi::OsString>) -> Result<Command, Failure> {
    let whole: Vec<_> = std::iter::once(std::ffi::OsString::from("needleband")).chain(words).collect();
    let told = |e| Failure::trouble(usage::told(&e, whole.get(1).map(|w| w.as_ref())));
    Typed::try_parse_from(&whole).map(|t| t.command).map_err(told)
}

/// The command line; or the end of the run, after help was shown or with a usage error.
pub fn typed() -> Result<Typed, Failure> {
    Typed::try_parse().map_err(|e| match e.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => {
            let shown = e.print().and_then(|()| io::stdout().flush());
            shown.map_or_else(Failure::from, |()| Failure { message: None, status: ALL_READ })
        }
        ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            // the help itself, on the error stream; a closed one is no reason to say more than the status does
            let _ = e.print();
            Failure { message: None, status: TROUBLE }
        }
        _ => Failure::trouble(usage::told(&e, std::env::args_os().nth(1).as_deref())),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_parser_is_consistent() {
        Typed::command().debug_assert();
    }
}
