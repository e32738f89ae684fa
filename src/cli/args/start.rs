//! What `start` and `use` take.
use clap::Args;
use std::path::PathBuf;

/// The options of `start`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband start
  needleband start dial.jpg
  needleband start dial.jpg --terminal
  needleband start --lan         (on the phone, which has the photo)")]
pub struct StartArgs {
    /// The photo of the dial; asked for where it is not given
    #[arg(value_name = "PHOTO")]
    pub photo: Option<PathBuf>,
    /// The dial file to write [default: dial.json, or dial-2.json and so on]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Ask here and open no page: for a computer without a browser
    #[arg(long)]
    pub terminal: bool,
    /// The page is for a phone in the same network, which may also send the photo. Not encrypted: at home only
    #[arg(long, value_name = "ADDRESS", conflicts_with = "terminal", num_args = 0..=1, require_equals = true, default_missing_value = "")]
    pub lan: Option<String>,
}

/// The options of `use`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband use oil.json
  needleband use                 (tells which one is set)")]
pub struct UseArgs {
    /// The dial file
    #[arg(value_name = "FILE")]
    pub dial: Option<PathBuf>,
}
