//! What `note`, `stages` and `report` take.
use super::temperature::{Degrees, temperature};
use crate::diary::Ambient;
use crate::maths::units::Unit;
use clap::Args;
use std::path::PathBuf;

/// The options of `note`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband note --diary oil.jsonl --stage \"larger cooler\" --dial oil.json august/ \\
      --ambient 24C --speed \"90 km/h, level\" --load \"two people, full tank\"
  needleband note --diary oil.jsonl --stage thermostat --dial oil.json warm-up/ --warm-up
  needleband note --diary oil.jsonl --stage thermostat --dial oil.json frames/ --warm-up --every 30s
  needleband note --diary oil.jsonl --stage thermostat --dial oil.json frames/ --warm-up --times times.csv

What was noted, the last of it taken back, and a stage by another name:
  needleband note --diary oil.jsonl --list
  needleband note --diary oil.jsonl --undo
  needleband note --diary oil.jsonl --rename stok stock

times.csv holds a line a photo, its name and the seconds from any start: 0001.jpg,0")]
pub struct NoteArgs {
    /// The diary; made when it is not there yet. Notes are only ever added to it
    #[arg(long, value_name = "FILE")]
    pub diary: PathBuf,
    /// The stage of the project; the same words each time for the same stage
    #[arg(long, value_name = "NAME", allow_hyphen_values = true, value_parser = stage, required_unless_present_any = ["undo", "rename", "list"])]
    pub stage: Option<String>,
    /// The stage is a new one, though its name is nearly that of another
    #[arg(long)]
    pub new_stage: bool,
    /// The dial file [default: NEEDLEBAND_DIAL, the only one in this folder, or the one set with use]
    #[arg(long, value_name = "FILE")]
    pub dial: Option<PathBuf>,
    /// Photos, or folders of photos; - for a list of them on standard input, a name a line (or ended by zero bytes)
    #[arg(value_name = "PHOTO|FOLDER|-", required_unless_present_any = ["undo", "rename", "list"])]
    pub photos: Vec<PathBuf>,
    /// Take the last note back: it stays in the diary and no longer counts, and a new line says so
    #[arg(long, conflicts_with_all = ["stage", "photos", "rename", "list"])]
    pub undo: bool,
    /// Call a stage by another name; where there is a stage of that name already, its notes are joined to it
    #[arg(long, num_args = 2, value_names = ["OLD", "NEW"], value_parser = stage, conflicts_with_all = ["stage", "photos", "list"])]
    pub rename: Vec<String>,
    /// Tell the notes line by line, those taken back too
    #[arg(long, conflicts_with_all = ["stage", "photos"])]
    pub list: bool,
    /// The photos are a run over time: the stage's temperature is the level that they settle at
    #[arg(long)]
    pub warm_up: bool,
    /// With --warm-up: the photos are this far apart, in the order given [default: the capture time in each photo]
    #[arg(long, value_name = "TIME", value_parser = super::settle::duration, requires = "warm_up", conflicts_with = "times")]
    pub every: Option<f64>,
    /// With --warm-up: a CSV file with a line a photo, its path or name, and seconds
    #[arg(long, value_name = "FILE", requires = "warm_up")]
    pub times: Option<PathBuf>,
    /// Temperature outside, with its unit: 24C or 75F
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = ambient)]
    pub ambient: Option<Ambient>,
    /// How fast, in your words
    #[arg(long, value_name = "TEXT", allow_hyphen_values = true, value_parser = words)]
    pub speed: Option<String>,
    /// What was carried or towed, in your words
    #[arg(long, value_name = "TEXT", allow_hyphen_values = true, value_parser = words)]
    pub load: Option<String>,
    /// Anything else
    #[arg(long, value_name = "TEXT", allow_hyphen_values = true, value_parser = words)]
    pub text: Option<String>,
    /// How many at once
    #[command(flatten)]
    pub jobs: super::JobsArgs,
}

impl NoteArgs {
    /// The stage; there is one wherever photos are noted.
    pub fn stage(&self) -> &str {
        self.stage.as_deref().unwrap_or_default()
    }
}

/// The options of `stages`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband stages --diary oil.jsonl
  needleband stages --diary oil.jsonl --limit 120C")]
pub struct StagesArgs {
    /// The diary
    #[arg(long, value_name = "FILE")]
    pub diary: PathBuf,
    /// A temperature that must not be passed, like 120C: each stage's margin to it and the probability of being above
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = temperature)]
    pub limit: Option<Degrees>,
    /// One JSON object; numbers in the dial's unit, a change is after minus before
    #[arg(long)]
    pub json: bool,
    /// A table for a spreadsheet (RFC 4180)
    #[arg(long, conflicts_with = "json")]
    pub csv: bool,
    /// How it was worked out, with all digits
    #[arg(long, conflicts_with_all = ["json", "csv"])]
    pub explain: bool,
}

/// The options of `report`.
#[derive(Args, Debug)]
#[command(after_help = "Examples:
  needleband report --diary oil.jsonl --out oil.html
  needleband report --diary oil.jsonl --out oil.html --limit 120C
  needleband report --diary oil.jsonl --out oil.md --markdown
  needleband report --diary oil.jsonl --out oil.html --force")]
pub struct ReportArgs {
    /// The diary
    #[arg(long, value_name = "FILE")]
    pub diary: PathBuf,
    /// The page to write
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
    /// A temperature that must not be passed, like 120C: drawn, with each stage's margin to it and the probability of being above
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true, value_parser = temperature)]
    pub limit: Option<Degrees>,
    /// Markdown for a forum or a repository, with its pictures in a folder beside it: for oil.md, oil.pictures
    #[arg(long)]
    pub markdown: bool,
    /// Write over an earlier page, Markdown and the pictures in its folder
    #[arg(long)]
    pub force: bool,
}

/// Longest name of a stage, and longest text, in characters.
const LONGEST: (usize, usize) = (60, 2000);

fn stage(text: &str) -> Result<String, String> {
    let name = words(text)?;
    match name.chars().count() {
        n if n <= LONGEST.0 => Ok(name),
        n => Err(format!("the name has {n} characters, more than {}; give a short name and put the rest into --text", LONGEST.0)),
    }
}

/// Words on one line. They may begin with a hyphen; what looks like the next option means that they were forgotten.
pub(super) fn words(text: &str) -> Result<String, String> {
    let line = text.split(|c: char| c.is_whitespace() || c.is_control()).filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" ");
    if line.strip_prefix("--").is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_alphabetic())) {
        return Err(format!("\"{line}\" is an option, and the words before it are missing; write them in quotes"));
    }
    match line.chars().count() {
        0 => Err("there is nothing in it; leave the option away or write some words".to_string()),
        n if n > LONGEST.1 => Err(format!("the text has {n} characters, more than {}; shorten it", LONGEST.1)),
        _ => Ok(line),
    }
}

/// A temperature outside: between the coldest and the hottest that was ever measured in the open, with some room.
fn ambient(text: &str) -> Result<Ambient, String> {
    let typed = text.trim();
    if !typed.ends_with(['c', 'C', 'f', 'F']) {
        return Err(format!("\"{text}\" has no unit; write it like 24C or 75F"));
    }
    let (value, unit) = temperature(typed)?.typed();
    let ambient = Ambient { value, unit };
    let celsius = ambient.to(Unit::C);
    if (-90.0..=60.0).contains(&celsius) {
        return Ok(ambient);
    }
    Err(format!("{value} {} is no temperature outside; check the number and the unit", unit.symbol()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temperatures_outside_need_a_unit_and_sense() {
        assert_eq!(ambient("24C"), Ok(Ambient { value: 24.0, unit: Unit::C }));
        assert_eq!(ambient(" -4 °f "), Ok(Ambient { value: -4.0, unit: Unit::F }));
        for wrong in ["24", "C", "hot C", "240C", "nanC", ""] {
            assert!(ambient(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn names_are_one_line() {
        assert_eq!(stage("-10 mm fan"), Ok("-10 mm fan".to_string()));
        assert!(words("- a").is_ok() && words("-- a").is_ok() && words("--warm-up").is_err());
        assert_eq!(stage("  larger \n cooler "), Ok("larger cooler".to_string()));
        assert!(stage(" \t ").is_err() && stage(&"x".repeat(61)).is_err());
    }
}
