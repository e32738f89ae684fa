//! Which dial file is meant where none is named: the one of the environment, the only one in this folder, or the one set by `use`.
use super::args::UseArgs;
use super::failure::{ALL_READ, Failure, say};
use super::files::{load_dial, plain, read, told, write_whole};
use crate::dial::{MAX_FILE_BYTES, is_dial_file};
use std::env;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Names the dial file for every command that is given none.
const VARIABLE: &str = "NEEDLEBAND_DIAL";
/// The settings file: a line with the path of the dial file.
const SETTINGS: &str = "needleband/dial";
/// Longest path in the settings file, bytes.
const LONGEST: u64 = 16 * 1024;

/// The dial file: as given, else found; where it was found is said on the error stream.
pub fn chosen(given: Option<&Path>) -> Result<PathBuf, Failure> {
    if let Some(path) = given {
        return Ok(path.to_path_buf());
    }
    if let Some(path) = env::var_os(VARIABLE).filter(|v| !v.is_empty()) {
        return told_of(PathBuf::from(path), &format!("from {VARIABLE}"));
    }
    let here = here();
    match (here.as_slice(), set()) {
        ([one], _) => told_of(one.clone(), "the only one in this folder"),
        (_, Some(path)) => told_of(path, "as set with needleband use"),
        ([], None) => {
            Err(Failure::trouble("No dial file is named, and this folder holds none. Give --dial FILE; or make one with needleband start."))
        }
        (several, None) => Err(Failure::trouble(format!(
            "No dial file is named, and this folder holds {}: {}. Say with --dial which one is meant, or set one with needleband use.",
            several.len(),
            several.iter().map(|p| told(p)).collect::<Vec<_>>().join(", ")
        ))),
    }
}

fn told_of(path: PathBuf, why: &str) -> Result<PathBuf, Failure> {
    say(&format!("dial file {}, {why}", told(&path)));
    Ok(path)
}

/// The dial files of the folder in which the command runs.
fn here() -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(".") else { return Vec::new() };
    let names = entries.filter_map(|e| Some(PathBuf::from(e.ok()?.file_name())));
    let json = names.filter(|p| p.extension().is_some_and(|e| e.eq_ignore_ascii_case("json")));
    let mut found: Vec<PathBuf> = json.filter(|p| read(p, MAX_FILE_BYTES).is_ok_and(|bytes| is_dial_file(&bytes))).collect();
    found.sort();
    found
}

/// The dial file set by `use`; nothing where none is.
fn set() -> Option<PathBuf> {
    let text = String::from_utf8(read(&settings()?, LONGEST).ok()?).ok()?;
    let line = text.lines().next()?;
    (!line.is_empty()).then(|| PathBuf::from(line))
}

/// Where programs keep their settings on this system.
fn settings() -> Option<PathBuf> {
    let of = |name: &str| env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
    let folder = if cfg!(windows) {
        of("APPDATA")
    } else if cfg!(target_os = "macos") {
        of("HOME").map(|h| h.join("Library/Application Support"))
    } else {
        of("XDG_CONFIG_HOME").filter(|p| p.is_absolute()).or_else(|| of("HOME").map(|h| h.join(".config")))
    };
    folder.map(|f| f.join(SETTINGS))
}

/// Runs `use`; the answer is the exit status.
pub fn run(args: &UseArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    let none = || Failure::trouble(format!("There is no folder for settings on this system. Set {VARIABLE} instead."));
    let settings = settings().ok_or_else(none)?;
    let Some(dial) = &args.dial else {
        match set() {
            Some(path) => writeln!(out, "Dial file {}, set in {}.", told(&path), told(&settings))?,
            None => writeln!(out, "No dial file is set. Set one with: needleband use oil.json")?,
        }
        return Ok(ALL_READ);
    };
    let name = load_dial(dial)?.name;
    let failed = |e: &std::io::Error| Failure::trouble(format!("{} could not be set ({}). Set {VARIABLE} instead.", told(dial), plain(e)));
    let whole = fs::canonicalize(dial).map_err(|e| failed(&e))?;
    // a line of the settings file holds it
    let Some(text) = whole.to_str().filter(|t| !t.contains(['\n', '\r'])) else {
        return Err(Failure::trouble(format!(
            "The path of {} is no line of text, so it cannot be kept. Set {VARIABLE} instead.",
            told(dial)
        )));
    };
    if let Some(folder) = settings.parent() {
        fs::create_dir_all(folder).map_err(|e| failed(&e))?;
    }
    write_whole(&settings, format!("{text}\n").as_bytes(), true)?;
    writeln!(
        out,
        "Dial \"{}\" is used from now on where no other is named,\n{VARIABLE} is not set, and the folder holds none or several.",
        crate::output::shown_name(&name)
    )?;
    Ok(ALL_READ)
}
