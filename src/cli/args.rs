//! What was typed, checked for form. The only place that knows the argument parser.
mod check;
mod compare;
mod declared;
mod diary;
mod jobs;
mod manual;
mod needle_reads;
mod plan;
mod read;
mod settle;
mod start;
mod temperature;
mod ticks;
mod usage;
mod view;
use super::failure::{ALL_READ, Failure, TROUBLE};
use crate::dial;
use crate::maths::units::Unit;
use crate::output::json;
use clap::error::ErrorKind;
use clap::{Args, Parser, Subcommand};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

pub use check::CheckArgs;
pub use compare::CompareArgs;
pub use declared::DeclaredArgs;
pub use diary::{NoteArgs, ReportArgs, StagesArgs};
pub use jobs::JobsArgs;
pub use manual::{ManualArgs, completions, pages};
pub use needle_reads::NeedleReads;
pub use plan::PlanArgs;
pub use read::ReadArgs;
pub use settle::SettleArgs;
pub use start::{StartArgs, UseArgs};
pub use temperature::{Degrees, mixed};
pub use ticks::TicksArgs;
#[cfg(feature = "page")]
pub use view::reason;
pub use view::{LeaveOutArgs, ViewArgs};

/// Turns phone photos of an analog dash dial into temperatures with an honest 95 % band.
///
/// Calibrate a dial once from one sharp photo of it, then read any later photo of the same dial without clicking, and
/// compare the time before a change with the time after it.
///
/// Exit status: 0 everything was read, 1 some photo was honestly not read, 2 wrong usage or a file that could not be opened
/// or written.
#[derive(Debug, Parser)]
#[command(name = "needleband", version = VERSION.as_str(), arg_required_else_help = true, after_help = AFTER)]
pub struct Typed {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The program's version and those of the files that it writes.
static VERSION: LazyLock<String> = LazyLock::new(|| {
    let [program, dial, diary] = [env!("CARGO_PKG_VERSION"), &dial::FORMAT_VERSION.to_string(), &crate::diary::FORMAT_VERSION.to_string()];
    format!("{program} (dial file format {dial}, diary format {diary}, JSON format {})", json::FORMAT_VERSION)
});

const AFTER: &str = "Examples:
  needleband start dial.jpg                                        (begin here)
  needleband read --dial oil.json monday.jpg
  needleband compare --dial oil.json --before old-cooler/ --after new-cooler/
  needleband settle --dial oil.json warm-up/
  needleband plan --dial oil.json --drop 5C
  needleband note --diary oil.jsonl --stage \"larger cooler\" --dial oil.json new-cooler/
  needleband report --diary oil.jsonl --out oil.html

Nobody drives and photographs: a passenger or a mount takes the photo, or the
vehicle is parked. A dash gauge is no safety instrument.";

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Begin here: from the photo of a dial to the first reading, step by step
    ///
    /// Asks for the photo of your dial, opens a page on which the printed values are typed, lets you check what was learned, reads a
    /// second photo, and says what to do next.
    Start(StartArgs),
    /// Set the dial file that is used where no other is named
    ///
    /// Keeps its path in a settings file of yours. NEEDLEBAND_DIAL in the environment and a dial file in the folder come before it.
    Use(UseArgs),
    /// Learn a dial from one photo and the places of its marks
    ///
    /// Learns a dial from one sharp photo, seen nearly straight on, with the needle somewhere on the scale.
    ///
    /// Give the value and the place of three or more printed marks, and of the pivot when it can be seen. A place is counted in
    /// pixels of the upright photo as picture editors count: (0,0) is the top-left CORNER of the picture, x to the right, y
    /// down, so the centre of the first pixel is at 0.5,0.5. Each place is snapped to the printed mark next to it.
    ///
    /// Writes the dial file and, beside it, a picture to check it by.
    Calibrate(CalibrateArgs),
    /// Find the dials in a photo and number their printed ticks
    ///
    /// Finds the dials, their pivots and their printed ticks without a click, and gives each tick a number: 1 is the first one clockwise
    /// after the gap of the scale. The same photo always gives the same numbers; `calibrate --tick NUMBER=VALUE` takes them.
    ///
    /// A stroke that may be no tick is marked as doubtful. Look at the picture before a number is used.
    Ticks(TicksArgs),
    /// Tell more about a calibrated dial: a changed copy of its file
    ///
    /// Writes a copy of a dial file that also says what no photo can show: how right the gauge is, how far its needle may stick, where
    /// it stands still. What is given takes the place of what the file said of it; the rest stays.
    ///
    /// The copy is a dial of its own with a new identity: readings made with the old file share none of its error terms, so read both
    /// sides of a comparison with the same file.
    Refine(RefineArgs),
    /// Say how good a dial file is
    ///
    /// Tells how well its marks are known, what a degree of needle and a pixel are worth along the scale, the smallest change that can be
    /// shown with so many photos, and what may be wrong. With photos of one temperature it also tells how far their readings lie apart.
    Check(CheckArgs),
    /// Read photos of a calibrated dial
    ///
    /// Reads photos with no clicking: temperature in °C and °F, the 95 % band and remarks. A photo that cannot be read
    /// honestly gets a reason and advice in place of a number. In a folder all picture files are read in the order of their
    /// names; folders inside it are left alone.
    Read(ReadArgs),
    /// Show the readings of many photos on one page
    ///
    /// Writes one page, or opens one in the browser: each photo small with what was found in it, its value with the 95 % band on a time
    /// axis, and the photos that were not read with the reason.
    View(ViewArgs),
    /// Leave photos out of every result, with a reason that is kept and told
    ///
    /// Adds a line to the list left-out.csv beside the photo. From then on every command that reads it says "left out by hand" with the
    /// reason in place of a number. Leave out what went wrong with a photo, never a number that is not liked: no band holds after that.
    LeaveOut(LeaveOutArgs),
    /// Compare the photos before a change with those after it
    ///
    /// Gives the change with its 95 % band and says whether it is real. What both sides share (marks, pivot, gauge accuracy
    /// at the same place of the scale) cancels in the change, so it is known better than either temperature. Three or more
    /// photos a side show how far the needle wanders. A side may also be the file that settle --json wrote.
    ///
    /// With both ambient temperatures it also gives the rise over ambient and the change with the weather taken out.
    Compare(CompareArgs),
    /// Tell from photos over time whether the temperature has settled, and at what
    ///
    /// Fits a first-order approach through the readings and gives the settled temperature with its 95 % band, the time constant, and when
    /// it came within a degree Celsius. With less than two time constants seen it says "not settled" and gives limits, no guess. A
    /// photo without a reading or without a time is left out and named.
    Settle(SettleArgs),
    /// Tell how many photos a side, how near and after how long show a drop of a given size
    ///
    /// Works out what it takes to see a drop of this size 95 times of 100: how many photos a side, how large the dial must be in them,
    /// and how long to wait for the temperature to settle. Needs the dial file and no photo.
    Plan(PlanArgs),
    /// Note photos of a stage of the project in its diary
    ///
    /// Reads the photos and adds one line to the diary: what each gave with its whole uncertainty, its digest, the conditions, and a
    /// small picture of the dial, so that stages can be compared years later, when the photos are gone. Nothing in the diary is
    /// ever changed. Of photos that cannot be opened, or when none gives a reading, nothing is noted.
    Note(NoteArgs),
    /// Tell what each stage of the project brought, from its diary
    ///
    /// Gives each stage's temperature and the change from the stage before and since the first, with 95 % bands. Where several
    /// changes are looked at, one may seem real by chance; what is called real here is so among all of them (Holm).
    Stages(StagesArgs),
    /// Make a page to show others from a diary
    ///
    /// Writes one page that holds all it shows and needs no network and no script: the answer in a sentence, the stages, the dials,
    /// runs over time, tables, conditions, and how it was worked out.
    Report(ReportArgs),
    /// Write the manual pages and the shells' completions
    ///
    /// Writes a manual page for each command into the folder man, and completions for bash, zsh, fish, elvish and PowerShell into the
    /// folder completions, both inside the folder given. They are made from the same words as this help.
    Manual(ManualArgs),
}

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
    #[arg(long, value_name = "X,Y,RADIUS", allow_hyphen_values = true, value_parser = ticks::circle, requires = "ticks")]
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
    #[arg(long, value_name = "VALUE[±LIMIT]", allow_hyphen_values = true, value_parser = needle_reads::needle_reads)]
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
    #[arg(long, value_name = "NAME", allow_hyphen_values = true, value_parser = diary::words)]
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

/// What is wrong with these words (the program's name first), told as the command would; it is not run.
///
/// # Errors
/// The words of the usage error.
pub fn understood(words: &[&str]) -> Result<(), String> {
    Typed::try_parse_from(words).map(drop).map_err(|e| usage::told(&e, words.get(1).map(|w| w.as_ref())))
}

/// A command from words that this program puts together (without its own name).
///
/// # Errors
/// What is wrong with them, as told to whoever typed them.
pub fn parsed(words: impl IntoIterator<Item = std::ffi::OsString>) -> Result<Command, Failure> {
    let whole: Vec<_> = std::iter::once(std::ffi::OsString::from("needleband")).chain(words).collect();
    let told = |e| Failure::trouble(usage::told(&e, whole.get(1).map(|w| w.as_ref())));
    Typed::try_parse_from(&whole).map(|t| t.command).map_err(told)
}

/// The command line; or the end of the run, after help was shown or with a usage error.
pub fn typed() -> Result<Typed, Failure> {
    Typed::try_parse().map_err(|e| match e.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => {
            let shown = e.print().and_then(|()| io::stdout().flush());
            shown.map_or_else(Failure::from, |()| Failure { message: None, status: ALL_READ })
        }
        ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            // the help itself, on the error stream; a closed one is no reason to say more than the status does
            let _ = e.print();
            Failure { message: None, status: TROUBLE }
        }
        _ => Failure::trouble(usage::told(&e, std::env::args_os().nth(1).as_deref())),
    })
}

fn number(text: &str, what: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(v) if v.is_finite() => Ok(v),
        _ => Err(format!("\"{text}\" is not a number, so the {what} is not known; write it like 92.5 or -40")),
    }
}

/// A number that may have a decimal comma, as on the page: only where no comma has another meaning. A comma before three digits may part
/// thousands, so that it is asked.
fn decimal(text: &str, what: &str) -> Result<f64, String> {
    let of_thousands = |(whole, rest): (&str, &str)| {
        let whole = whole.trim().trim_start_matches(['+', '-']);
        let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
        !whole.starts_with('0') && whole.len() < 4 && digits(whole) && rest.trim().len() == 3 && digits(rest.trim())
    };
    if let Some((whole, rest)) = text.split_once(',').filter(|t| of_thousands(*t)) {
        return Err(format!("\"{text}\" can be {whole}{rest} or {whole}.{rest}, so the {what} is not known; write the one or the other"));
    }
    number(&if text.contains('.') { text.to_string() } else { text.replacen(',', ".", 1) }, what)
}

fn place(text: &str) -> Result<[f64; 2], String> {
    let (x, y) = text.split_once(',').ok_or("there is no comma between x and y; write the place in px like 846,311")?;
    Ok([number(x, "place to the right (x)")?, number(y, "place down (y)")?])
}

fn mark(text: &str) -> Result<(f64, [f64; 2]), String> {
    let (value, at) = text.split_once('@').ok_or("there is no @ between value and place; write it like 80@846,311")?;
    Ok((decimal(value, "mark's value")?, place(at)?))
}

fn step(text: &str) -> Result<f64, String> {
    let value = decimal(text, "step")?;
    if value > 0.0 { Ok(value) } else { Err(format!("{value} is not above 0, so no tick follows another by it; write it like 5")) }
}

/// A photo at a known temperature, as typed.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// The temperature, dial unit.
    pub value: f64,
    /// How far off it may be either way, dial unit.
    pub limit: f64,
    /// The photo.
    pub photo: PathBuf,
}

fn known(text: &str) -> Result<Known, String> {
    let (given, photo) = text.split_once('=').ok_or("there is no = between temperature and photo; write it like 84±1=warm.jpg")?;
    let (value, limit) = given.split_once('±').or_else(|| given.split_once("+-")).ok_or(
        "it is not said how far off the thermometer may be, and no thermometer is exact; write it like 84±1=warm.jpg or 84+-1=warm.jpg",
    )?;
    let limit = decimal(limit, "thermometer's limit")?;
    if limit <= 0.0 || photo.is_empty() {
        return Err("the limit must be above 0 and a photo must be named; write it like 84±1=warm.jpg".into());
    }
    Ok(Known { value: decimal(value, "temperature")?, limit, photo: photo.into() })
}

fn tick(text: &str) -> Result<(usize, f64), String> {
    let (name, value) = text.split_once('=').ok_or("there is no = between the tick's number and its value; write it like 3=60")?;
    let name = name.trim().parse().map_err(|_| format!("\"{name}\" is no tick number; write it like 3=60"))?;
    Ok((name, decimal(value, "tick's value")?))
}

fn angle(text: &str) -> Result<(f64, f64), String> {
    let (value, degrees) = text.split_once('@').ok_or("there is no @ between value and angle; write it like 80@-12.5")?;
    Ok((decimal(value, "value")?, decimal(degrees, "angle in degrees")?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_parser_is_consistent() {
        Typed::command().debug_assert();
    }

    #[test]
    fn marks_angles_and_places() {
        assert_eq!(mark("-40@10,20.5"), Ok((-40.0, [10.0, 20.5])));
        assert_eq!(angle("80@-12.5"), Ok((80.0, -12.5)));
        assert_eq!(place("1, 2"), Ok([1.0, 2.0]));
        // a decimal comma in a value; in a place the comma parts x from y
        assert_eq!(mark("-40,5@10,20"), Ok((-40.5, [10.0, 20.0])));
        assert_eq!((angle("80,5@-12,5"), tick("3=60,5")), (Ok((80.5, -12.5)), Ok((3, 60.5))));
        assert!(place("10,5,20").is_err() && tick("3=1,234,5").is_err() && tick("3=1,234.5").is_err());
        // a thousand, or one to three digits
        assert!(tick("3=1,000").is_err_and(|e| e.contains("1000 or 1.000")) && mark("12,345@1,2").is_err());
        assert_eq!((tick("3=0,125"), tick("3=1,25"), tick("3=1000")), (Ok((3, 0.125)), Ok((3, 1.25)), Ok((3, 1000.0))));
        let warm = Known { value: -4.5, limit: 1.0, photo: "a=b.jpg".into() };
        assert_eq!(known("-4.5±1=a=b.jpg"), Ok(warm.clone()));
        assert_eq!(known("-4.5+-1=a=b.jpg"), Ok(warm));
        for wrong in ["84=a.jpg", "84±1", "84±0=a.jpg", "84±-1=a.jpg", "84±1=", "x±1=a.jpg", "84±nan=a.jpg"] {
            assert!(known(wrong).is_err(), "{wrong}");
        }
        for wrong in ["80", "80@1", "80@1,x", "@1,2", "nan@1,2", "80@1,inf"] {
            assert!(mark(wrong).is_err(), "{wrong}");
        }
    }
}
