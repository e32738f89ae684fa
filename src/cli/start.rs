//! `start`: from the photo of a dial to the first reading, step by step.
use super::args::{Command, StartArgs, parsed};
use super::ask::{answer, ask, taken};
use super::calibrated::beside;
use super::failure::{ALL_READ, Failure, NOT_ALL_READ, say};
use super::files::{refuse_existing, told, worded, write_whole};
use super::open::whole;
use super::{calibrate, read};
use crate::calibrate::{find_dials, named_by};
use crate::output::picture::ticks_picture;
use crate::photo::Photo;
use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Names of the dial file that are tried where none is given.
const TRIED: usize = 1000;

/// Runs the command; the answer is the exit status.
pub fn run(args: &StartArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    writeln!(out, "Four steps: the photo, the printed values, a look, a first reading.\n")?;
    let photo = if args.lan.is_some() { args.photo.clone() } else { Some(the_photo(args, out)?) };
    // a photo that does not open is told before anything is asked
    let opened = photo.as_deref().map(whole).transpose()?;
    let dial = the_file(args)?;
    // the page asks for it itself
    let asks = args.terminal || cfg!(not(feature = "page"));
    let accuracy = if asks { accuracy(out)? } else { Vec::new() };
    learn(args, photo.as_deref().zip(opened.as_ref()), &dial, &accuracy, out)?;
    if !agrees(&dial, out)? {
        return Ok(NOT_ALL_READ);
    }
    let status = second(&dial, out)?;
    onward(&dial, out)?;
    Ok(status)
}

/// A path as a terminal pastes a file that is dropped on it: in quotes, or with its spaces escaped.
fn dropped(text: &str) -> PathBuf {
    let bare = text.trim_matches(['"', '\'']);
    PathBuf::from(if cfg!(windows) || bare.len() < text.len() { bare.to_string() } else { bare.replace("\\ ", " ") })
}

fn the_photo(args: &StartArgs, out: &mut dyn Write) -> Result<PathBuf, Failure> {
    if let Some(photo) = &args.photo {
        return Ok(photo.clone());
    }
    writeln!(out, "1. The photo: the dial sharp, straight on, half the picture wide or more.")?;
    let answer = ask("   Type its path, or drop the file on this window:", out)?;
    answer.map(|a| dropped(&a)).ok_or_else(|| Failure::trouble("No photo was named. Give one: needleband start dial.jpg"))
}

fn the_file(args: &StartArgs) -> Result<PathBuf, Failure> {
    if let Some(out) = &args.out {
        refuse_existing(out, false)?;
        refuse_existing(&ticks_beside(out), false)?;
        refuse_existing(&beside(out), false)?;
        return Ok(out.clone());
    }
    let mut names = (1..TRIED).map(|k| PathBuf::from(if k == 1 { "dial.json".to_string() } else { format!("dial-{k}.json") }));
    let free = names.find(|p| [p.clone(), ticks_beside(p), beside(p)].iter().all(|f| f.symlink_metadata().is_err()));
    free.ok_or_else(|| Failure::trouble("This folder is full of dial files. Name the new one: --out FILE."))
}

/// "dial-ticks.png" beside "dial.json".
fn ticks_beside(dial: &Path) -> PathBuf {
    let stem = dial.file_stem().unwrap_or_default().to_string_lossy();
    dial.with_file_name(format!("{stem}-ticks.png"))
}

/// The gauge's accuracy as an option of `calibrate`.
fn accuracy(out: &mut dyn Write) -> Result<Vec<OsString>, Failure> {
    writeln!(
        out,
        "How right is the gauge itself? Service texts commonly allow a dash gauge 3.5 to 7\ndegrees of needle. Without it every number says how well the dial was read."
    )?;
    loop {
        let Some(answer) = ask("   Degrees of needle (Enter: not known):", out)? else { return Ok(Vec::new()) };
        let number = answer.trim_end_matches(['°', ' ']).trim_end_matches("deg").trim().replace(',', ".");
        if number.parse::<f64>().is_ok_and(|v| v > 0.0 && v < 90.0) {
            return Ok(vec!["--gauge-accuracy".into(), format!("{number}deg").into()]);
        }
        writeln!(out, "   That is no number of degrees. Type one like 5, or nothing.")?;
    }
}

/// Makes the dial file: on the page, or by questions.
fn learn(args: &StartArgs, shot: Option<(&Path, &Photo)>, dial: &Path, accuracy: &[OsString], out: &mut dyn Write) -> Result<(), Failure> {
    writeln!(out, "\n2. The printed values.")?;
    let mut words: Vec<OsString> = vec!["calibrate".into(), "--out".into(), dial.into()];
    words.extend(accuracy.iter().cloned());
    match (&args.lan, shot) {
        (Some(address), _) if address.is_empty() => words.extend(["--page".into(), "--lan".into()]),
        (Some(address), _) => words.extend(["--page".into(), format!("--lan={address}").into()]),
        (None, Some(shot)) if args.terminal || cfg!(not(feature = "page")) => return by_questions(words, shot, dial, out),
        _ => words.extend(["--page".into(), "--open".into()]),
    }
    words.extend(shot.iter().flat_map(|(photo, _)| [OsString::from("--"), (*photo).into()]));
    calibrated(words, out)
}

fn calibrated(words: Vec<OsString>, out: &mut dyn Write) -> Result<(), Failure> {
    let Command::Calibrate(given) = parsed(words)? else { return Ok(()) };
    match calibrate::run(&given, out)? {
        ALL_READ => Ok(()),
        status => Err(Failure { message: None, status }),
    }
}

/// Asks for the unit and the values of numbered ticks until they make a dial file; what was right is not asked again.
fn by_questions(mut words: Vec<OsString>, (photo, opened): (&Path, &Photo), dial: &Path, out: &mut dyn Write) -> Result<(), Failure> {
    let dials = find_dials(opened);
    if dials.is_empty() {
        return Err(super::ticks::none(photo, false));
    }
    let picture = ticks_beside(dial);
    let png = ticks_picture(opened, &dials).and_then(|p| p.png()).map_err(|e| Failure::trouble(format!("The picture: {e}.")))?;
    write_whole(&picture, &png, false)?;
    writeln!(out, "   Look at {}: every printed tick found has a number.", told(&picture))?;
    let whole = |words: &[OsString], new: &[OsString]| [words, new, &["--".into(), photo.into()]].concat();
    if dials.len() > 1 {
        let all: Vec<String> = named_by(&dials).iter().map(|[x, y]| format!("{x:.0},{y:.0}")).collect();
        let question = format!("   There are {} dials, at {}. Type the place of yours:", dials.len(), all.join(" and "));
        let option = |place: &str| vec![OsString::from("--dial-at"), place.into()];
        words.extend(taken(&question, option, |new| whole(&words, new), out)?.ok_or_else(unanswered)?);
    }
    let option = |unit: &str| vec![OsString::from("--unit"), unit.trim_start_matches('°').into()];
    let question = "   Which unit is printed on it (C, F, or another name like bar)?";
    words.extend(taken(question, option, |new| whole(&words, new), out)?.ok_or_else(unanswered)?);
    let (mut question, mut stopped) = ("   Three or more of the printed values, like 1=40 21=80 41=120:", unanswered());
    loop {
        let options = |typed: &str| typed.split_whitespace().flat_map(|t| [OsString::from("--tick"), t.into()]).collect();
        let Some(mut values) = taken(question, options, |new| whole(&words, new), out)? else { return Err(stopped) };
        let by_eye = "   What does its needle read in this photo, by your eye (Enter: cannot be told)?";
        let option = |seen: &str| vec![OsString::from("--needle-reads"), seen.into()];
        values.extend(taken(by_eye, option, |new| whole(&words, new), out)?.unwrap_or_default());
        match calibrated(whole(&words, &values), out) {
            Err(Failure { message: Some(message), status }) => {
                say(&message);
                (question, stopped) = ("   The printed values once more (Enter: stop):", Failure { message: None, status });
            }
            done => return done,
        }
    }
}

fn unanswered() -> Failure {
    Failure::not_read("Without an answer there is no dial file, and none was written. Run needleband start again.")
}

fn agrees(dial: &Path, out: &mut dyn Write) -> Result<bool, Failure> {
    writeln!(out, "\n3. A look at the picture named above, and at the dial in your photo.")?;
    let Some(said) = answer("   Are the ticks on the printed marks, and is what its needle reads right? [Y/n]", out)? else {
        writeln!(out, "   Nobody has said so. Look at the picture before you use {}.", told(dial))?;
        return Ok(false);
    };
    if !said.to_lowercase().starts_with('n') {
        return Ok(true);
    }
    writeln!(
        out,
        "   Then do not use {}. Most often a value was typed beside another tick than it is\n   printed at, or the wrong dial was taken. Run needleband start again.",
        told(dial)
    )?;
    Ok(false)
}

fn second(dial: &Path, out: &mut dyn Write) -> Result<u8, Failure> {
    writeln!(out, "\n4. A first reading.")?;
    let Some(photo) = ask("   Another photo of the same dial (Enter: later):", out)? else { return Ok(ALL_READ) };
    writeln!(out)?;
    let Command::Read(given) = parsed(["read".into(), "--dial".into(), dial.into(), "--".into(), dropped(&photo).into()])? else {
        return Ok(ALL_READ);
    };
    read::run(&given, out)
}

fn onward(dial: &Path, out: &mut dyn Write) -> Result<(), Failure> {
    let name = worded(dial);
    writeln!(out, "\nYour dial file is {name}. Keep it with the photos: it is all that is needed. Next:")?;
    writeln!(out, "  needleband read --dial {name} PHOTO...")?;
    writeln!(out, "  needleband compare --dial {name} --before FOLDER --after FOLDER")?;
    writeln!(out, "  needleband note --dial {name} --diary diary.jsonl --stage stock FOLDER")?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::dropped;
    use std::path::PathBuf;

    #[test]
    fn dropped_files_are_found() {
        assert_eq!(dropped("'/a b/c.jpg'"), PathBuf::from("/a b/c.jpg"));
        assert_eq!(dropped("\"/a b/c.jpg\""), PathBuf::from("/a b/c.jpg"));
        #[cfg(not(windows))]
        assert_eq!(dropped("/a\\ b/c.jpg"), PathBuf::from("/a b/c.jpg"));
    }
}
