//! What `ticks` takes.
use super::place;
use clap::Args;
use std::path::PathBuf;

/// What `ticks` takes.
#[derive(Args, Debug)]
#[command(after_help = "Example:
  needleband ticks dial.jpg --picture ticks.png
Look at ticks.png, then say what some of the numbers stand for:
  needleband calibrate dial.jpg --unit C --tick 1=40 --tick 21=80 --tick 41=120 --out oil.json")]
pub struct TicksArgs {
    /// The reference photo
    #[arg(value_name = "PHOTO")]
    pub photo: PathBuf,
    /// With several dials in the photo: only the one nearest to this place, px from the top-left corner
    #[arg(long, value_name = "X,Y", allow_hyphen_values = true, value_parser = place)]
    pub dial_at: Option<[f64; 2]>,
    /// Draw the photo with each tick's number beside it, .png or .jpg; an earlier one is replaced
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// One JSON object: places in px from the top-left corner, angles in degrees
    #[arg(long)]
    pub json: bool,
}
