//! Layer 11: the command line. Files in, files out; nothing here measures.
mod args;
mod calibrate;
mod check;
mod compare;
mod failure;
mod files;
mod gather;
mod open;
#[cfg(feature = "page")]
mod page;
mod parallel;
mod progress;
mod read;
mod refine;
mod settle;
mod ticks;
mod times;
use args::Command;
use std::process::ExitCode;

/// The command: parses what was typed, runs it, says what went wrong, and gives the exit status (0 all read, 1 some photo
/// honestly not read, 2 wrong usage or a file that could not be opened or written).
pub fn main() -> ExitCode {
    let typed = match args::typed() {
        Ok(typed) => typed,
        Err(status) => return status,
    };
    let mut out = std::io::stdout().lock();
    let done = match &typed.command {
        Command::Calibrate(a) => calibrate::run(a, &mut out),
        Command::Ticks(a) => ticks::run(a, &mut out),
        Command::Check(a) => check::run(a, &mut out),
        Command::Refine(a) => refine::run(a, &mut out),
        Command::Read(a) => read::run(a, &mut out),
        Command::Compare(a) => compare::run(a, &mut out),
        Command::Settle(a) => settle::run(a, &mut out),
    };
    let status = done.unwrap_or_else(|failure| {
        if let Some(message) = &failure.message {
            failure::say(message);
        }
        failure.status
    });
    ExitCode::from(status)
}
