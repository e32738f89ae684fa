//! One line on the error stream that says how far the run is, only on a terminal and for more than one photo.
use std::io::{IsTerminal, Write, stderr};

/// The progress line.
#[derive(Debug)]
pub struct Progress {
    total: usize,
    shown: bool,
}

impl Progress {
    /// For so many photos.
    pub fn new(total: usize) -> Self {
        Self { total, shown: total > 1 && stderr().is_terminal() }
    }
    /// Shows that `done` photos are read. Trouble with the error stream is passed over.
    pub fn show(&self, done: usize) {
        if self.shown {
            let _ = write!(stderr(), "\rread {done} of {} photos", self.total);
        }
    }
    /// Takes the line away, before anything else is printed.
    pub fn clear(&self) {
        if self.shown {
            let _ = write!(stderr(), "\r\x1b[K");
        }
    }
}
