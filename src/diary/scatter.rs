//! The scatter between photos that an earlier stage shows, for stages of one photo.
use super::stage::Stage;
use crate::compare::{Elsewhere, Given, Lender, one_side};
use crate::maths::between::Sample;

/// For each stage the latest one before it that shows how far photos scatter, and what it shows.
pub(super) fn elsewhere(stages: &[Stage]) -> Vec<Option<(&str, Elsewhere)>> {
    let mut latest = None;
    let mut all = Vec::with_capacity(stages.len());
    for s in stages {
        all.push(latest);
        latest = of_photos(s).or_else(|| of_run(s)).map(|e| (s.name.as_str(), e)).or(latest);
    }
    all
}

fn of_photos(stage: &Stage) -> Option<Elsewhere> {
    let (side, unit) = one_side(&Given::Photos(&stage.records)).ok()?;
    let scatter = side.scatter.filter(|_| !side.is_limit())?;
    let sample = Sample { count: side.read.len(), seen: scatter.sd.powi(2), explained: scatter.expected.powi(2) };
    Some(Elsewhere { scatter: Lender::Readings(sample), unit })
}

fn of_run(stage: &Stage) -> Option<Elsewhere> {
    let level = stage.settled()?;
    Some(Elsewhere { scatter: Lender::Run(level.wander, level.wander_dof), unit: level.unit })
}
