//! What `settle` takes.
use super::temperature::{Degrees, temperature};
use super::typed_values::decimal;
use clap::Args;
use std::path::PathBuf;

/// The options of `settle`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband settle --dial oil.json warm-up/ --picture warm-up.svg
  needleband settle --dial oil.json clip.mp4 --every 10s   (a build with --features video)
  ffmpeg -i clip.mp4 -vf fps=1/10 frames/%04d.jpg
  needleband settle --dial oil.json frames/ --every 10s
  needleband settle --dial oil.json frames/ --times times.csv --json

times.csv holds a line a photo, its name and the seconds from any start: 0001.jpg,0")]
pub struct SettleArgs {
    /// The dial file [default: NEEDLEBAND_DIAL, the only one in this folder, or the one set with use]
    #[arg(long, value_name = "FILE")]
    pub dial: Option<PathBuf>,
    /// Photos, or folders of photos; - for a list of them on standard input, a name a line (or ended by zero bytes). Or one video clip, MP4
    /// or MOV, of which the key frames are read at the clip's own times (needs a build with --features video)
    #[arg(value_name = "PHOTO|FOLDER|-", required = true)]
    pub photos: Vec<PathBuf>,
    /// The photos are this far apart, in the order given: 10s, 2min, 0.5h [default: the capture time in each photo]. Of a clip: take key
    /// frames at least this far apart [default: every one, about one a second in most phones]
    #[arg(long, value_name = "TIME", value_parser = duration, conflicts_with = "times")]
    pub every: Option<f64>,
    /// A CSV file with a line a photo: its path or name, and seconds
    #[arg(long, value_name = "FILE")]
    pub times: Option<PathBuf>,
    /// Draw readings, curve and settled band, .svg or .png
    #[arg(long = "picture", visible_alias = "plot", value_name = "FILE")]
    pub plot: Option<PathBuf>,
    /// Write over an earlier plot
    #[arg(long, requires = "plot")]
    pub force: bool,
    /// A temperature that must not be passed, like 120C: drawn, with the margin to it and the probability of being above
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = temperature)]
    pub limit: Option<Degrees>,
    /// One JSON object; temperatures in the dial's unit, times in seconds. Kept in a file it can be a side of compare
    #[arg(long)]
    pub json: bool,
    /// A table for a spreadsheet (RFC 4180)
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
    /// How it was worked out, with all digits
    #[arg(long, conflicts_with_all = ["json", "csv"])]
    pub explain: bool,
    /// How many at once
    #[command(flatten)]
    pub jobs: super::JobsArgs,
}

/// A time in seconds.
pub(super) fn duration(text: &str) -> Result<f64, String> {
    let typed = text.trim().to_ascii_lowercase();
    let of = |ending: &str, seconds: f64| typed.strip_suffix(ending).map(|v| (v.to_string(), seconds));
    let found = of("min", 60.0).or_else(|| of("s", 1.0)).or_else(|| of("h", 3600.0));
    let (value, seconds) = found.ok_or_else(|| format!("\"{text}\" has no unit of time; write it like 10s, 2min or 0.5h"))?;
    match decimal(&value, "time")? * seconds {
        t if t > 0.0 => Ok(t),
        _ => Err("the time must be more than 0; write it like 10s".to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::duration;

    #[test]
    fn times_with_their_unit() {
        assert_eq!((duration("10s"), duration("1,5 min"), duration("0.5H")), (Ok(10.0), Ok(90.0), Ok(1800.0)));
        for wrong in ["10", "s", "-1s", "0s", "nan s", "1e999h"] {
            assert!(duration(wrong).is_err(), "{wrong}");
        }
    }
}
