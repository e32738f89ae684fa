//! Opens the page in the user's browser with what the system has for it.
use super::super::failure::say;
use std::process::{Command, Stdio};

/// Asks the system to open a link; says so when it has nothing to do it with.
pub fn open(link: &str) {
    let program = if cfg!(target_os = "macos") {
        "open"
    } else if cfg!(windows) {
        "explorer"
    } else {
        "xdg-open"
    };
    let started = Command::new(program).arg(link).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).spawn();
    if started.is_err() {
        say(&format!("{program} could not be started, so the page is not opened. Open the link by hand."));
    }
}
