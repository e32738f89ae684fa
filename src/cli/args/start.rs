//! What `start` and `use` take.
use clap::Args;
use std::path::PathBuf;

/// The options of `start`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband start
  needleband start dial.jpg
  needleband start dial.jpg --terminal")]
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
