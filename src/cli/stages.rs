//! `stages`: a diary to what each stage brought.
use super::args::{Degrees, StagesArgs};
use super::diary::load;
use super::failure::{ALL_READ, Failure, NOT_ALL_READ, explained_in_words_alone};
use super::files::told;
use crate::diary::{Diary, Project, project};
use crate::output::{csv, json, text};
use std::io::Write;
use std::path::Path;

/// Runs the command; the answer is the exit status.
pub fn run(args: &StagesArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    let (diary, project) = of(&args.diary, args.limit)?;
    explained_in_words_alone(args.explain, args.json || args.csv);
    if args.json {
        writeln!(out, "{}", json::stages(&project, &diary)?)?;
    } else if args.csv {
        write!(out, "{}", csv::stages(&project, &diary)?)?;
    } else {
        write!(out, "{}", text::wrapped(&text::stages(&project, &diary, args.explain)))?;
    }
    Ok(status(&diary, &project))
}

/// A diary and what it says, against a limit where one is given.
pub fn of(path: &Path, limit: Option<Degrees>) -> Result<(Diary, Project), Failure> {
    let diary = load(path)?;
    let Some(project) = project(&diary) else {
        return Err(Failure::trouble(format!(
            "The diary {} holds no note that can be used, so there is nothing to tell. Add one with `needleband note`.",
            told(path)
        )));
    };
    let judged = match limit {
        Some(limit) => {
            let at = limit.at(project.unit)?;
            project.against(at)
        }
        None => project,
    };
    Ok((diary, judged))
}

/// 1 where a line of the diary is not used or no stage has a temperature.
pub fn status(diary: &Diary, project: &Project) -> u8 {
    if diary.damaged.is_empty() && project.last().is_some() { ALL_READ } else { NOT_ALL_READ }
}
