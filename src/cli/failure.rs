//! What ends a run early, and the exit statuses.
use crate::output::json::JsonError;
use crate::output::shown_lines;
use std::io::{self, Write};

/// Everything was read.
pub const ALL_READ: u8 = 0;
/// Some photo was honestly not read.
pub const NOT_ALL_READ: u8 = 1;
/// Wrong usage, or a file that could not be opened or written.
pub const TROUBLE: u8 = 2;

/// The end of a run: what to say on the error stream (nothing for a closed pipe) and the exit status.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// What was seen, what it means, what to do.
    pub message: Option<String>,
    /// Exit status.
    pub status: u8,
}

impl Failure {
    /// Usage or I/O trouble.
    pub fn trouble(message: impl Into<String>) -> Self {
        Self { message: Some(message.into()), status: TROUBLE }
    }
    /// A photo that was honestly not read, so that there is no result.
    pub fn not_read(message: impl Into<String>) -> Self {
        Self { message: Some(message.into()), status: NOT_ALL_READ }
    }
}

/// Trouble with standard output. A reader that closed the pipe has seen enough: that is quiet and no error.
impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::BrokenPipe => Self { message: None, status: ALL_READ },
            _ => Self::trouble(format!(
                "The result could not be written to standard output ({}), so it is not complete. Check the disk or the pipe.",
                plain(&error)
            )),
        }
    }
}

impl From<JsonError> for Failure {
    fn from(error: JsonError) -> Self {
        Self::trouble(error.to_string())
    }
}

/// A line on the error stream; trouble with that stream is passed over.
pub fn say(message: &str) {
    let _ = writeln!(io::stderr(), "needleband: {}", shown_lines(message));
}

/// Says so where `--explain` is given with a form that has no words.
pub fn explained_in_words_alone(explain: bool, machine: bool) {
    if explain && machine {
        say("--explain is for words alone and changes nothing here: --json and --csv hold every number with all its digits.");
    }
}

/// The system's message without its error number.
pub fn plain(error: &std::io::Error) -> String {
    let text = error.to_string();
    text.split(" (os error").next().unwrap_or(&text).to_string()
}
