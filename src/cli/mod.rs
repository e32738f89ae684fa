//! Layer 12: the command line. Files in, files out; nothing here measures.
mod args;
mod ask;
mod calibrate;
mod calibrated;
mod check;
mod clip;
mod compare;
mod corrections;
mod diary;
mod failure;
mod files;
mod gather;
mod grown;
mod left_out;
mod list;
mod manual;
mod needle_check;
mod note;
mod open;
#[cfg(feature = "page")]
mod page;
mod parallel;
mod plan;
mod progress;
mod read;
mod readings;
mod refine;
mod report;
mod settle;
mod sides;
mod stages;
mod start;
mod ticks;
mod times;
mod view;
mod which_dial;
use args::Command;
use std::process::ExitCode;

pub use args::understood;

/// The command: parses what was typed, runs it, says what went wrong, and gives the exit status (0 all read, 1 some photo
/// honestly not read, 2 wrong usage or a file that could not be opened or written).
pub fn main() -> ExitCode {
    crate::photo::quiet_decoders();
    let status = args::typed().and_then(|typed| run(&typed.command)).unwrap_or_else(|failure| {
        if let Some(message) = &failure.message {
            failure::say(message);
        }
        failure.status
    });
    ExitCode::from(status)
}

fn run(command: &Command) -> Result<u8, failure::Failure> {
    let mut out = std::io::stdout().lock();
    match command {
        Command::Start(a) => start::run(a, &mut out),
        Command::Use(a) => which_dial::run(a, &mut out),
        Command::Calibrate(a) => calibrate::run(a, &mut out),
        Command::Ticks(a) => ticks::run(a, &mut out),
        Command::Check(a) => check::run(a, &mut out),
        Command::Refine(a) => refine::run(a, &mut out),
        Command::Read(a) => read::run(a, &mut out),
        Command::View(a) => view::run(a, &mut out),
        Command::LeaveOut(a) => left_out::run(a, &mut out),
        Command::Compare(a) => compare::run(a, &mut out),
        Command::Settle(a) => settle::run(a, &mut out),
        Command::Plan(a) => plan::run(a, &mut out),
        Command::Note(a) => note::run(a, &mut out),
        Command::Stages(a) => stages::run(a, &mut out),
        Command::Report(a) => report::run(a, &mut out),
        Command::Manual(a) => manual::run(a, &mut out),
    }
}
