//! What `ticks` takes.
use super::typed_values::{number, place};
use clap::Args;
use std::path::PathBuf;

/// What `ticks` takes.
#[derive(Args, Debug)]
#[command(after_help = "Example:
  needleband ticks dial.jpg --picture ticks.png
A dial that is not found in the whole photo, drawn round:
  needleband ticks dial.jpg --within 846,620,330 --picture ticks.png
Look at ticks.png, then say what some of the numbers stand for:
  needleband calibrate dial.jpg --unit C --tick 1=40 --tick 21=80 --tick 41=120 --out oil.json")]
pub struct TicksArgs {
    /// The reference photo
    #[arg(value_name = "PHOTO")]
    pub photo: PathBuf,
    /// With several dials in the photo: only the one nearest to this place, px from the top-left corner
    #[arg(long, value_name = "X,Y", allow_hyphen_values = true, value_parser = place)]
    pub dial_at: Option<[f64; 2]>,
    /// Search only inside this circle, closer and for fainter strokes: middle and radius, px from the top-left corner
    #[arg(long, value_name = "X,Y,RADIUS", allow_hyphen_values = true, value_parser = circle)]
    pub within: Option<[f64; 3]>,
    /// Draw the photo with each tick's number beside it, .png or .jpg
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// Write over an earlier picture
    #[arg(long, requires = "picture")]
    pub force: bool,
    /// One JSON object: places in px from the top-left corner, angles in degrees
    #[arg(long)]
    pub json: bool,
}

/// A circle as typed: middle and radius.
pub(super) fn circle(text: &str) -> Result<[f64; 3], String> {
    let (at, radius) = text.rsplit_once(',').filter(|(at, _)| at.contains(',')).ok_or("write middle and radius in px like 846,620,330")?;
    let ([x, y], radius) = (place(at)?, number(radius, "radius")?);
    if radius > 0.0 { Ok([x, y, radius]) } else { Err("the radius must be above 0 px".into()) }
}
