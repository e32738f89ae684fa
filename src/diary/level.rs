//! The temperature of a stage: the mean of its photos, or the level at which a run of them settles.
use crate::compare::{SettledLevel, Side};
use crate::maths::margin::Known;
use crate::maths::measured::Measured;
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
    /// The temperature with the terms that do not come from its scatter.
    pub measured: Measured,
    /// 95 % band.
    pub band: (f64, f64),
    /// How many photos it rests on.
    pub photos: usize,
    /// Where it comes from.
    pub from: From,
    /// Its photos stand in a flat zone of the dial: from where to where.
    pub flat: Option<(f64, f64)>,
    sigma: f64,
    dof: f64,
    /// Every value in it fits as well: a flat zone, or open where photos stand beyond an end of the scale.
    interval: Option<(f64, f64)>,
}

impl Level {
    /// The mean of photos, as the side of a comparison has it.
    pub(super) fn of_side(side: &Side, from: Unit, to: Unit) -> Self {
        Self {
            measured: side.mean.converted(from, to),
            band: (from.convert(side.band.0, to), from.convert(side.band.1, to)),
            photos: side.read.len(),
            from: From::Photos,
            flat: side.flat.map(|(l, h)| (from.convert(l, to), from.convert(h, to))),
            sigma: from.convert_difference(side.sigma, to),
            dof: side.dof,
            interval: side.known().flat.map(|(l, h)| (from.convert(l, to), from.convert(h, to))),
        }
    }
    /// The settled level of a run, when one is named. The scatter stands in place of the photos' own terms.
    pub(super) fn of_run(answer: &Answer, run: usize, to: Unit) -> Option<Self> {
        let (level, from) = (answer.level.as_ref()?, answer.unit);
        Some(Self {
            measured: level.measured.only(|s| !s.is_own()).converted(from, to),
            band: (from.convert(level.band.0, to), from.convert(level.band.1, to)),
            photos: answer.points.len(),
            from: From::Run(run),
            flat: None,
            sigma: from.convert_difference(level.sigma, to),
            dof: level.dof,
            interval: None,
        })
    }
    /// Standard uncertainty: terms and scatter.
    pub fn sigma(&self) -> f64 {
        self.sigma
    }
    /// What is known of it, for a judgement against a limit.
    pub(super) fn known(&self) -> Known {
        Known { value: self.measured.value(), band: self.band, sigma: self.sigma, dof: self.dof, flat: self.interval }
    }
}

/// The settled level of a run as a comparison takes it; `dial` is the identity of the dial file.
pub(super) fn settled(answer: &Answer, dial: &str) -> Option<SettledLevel> {
    let level = answer.level.as_ref()?;
    Some(SettledLevel {
        unit: answer.unit,
        level: level.measured.clone(),
        scatter: level.scatter,
        scatter_dof: level.scatter_dof,
        band: level.band,
        wander: answer.wander,
        wander_dof: answer.wander_dof,
        readings: answer.points.len(),
        moving: matches!(answer.verdict, Verdict::Approaching { .. }) && answer.ahead.is_none(),
        dial: dial.to_string(),
        at_scale_end: answer.notes.contains(&Note::AtScaleEnd),
        taken: answer.taken.clone(),
    })
}
