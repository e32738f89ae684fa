//! The temperature of a stage: the mean of its photos, or the level at which a run of them settles.
use crate::compare::{SettledLevel, Side};
use crate::maths::estimate::Estimate;
use crate::maths::units::Unit;
use crate::settle::{Answer, Note, Verdict};

/// Where a temperature comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum From {
    /// The mean of photos.
    Photos,
    /// The level of a run: its place among the stage's runs.
    Run(usize),
}

/// The temperature of a stage, in the unit of the project.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// The temperature; with an interval where its photos stand in a flat zone of the dial or beyond an end of the scale.
    pub temperature: Estimate,
    /// How many photos it rests on.
    pub photos: usize,
    /// Where it comes from.
    pub from: From,
}

impl Level {
    /// The mean of photos, as the side of a comparison has it.
    pub(super) fn of_side(side: &Side, from: Unit, to: Unit) -> Self {
        Self { temperature: side.mean.converted(from, to), photos: side.read.len(), from: From::Photos }
    }
    /// The settled level of a run, when one is named.
    pub(super) fn of_run(answer: &Answer, run: usize, to: Unit) -> Option<Self> {
        let temperature = answer.level.as_ref()?.temperature.converted(answer.unit, to);
        Some(Self { temperature, photos: answer.points.len(), from: From::Run(run) })
    }
}

/// The settled level of a run as a comparison takes it; `dial` is the identity of the dial file.
pub(super) fn settled(answer: &Answer, dial: &str) -> Option<SettledLevel> {
    let level = answer.level.as_ref()?;
    Some(SettledLevel {
        unit: answer.unit,
        level: level.temperature.clone(),
        scatter: level.scatter,
        scatter_dof: level.scatter_dof,
        wander: answer.wander,
        wander_dof: answer.wander_dof,
        readings: answer.points.len(),
        moving: matches!(answer.verdict, Verdict::Approaching { .. }) && answer.ahead.is_none(),
        dial: dial.to_string(),
        at_scale_end: answer.notes.contains(&Note::AtScaleEnd),
        taken: answer.taken.clone(),
    })
}
