//! What `read` takes.
use super::temperature::{Degrees, temperature};
use clap::Args;
use std::path::PathBuf;

/// What `read` takes.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband read monday.jpg tuesday.jpg      (with the one dial file in this folder)
  needleband read --dial oil.json photos/ --csv > readings.csv
  needleband read --dial oil.json photos/ --json --budget > readings.jsonl
  needleband read --dial oil.json photos/ --overlay drawn/ --limit 120C --force
  find frames/ -name '*.jpg' -print0 | needleband read --dial oil.json --json - > readings.jsonl")]
pub struct ReadArgs {
    /// The dial file [default: NEEDLEBAND_DIAL, the only one in this folder, or the one set with use]
    #[arg(long, value_name = "FILE")]
    pub dial: Option<PathBuf>,
    /// Photos, or folders of photos; - for a list of them on standard input, a name a line (or ended by zero bytes)
    #[arg(value_name = "PHOTO|FOLDER|-", required = true)]
    pub photos: Vec<PathBuf>,
    /// One JSON object a line for each photo, in the order given; temperatures in the dial's unit, angles in degrees
    #[arg(long)]
    pub json: bool,
    /// A table for a spreadsheet (RFC 4180) with the fields of --json
    #[arg(long, conflicts_with_all = ["json", "budget"])]
    pub csv: bool,
    /// All digits and the band of each reading
    #[arg(long)]
    pub explain: bool,
    /// Draw what was found over each photo, as <photo>.png in this folder
    #[arg(long, value_name = "FOLDER")]
    pub overlay: Option<PathBuf>,
    /// Write over earlier drawings
    #[arg(long, requires = "overlay")]
    pub force: bool,
    /// Tell where the uncertainty comes from, source by source (one standard uncertainty, dial's unit)
    #[arg(long)]
    pub budget: bool,
    /// With --json: all that was measured on the way, also after a refusal (see docs/metrics.md)
    #[arg(long, requires = "json")]
    pub metrics: bool,
    /// A temperature that must not be passed, like 120C: drawn, with the margin to it and the probability of being above
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = temperature)]
    pub limit: Option<Degrees>,
    /// How many at once
    #[command(flatten)]
    pub jobs: super::JobsArgs,
}
