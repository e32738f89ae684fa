//! The whole diary: stages in their order, and every change that is looked at.
use super::change::{Change, change, together};
use super::file::Diary;
use super::scatter::elsewhere;
use super::stage::Stage;
use crate::maths::units::Unit;

/// What the diary says of the project.
#[derive(Clone, Debug, PartialEq)]
pub struct Project {
    /// The gauge: the name of the dial of the first note.
    pub gauge: String,
    /// Unit of every temperature here.
    pub unit: Unit,
    /// The stages, in the order in which they were begun.
    pub stages: Vec<Stage>,
    /// Each stage against the one before it and against the first, each pair once; stages without a temperature are passed over.
    pub changes: Vec<Change>,
    /// A temperature to judge the stages against, unit of the project; `None` when none was given.
    pub limit: Option<f64>,
    /// Notes of another gauge, which are left out: line of the diary and name.
    pub others: Vec<(usize, String)>,
}

impl Project {
    /// The same with each stage, and each run over time, judged against a limit (unit of the project).
    pub fn against(mut self, limit: f64) -> Self {
        for stage in &mut self.stages {
            stage.margin = stage.level.as_ref().and_then(|l| l.temperature.margin(limit));
            for run in &mut stage.runs {
                run.answer = run.answer.clone().map(|a| {
                    let at = self.unit.convert(limit, a.unit);
                    a.against(at)
                });
            }
        }
        Self { limit: Some(limit), ..self }
    }
    /// The name of a stage; nothing where there is none.
    pub fn name(&self, stage: usize) -> &str {
        self.stages.get(stage).map_or("", |s| s.name.as_str())
    }
    /// The change from one stage to another.
    pub fn change(&self, from: usize, to: usize) -> Option<&Change> {
        self.changes.iter().find(|c| c.from == from && c.to == to)
    }
    /// The change to a stage from the last one before it that has a temperature.
    pub fn step(&self, to: usize) -> Option<&Change> {
        let from = (0..to).rev().find(|k| self.stages.get(*k).is_some_and(|s| s.level.is_some()))?;
        self.change(from, to)
    }
    /// The change to a stage from the first one that has a temperature.
    pub fn since_first(&self, to: usize) -> Option<&Change> {
        self.change(self.first()?, to)
    }
    /// The first stage with a temperature.
    pub fn first(&self) -> Option<usize> {
        self.stages.iter().position(|s| s.level.is_some())
    }
    /// The last stage with a temperature.
    pub fn last(&self) -> Option<usize> {
        self.stages.iter().rposition(|s| s.level.is_some())
    }
}

/// Sorts the notes into stages and works out the changes.
///
/// A stage is all notes of one name; the same photo noted twice in it counts once. A diary is of one gauge: notes read with a
/// dial of another name are left out and named. `None` for a diary without a note.
pub fn project(diary: &Diary) -> Option<Project> {
    let first = diary.notes.first()?;
    let (gauge, unit) = (first.dial.name.clone(), first.dial.unit);
    let mut names: Vec<(&str, Vec<usize>)> = Vec::new();
    let mut others = Vec::new();
    for (k, note) in diary.notes.iter().enumerate() {
        if note.dial.name != gauge || !note.dial.unit.converts_to(unit) {
            others.push((diary.note_lines.get(k).copied().unwrap_or(k + 1), note.dial.name.clone()));
            continue;
        }
        match names.iter_mut().find(|(name, _)| *name == note.stage) {
            Some((_, places)) => places.push(k),
            None => names.push((&note.stage, vec![k])),
        }
    }
    let stages: Vec<Stage> = names.into_iter().map(|(name, places)| Stage::of(name, &diary.notes, places, unit)).collect();
    let there: Vec<usize> = (0..stages.len()).filter(|k| stages.get(*k).is_some_and(|s| s.level.is_some())).collect();
    let mut pairs: Vec<(usize, usize)> = there.windows(2).map(|w| (w[0], w[1])).collect();
    pairs.extend(there.iter().skip(2).map(|k| (there[0], *k)));
    let lent = elsewhere(&stages);
    let changed = |(a, b): (usize, usize)| change(&stages, a, b, unit, lent.get(b).copied().flatten());
    let mut changes: Vec<Change> = pairs.into_iter().filter_map(changed).collect();
    together(&mut changes);
    Some(Project { gauge, unit, stages, changes, limit: None, others })
}
