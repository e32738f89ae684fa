//! A stage of the project: its notes taken together.
use super::level::{From, Level, settled};
use super::model::Note;
use crate::compare::{CompareError, Given, SettledLevel, one_side};
use crate::maths::margin::Margin;
use crate::maths::units::Unit;
use crate::reading::{LeftOut, Outcome, Record, Why};
use crate::settle::{Answer, settle};

/// A photo that does not count.
#[derive(Clone, Debug, PartialEq)]
pub struct NotCounted {
    /// Name of its file.
    pub file: String,
    /// Why.
    pub why: Why,
}

/// A run over time.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Place of its note in the diary.
    pub note: usize,
    /// Identity of the dial file it was read with.
    pub dial: String,
    /// What it says, or why it says nothing.
    pub answer: Result<Answer, String>,
}

/// A stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// Its name.
    pub name: String,
    /// Places of its notes in the diary.
    pub notes: Vec<usize>,
    /// Records of its photos that are no run.
    pub records: Vec<Record>,
    /// Its runs over time.
    pub runs: Vec<Run>,
    /// Its temperature; `None` where nothing gives one.
    pub level: Option<Level>,
    /// How far its temperature lies from the limit, when one was given.
    pub margin: Option<Margin>,
    /// How many photos it has.
    pub photos: usize,
    /// The photos that do not count.
    pub not_counted: Vec<NotCounted>,
    /// Mean temperature outside, in the unit of the project, where it was noted.
    pub ambient: Option<f64>,
    /// First and last capture time.
    pub taken: Option<(String, String)>,
    /// What to mind.
    pub remarks: Vec<String>,
}

impl Stage {
    /// From all notes of the diary and the places of those that belong to it.
    ///
    /// A run whose level is named gives the stage its temperature (the latest such run); otherwise the mean of the photos that
    /// are no run. What does not count is said in `remarks`.
    pub(super) fn of(name: &str, all: &[Note], notes: Vec<usize>, unit: Unit) -> Self {
        let mine: Vec<(usize, &Note)> = notes.iter().filter_map(|k| Some((*k, all.get(*k)?))).collect();
        let singles: Vec<_> = mine.iter().filter(|(_, n)| !n.warm_up).flat_map(|(_, n)| &n.photos).collect();
        let mut stage = Self {
            name: name.to_string(),
            records: singles.iter().map(|p| p.record.clone()).collect(),
            runs: mine.iter().filter(|(_, n)| n.warm_up).map(|(k, n)| run(*k, n)).collect(),
            level: None,
            margin: None,
            photos: mine.iter().map(|(_, n)| n.photos.len()).sum(),
            not_counted: Vec::new(),
            ambient: mean(mine.iter().filter_map(|(_, n)| n.conditions.ambient).map(|a| a.to(unit)).filter(|v| v.is_finite()).collect()),
            taken: taken(&mine),
            remarks: Vec::new(),
            notes,
        };
        let files: Vec<&str> = singles.iter().map(|p| p.file.as_str()).collect();
        let means = stage.mean_of_photos(&files, unit);
        let settled = (0..stage.runs.len()).rev().find_map(|k| Level::of_run(stage.runs.get(k)?.answer.as_ref().ok()?, k, unit));
        stage.runs_in_words(&mine, settled.as_ref(), means.as_ref());
        stage.level = settled.or(means);
        stage
    }
    /// The settled level of the run that gives the stage its temperature; `None` where its photos do.
    pub(super) fn settled(&self) -> Option<SettledLevel> {
        let From::Run(k) = self.level.as_ref()?.from else { return None };
        let run = self.runs.get(k)?;
        settled(run.answer.as_ref().ok()?, &run.dial)
    }
    /// The mean of the photos that are no run; those that do not count are noted.
    fn mean_of_photos(&mut self, files: &[&str], unit: Unit) -> Option<Level> {
        let (level, left_out) = match one_side(&Given::Photos(&self.records)) {
            Ok((side, own)) => (Some(Level::of_side(&side, own, unit)), side.left_out),
            Err(CompareError::NothingRead { left_out, .. }) => (None, left_out),
            // only a settled level given from outside may hold such a number or unit
            Err(CompareError::NotFinite(_) | CompareError::Units(..)) => (None, Vec::new()),
        };
        self.leave_out(&left_out, files);
        level
    }
    fn leave_out(&mut self, left_out: &[LeftOut], files: &[&str]) {
        let named = |l: &LeftOut| Some(NotCounted { file: files.get(l.index)?.to_string(), why: l.why.clone() });
        self.not_counted.extend(left_out.iter().filter_map(named));
    }
    fn runs_in_words(&mut self, mine: &[(usize, &Note)], settled: Option<&Level>, means: Option<&Level>) {
        let used = settled.and_then(|l| if let From::Run(k) = l.from { Some(k) } else { None });
        let (mut remarks, mut left) = (Vec::new(), Vec::new());
        for (k, run) in self.runs.iter().enumerate() {
            let note = mine.iter().find(|(place, _)| *place == run.note);
            let files: Vec<&str> = note.iter().flat_map(|(_, n)| &n.photos).map(|p| p.file.as_str()).collect();
            match &run.answer {
                Ok(a) => left.push((a.left_out.clone(), files)),
                Err(why) => remarks.push(format!("Of a run over time nothing can be said. {why}")),
            }
            match &run.answer {
                Ok(a) if a.level.is_none() => {
                    remarks.push(format!("A run over time names no level ({}).", a.verdict.code().replace('_', " ")))
                }
                Ok(_) if used != Some(k) => {
                    remarks.push("An earlier run over time is shown and not counted: a later one gives the level.".to_string())
                }
                _ => {}
            }
        }
        left.iter().for_each(|(l, files)| self.leave_out(l, files));
        if let (Some(_), Some(m)) = (settled, means) {
            let n = m.photos;
            let photos = if n == 1 { "One photo that is" } else { &format!("{n} photos that are") };
            remarks.push(format!("{photos} no run over time not counted: the run gives the level."));
        }
        self.remarks = remarks;
    }
}

fn run(place: usize, note: &Note) -> Run {
    let records: Vec<Record> = note.photos.iter().map(|p| p.record.clone()).collect();
    let times: Vec<Option<f64>> = note.photos.iter().map(|p| p.seconds).collect();
    Run { note: place, dial: note.dial.id.clone(), answer: settle(&records, &times).map_err(|e| e.to_string()) }
}

fn mean(values: Vec<f64>) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

fn taken(mine: &[(usize, &Note)]) -> Option<(String, String)> {
    let read = mine.iter().flat_map(|(_, n)| &n.photos).filter(|p| matches!(p.record.outcome, Outcome::Reading(_)));
    let mut times: Vec<&String> = read.filter_map(|p| p.record.taken_at.as_ref()).collect();
    times.sort();
    Some(((*times.first()?).clone(), (*times.last()?).clone()))
}
