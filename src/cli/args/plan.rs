//! What `plan` takes.
use super::settle::duration;
use super::temperature::{Degrees, any, difference, spread};
use clap::Args;
use std::path::PathBuf;

/// The options of `plan`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband plan --dial oil.json --drop 5C
  needleband plan --dial oil.json --drop 5C --scatter 0.8C --at 95C --time-constant 8min

The scatter is what compare prints behind each side: how far the readings of
settled photos differ among themselves.
The time constant is what settle prints.")]
pub struct PlanArgs {
    /// The dial file [default: NEEDLEBAND_DIAL, the only one in this folder, or the one set with use]
    #[arg(long, value_name = "FILE")]
    pub dial: Option<PathBuf>,
    /// The drop to be shown
    #[arg(long, value_name = "DIFFERENCE", allow_hyphen_values = true, value_parser = difference)]
    pub drop: Degrees,
    /// How far the needle wanders between settled photos, one standard deviation [default: 1 °C, an assumption]
    #[arg(long, value_name = "DIFFERENCE", allow_hyphen_values = true, value_parser = spread)]
    pub scatter: Option<Degrees>,
    /// The temperature before the change [default: wherever on the scale it takes most photos]
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = any)]
    pub at: Option<Degrees>,
    /// The time constant of the warm-up, like 8min, to tell the wait in minutes too
    #[arg(long, value_name = "TIME", value_parser = duration)]
    pub time_constant: Option<f64>,
    /// One JSON object; temperatures in the dial's unit, times in seconds
    #[arg(long)]
    pub json: bool,
}
