//! What `compare` takes.
use super::temperature::{Degrees, ambient, slope, spread, temperature};
use crate::compare::{Ambient, Slope};
use clap::Args;
use std::path::PathBuf;

/// The options of `compare`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband compare --dial oil.json --before old-cooler/ --after new-cooler/ --picture change.png
  needleband compare --dial oil.json --before old-cooler/ --after new-cooler/ \\
      --ambient-before 24C±2 --ambient-after 21C±2 --load-before \"80 km/h\" --load-after \"80 km/h\"
  needleband settle --dial oil.json old-run/ --json > old.json
  needleband compare --dial oil.json --before old.json --after new-cooler/ --limit 120C

The settled temperature follows the ambient one by something between 0 (a
thermostat holds it) and 1 (the cooler is at its limit) degrees a degree.
Nothing in the photos tells which, so the band of the adjusted change holds for
all of that range, unless --ambient-slope narrows it. On a keyboard without ±
write 24C+-2.")]
pub struct CompareArgs {
    /// The dial file [default: as for read]; not needed when both sides are settled levels
    #[arg(long, value_name = "FILE")]
    pub dial: Option<PathBuf>,
    /// Photos, or folders of photos, before the change; - for a list of them on standard input; or one .json file that settle --json wrote
    #[arg(long, value_name = "PHOTO|FOLDER|-|JSON", required = true, num_args = 1..)]
    pub before: Vec<PathBuf>,
    /// The same after the change
    #[arg(long, value_name = "PHOTO|FOLDER|-|JSON", required = true, num_args = 1..)]
    pub after: Vec<PathBuf>,
    /// Air temperature round the vehicle before, with how far it may be off, like 24C±2
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = ambient, requires = "ambient_after")]
    pub ambient_before: Option<Ambient>,
    /// The same after
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = ambient, requires = "ambient_before")]
    pub ambient_after: Option<Ambient>,
    /// By how much the settled temperature follows the ambient one, 0.6 or 0.3..0.8 [default: 0..1]
    #[arg(long, value_name = "SLOPE", allow_hyphen_values = true, value_parser = slope, requires = "ambient_before")]
    pub ambient_slope: Option<Slope>,
    /// The load before, best a number with its unit, like "80 km/h": only to warn when the two sides are not alike
    #[arg(long, value_name = "LOAD", allow_hyphen_values = true, value_parser = super::diary::words)]
    pub load_before: Option<String>,
    /// The same after
    #[arg(long, value_name = "LOAD", allow_hyphen_values = true, value_parser = super::diary::words)]
    pub load_after: Option<String>,
    /// How far the needle wanders between settled photos, one standard deviation, like 0.8C: only for one photo a side, which shows none.
    /// Without it such a difference is never called real (plan assumes 1C)
    #[arg(long, value_name = "DIFFERENCE", allow_hyphen_values = true, value_parser = spread)]
    pub scatter: Option<Degrees>,
    /// A temperature that must not be passed, like 120C: drawn, with the margin to it and the probability of being above
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = temperature)]
    pub limit: Option<Degrees>,
    /// One JSON object; numbers in the dial's unit, the change is after minus before
    #[arg(long)]
    pub json: bool,
    /// A table for a spreadsheet (RFC 4180)
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
    /// How it was worked out, with all digits
    #[arg(long, conflicts_with_all = ["json", "csv"])]
    pub explain: bool,
    /// Draw one picture of before and after for sharing, .png or .jpg
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
    /// Write over an earlier picture
    #[arg(long, requires = "picture")]
    pub force: bool,
    /// How many at once
    #[command(flatten)]
    pub jobs: super::JobsArgs,
}
