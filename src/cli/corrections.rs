//! What `note` does beside noting: tells the lines of a diary, takes the last note back, calls a stage by another name. A diary only grows:
//! each of the two adds a line.
use super::args::NoteArgs;
use super::diary::{append, load};
use super::failure::{ALL_READ, Failure};
use super::files::told;
use crate::diary::{Correction, Diary, What, correction_line};
use crate::output::{shown_name, text};
use std::io::Write;

/// Runs what is asked; `None` where photos are to be noted.
pub fn run(args: &NoteArgs, out: &mut dyn Write) -> Option<Result<u8, Failure>> {
    if args.list {
        return Some(list(args, out));
    }
    if args.undo {
        return Some(undo(args, out));
    }
    match args.rename.as_slice() {
        [from, to] => Some(rename(args, (from, to), out)),
        _ => None,
    }
}

fn list(args: &NoteArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    write!(out, "{}", text::diary_lines(&load(&args.diary)?))?;
    Ok(ALL_READ)
}

fn undo(args: &NoteArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    let last =
        |d: &Diary| d.note_lines.last().copied().zip(d.notes.last().map(|n| (n.written_at.clone(), n.stage.clone(), n.photos.len())));
    let there = load(&args.diary)?;
    let Some((line, (written_at, stage, photos))) = last(&there) else {
        return Err(Failure::trouble(format!("{} holds no note that could be taken back.", told(&args.diary))));
    };
    let what = What::TakeBack { line, written_at: written_at.clone() };
    let number = add(args, what, |d| match last(d) {
        Some((now, _)) if now == line => Ok(()),
        _ => Err(Failure::trouble("Another note was added meanwhile, so nothing is taken back. Look at the diary with note --list.")),
    })?;
    writeln!(
        out,
        "Line {line} no longer counts: {photos} photo{} of stage \"{}\", noted {written_at}.\nIt stays in {}; line {number} takes it back.",
        if photos == 1 { "" } else { "s" },
        shown_name(&stage),
        told(&args.diary)
    )?;
    Ok(ALL_READ)
}

fn rename(args: &NoteArgs, (from, to): (&str, &str), out: &mut dyn Write) -> Result<u8, Failure> {
    let known = |d: &Diary, name: &str| d.notes.iter().any(|n| n.stage == name);
    let there = load(&args.diary)?;
    if from == to {
        return Err(Failure::trouble("Both names are the same, so nothing is changed."));
    }
    let absent = || {
        let mut names: Vec<String> = Vec::new();
        for name in there.notes.iter().map(|n| format!("\"{}\"", shown_name(&n.stage))) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
        let has = if names.is_empty() { "It has no note that counts.".to_string() } else { format!("Its stages: {}.", names.join(", ")) };
        Failure::trouble(format!("The diary has no stage \"{}\", so nothing is changed. {has}", shown_name(from)))
    };
    let joined = known(&there, to);
    let what = What::Rename { from: from.to_string(), to: to.to_string() };
    let number = add(args, what, |d| if known(d, from) { Ok(()) } else { Err(absent()) })?;
    let with = if joined { ", together with the notes that it has already" } else { "" };
    writeln!(out, "Stage \"{}\" is now \"{}\"{with}. Line {number} of {} says so.", shown_name(from), shown_name(to), told(&args.diary))?;
    Ok(ALL_READ)
}

fn add(args: &NoteArgs, what: What, check: impl FnOnce(&Diary) -> Result<(), Failure>) -> Result<usize, Failure> {
    let written_at = jiff::Timestamp::now().strftime("%Y-%m-%dT%H:%M:%SZ").to_string();
    let line = correction_line(&Correction { written_at, what }).map_err(|e| Failure::trouble(e.to_string()))?;
    append(&args.diary, &line, check).map(|(number, _)| number)
}
