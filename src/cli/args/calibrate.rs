//! What `calibrate` and `refine` take.
use super::temperature;
use super::typed_values::{Known, angle, known, mark, place, step, tick};
use super::{DeclaredArgs, NeedleReads};
use crate::maths::units::Unit;
use clap::Args;
use std::path::{Path, PathBuf};

/// What `calibrate` takes.
#[derive(Args, Clone, Debug)]
#[command(after_help = "Example:
  needleband calibrate dial.jpg --unit C --mark 40@594,750 --mark 80@846,311 --mark 120@1097,749 \\
      --pivot 840,594 --name \"gearbox oil\" --out oil.json
Then look at oil-check.png: every blue tick must lie on a printed mark and carry its value.

A dial without numerals, from photos at temperatures that another thermometer gave:
  needleband calibrate dial.jpg --unit C --pivot 840,594 --rim 594,750 \\
      --known 61±1=cold.jpg --known 84±1=warm.jpg --known 97±1=hot.jpg --out oil.json

Without any places: on a page in the browser, or by the numbers that ticks gives.
  needleband calibrate dial.jpg --page --open --out oil.json
  needleband calibrate --page --lan --out oil.json                        (on the phone)
  needleband calibrate dial.jpg --unit C --tick 1=40 --tick 21=80 --tick 41=120 --out oil.json

What no photo can show is told with it, or later with refine. A gauge that is right to 3 degrees of
needle, a needle that may stick by 1.5 °C, one that stands still from 75 to 90:
  --gauge-accuracy 3deg
  --stiction 1.5C
  --flat 75..90")]
pub struct CalibrateArgs {
    /// The reference photo
    #[arg(value_name = "PHOTO", required_unless_present = "lan")]
    pub photo: Option<PathBuf>,
    /// The unit printed on the dial: C, F, or any other by its name, like bar, rpm or % (with --page it may be chosen there)
    #[arg(long, value_name = "C|F|NAME", value_parser = temperature::unit)]
    pub unit: Option<Unit>,
    /// Calibrate on a page in the browser: ticks are found, only their values are typed. Only this computer can open it
    #[arg(long, conflicts_with_all = ["marks", "angles", "ticks", "pivot"])]
    pub page: bool,
    /// With --page: open it in the browser at once
    #[arg(long, requires = "page")]
    pub open: bool,
    /// With --page: for a phone in the same network, which may also send the photo. Not encrypted: at home only
    #[arg(long, value_name = "ADDRESS", requires = "page", conflicts_with = "open", num_args = 0..=1, require_equals = true, default_missing_value = "")]
    pub lan: Option<String>,
    /// A printed mark: its value in the dial's unit, and its place in px from the top-left corner; repeat for each mark
    #[arg(long = "mark", value_name = "VALUE@X,Y", allow_hyphen_values = true, value_parser = mark, conflicts_with_all = ["angles", "known"])]
    pub marks: Vec<(f64, [f64; 2])>,
    /// A printed tick by the number that `ticks` gave it, and its value in the dial's unit; repeat for three or more
    #[arg(long = "tick", value_name = "NUMBER=VALUE", value_parser = tick, conflicts_with = "angles")]
    pub ticks: Vec<(usize, f64)>,
    /// With --tick and several dials in the photo: a place on the one that is meant, px from the top-left corner
    #[arg(long, value_name = "X,Y", allow_hyphen_values = true, value_parser = place, requires = "ticks")]
    pub dial_at: Option<[f64; 2]>,
    /// With --tick: the circle in which `ticks --within` gave the numbers
    #[arg(long, value_name = "X,Y,RADIUS", allow_hyphen_values = true, value_parser = super::ticks::circle, requires = "ticks")]
    pub within: Option<[f64; 3]>,
    /// The step in value from one unlabelled tick to the next, where `calibrate` says that two steps fit
    #[arg(long, value_name = "VALUE", value_parser = step, conflicts_with_all = ["angles", "known", "page"])]
    pub tick_step: Option<f64>,
    /// A known needle angle, in place of marks (with --pivot and --rim): value, degrees clockwise from straight up; repeat
    #[arg(long = "angle", value_name = "VALUE@DEG", allow_hyphen_values = true, value_parser = angle)]
    pub angles: Vec<(f64, f64)>,
    /// A photo at a temperature that another thermometer gave, in place of marks (with --pivot and --rim): the temperature, how far off
    /// it may be either way, the photo; repeat for two or more
    #[arg(long = "known", value_name = "VALUE±LIMIT=PHOTO", allow_hyphen_values = true, value_parser = known, conflicts_with = "angles")]
    pub known: Vec<Known>,
    /// The place of the needle's pivot, px from the top-left corner
    #[arg(long, value_name = "X,Y", allow_hyphen_values = true, value_parser = place)]
    pub pivot: Option<[f64; 2]>,
    /// With --angle and --known: the outer end of any printed tick, px from the top-left corner
    #[arg(long, value_name = "X,Y", allow_hyphen_values = true, value_parser = place)]
    pub rim: Option<[f64; 2]>,
    /// What you see the needle read in the reference photo, dial unit, and how far off you may be: a dial file that reads it otherwise is
    /// not written [default limit: half the mean step between the marks]
    #[arg(long, value_name = "VALUE[±LIMIT]", allow_hyphen_values = true, value_parser = super::needle_reads::needle_reads)]
    pub needle_reads: Option<NeedleReads>,
    /// Write the dial file over what is asked about its entries: they are as the dial has them. The file says what was asked
    #[arg(long)]
    pub anyway: bool,
    /// Further photos of the same dial at other needle places and from other sides: their ticks and needles make the dial more certain,
    /// above all one with few marks or a cover over the pivot
    #[arg(long, value_name = "PHOTO|FOLDER", num_args = 1..)]
    pub also: Vec<PathBuf>,
    /// What is known of the gauge itself.
    #[command(flatten)]
    pub declared: DeclaredArgs,
    /// A name for the dial [default: the name of the dial file]
    #[arg(long, value_name = "NAME", allow_hyphen_values = true, value_parser = super::diary::words)]
    pub name: Option<String>,
    /// The dial file to write
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// Write over an existing dial file and check picture
    #[arg(long)]
    pub force: bool,
    /// The check picture to write, .png or .jpg [default: <dial file>-check.png]
    #[arg(long, value_name = "FILE")]
    pub picture: Option<PathBuf>,
}

impl CalibrateArgs {
    /// The reference photo; one that is sent later has no path yet.
    pub fn photo(&self) -> &Path {
        self.photo.as_deref().unwrap_or(Path::new("the photo"))
    }
    /// Whether nothing says what the scale is.
    pub fn is_bare(&self) -> bool {
        !self.page && self.marks.is_empty() && self.ticks.is_empty() && self.angles.is_empty() && self.known.is_empty()
    }
    /// The dial's name: as typed, else that of the dial file.
    pub fn dial_name(&self) -> String {
        self.name.clone().unwrap_or_else(|| self.out.file_stem().unwrap_or_default().to_string_lossy().to_string())
    }
}

/// What `refine` takes.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband refine --dial oil.json --gauge-accuracy 2%span --out oil-2.json
  needleband refine --dial oil.json --stiction 1.5C --out oil-2.json
  needleband refine --dial oil.json --flat 75..90 --out oil-2.json
  needleband refine --dial oil.json photos/ --out oil-2.json     (learns how high the needle stands)")]
pub struct RefineArgs {
    /// The dial file to start from; it is left as it is
    #[arg(long, value_name = "FILE")]
    pub dial: PathBuf,
    /// Photos of the dial from different sides, or folders of them: they tell how high the needle stands above the face, so that
    /// photos from the side and half-hidden needles are read with a narrower band
    #[arg(value_name = "PHOTO|FOLDER")]
    pub photos: Vec<PathBuf>,
    /// What is known of the gauge itself.
    #[command(flatten)]
    pub declared: DeclaredArgs,
    /// The dial file to write
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// Write over an existing dial file
    #[arg(long)]
    pub force: bool,
}
