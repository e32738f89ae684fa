//! What `check` takes.
use clap::Args;
use std::path::PathBuf;

/// What `check` takes.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband check oil.json
  needleband check oil.json idle-1.jpg idle-2.jpg idle-3.jpg --picture scale.png")]
pub struct CheckArgs {
    /// The dial file written by calibrate
    #[arg(value_name = "FILE")]
    pub dial: PathBuf,
    /// Photos, or folders of photos, of one and the same temperature
    #[arg(value_name = "PHOTO|FOLDER")]
    pub photos: Vec<PathBuf>,
    /// Draw the scale as a curve, .png or .jpg; an earlier one is replaced
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// One JSON object; values in the dial's unit, angles in degrees
    #[arg(long)]
    pub json: bool,
}
