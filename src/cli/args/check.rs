//! What `check` takes.
use clap::Args;
use std::path::{Path, PathBuf};

/// What `check` takes.
#[derive(Args, Debug)]
#[command(
    override_usage = "needleband check [OPTIONS] --dial <FILE> [PHOTO|FOLDER|-]...",
    after_help = "Examples:
  needleband check --dial oil.json
  needleband check --dial oil.json idle-1.jpg idle-2.jpg idle-3.jpg --picture scale.png"
)]
pub struct CheckArgs {
    /// The dial file; it may also stand first among the names, without --dial [default: as for read]
    #[arg(long, value_name = "FILE")]
    dial: Option<PathBuf>,
    /// Photos, or folders of photos, of one and the same temperature; - for a list of them on standard input
    #[arg(value_name = "PHOTO|FOLDER|-")]
    names: Vec<PathBuf>,
    /// Draw the scale as a curve, .png or .jpg
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// Write over an earlier picture
    #[arg(long, requires = "picture")]
    pub force: bool,
    /// One JSON object; values in the dial's unit, angles in degrees
    #[arg(long)]
    pub json: bool,
    /// How many at once
    #[command(flatten)]
    pub jobs: super::JobsArgs,
}

impl CheckArgs {
    /// The dial file, where one is named, and the photos.
    pub fn given(&self) -> (Option<&Path>, &[PathBuf]) {
        let json = |p: &&PathBuf| p.extension().is_some_and(|e| e.eq_ignore_ascii_case("json"));
        match (&self.dial, self.names.split_first()) {
            (None, Some((dial, photos))) if json(&dial) => (Some(dial), photos),
            (dial, _) => (dial.as_deref(), &self.names),
        }
    }
}
