//! One line on the error stream that says how far the run is, only on a terminal: for more than one photo, and for one work that takes long.
use std::io::{IsTerminal, Write, stderr};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

/// A single work is told of when it takes longer than this.
const LONG: Duration = Duration::from_millis(500);

/// Does a work; on a terminal a line says `what` is done, with a dot for every half second, when that takes longer than half a second.
pub fn told<T>(what: &str, work: impl FnOnce() -> T) -> T {
    if !stderr().is_terminal() {
        return work();
    }
    let (done, waiting) = channel::<()>();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            let mut dots = 0;
            while waiting.recv_timeout(LONG) == Err(RecvTimeoutError::Timeout) {
                dots += 1;
                let _ = write!(stderr(), "\r{what} {}", ".".repeat(dots));
            }
            if dots > 0 {
                let _ = write!(stderr(), "\r\x1b[K");
            }
        });
        let answer = work();
        drop(done);
        answer
    })
}

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
