//! What `view` and `leave-out` take.
use super::temperature::{Degrees, temperature};
use clap::Args;
use std::path::PathBuf;

/// The options of `view`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband view --dial oil.json photos/ --out readings.html
  needleband view photos/ --out readings.html --limit 120C --force
  needleband view photos/ --open                (photos are left out by a click)")]
pub struct ViewArgs {
    /// The dial file [default: NEEDLEBAND_DIAL, the only one in this folder, or the one set with use]
    #[arg(long, value_name = "FILE")]
    pub dial: Option<PathBuf>,
    /// Photos, or folders of photos; - for a list of them on standard input, a name a line (or ended by zero bytes)
    #[arg(value_name = "PHOTO|FOLDER|-", required = true)]
    pub photos: Vec<PathBuf>,
    /// The page to write: one file that needs no network and no script
    #[arg(long, value_name = "FILE", required_unless_present = "open")]
    pub out: Option<PathBuf>,
    /// Write over an earlier page
    #[arg(long)]
    pub force: bool,
    /// Show it in the browser, on a page that only this computer can open; there a photo is left out by a click, with a reason
    #[arg(long)]
    pub open: bool,
    /// A temperature that must not be passed, like 120C: drawn, with each photo's margin to it
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = temperature)]
    pub limit: Option<Degrees>,
    /// How many at once
    #[command(flatten)]
    pub jobs: super::JobsArgs,
}

/// The options of `leave-out`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband leave-out photos/7.jpg --reason \"sun on the glass\"
  needleband leave-out photos/7.jpg --take-back
  needleband leave-out photos/                  (tells what is left out)")]
pub struct LeaveOutArgs {
    /// Photos, or folders of photos
    #[arg(value_name = "PHOTO|FOLDER", required = true)]
    pub photos: Vec<PathBuf>,
    /// Why; every result tells it
    #[arg(long, value_name = "TEXT", value_parser = reason)]
    pub reason: Option<String>,
    /// Count them again
    #[arg(long, conflicts_with = "reason")]
    pub take_back: bool,
}

/// Longest reason, characters.
const LONGEST: usize = 200;

/// One line that no spreadsheet takes for a formula.
pub fn reason(text: &str) -> Result<String, String> {
    let line = super::diary::words(text)?;
    if line.starts_with(['=', '+', '-', '@']) {
        return Err("begin the reason with a letter".to_string());
    }
    match line.chars().count() {
        n if n > LONGEST => Err(format!("the reason has {n} characters, more than {LONGEST}; shorten it")),
        _ => Ok(line),
    }
}
