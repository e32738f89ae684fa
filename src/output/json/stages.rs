//! A diary as one object.
use super::limit::{Limit, limit_side};
use super::{FORMAT_VERSION, JsonError, finite, written};
use crate::diary::{Change, Diary, From, Project, Stage, Standing};
use crate::output::story;
use crate::output::words::unit_letter;
use serde::Serialize;

#[derive(Serialize)]
struct Stages<'a> {
    format_version: u32,
    gauge: &'a str,
    /// Of every temperature here.
    unit: &'static str,
    sentence: String,
    /// The temperature that the stages are judged against; `null` without one.
    limit: Option<f64>,
    stages: Vec<OneStage<'a>>,
    changes: Vec<OneChange<'a>>,
    /// Lines of the diary that are not used, from 1.
    lines_not_used: Vec<usize>,
    notes: Vec<String>,
}

#[derive(Serialize)]
struct OneStage<'a> {
    stage: &'a str,
    value: Option<f64>,
    sigma: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    /// As in a comparison: photos beyond an end of the scale make the value a limit.
    limit_side: Option<&'static str>,
    /// `photos` or `run`; `null` where there is no temperature.
    from: Option<&'static str>,
    n: usize,
    photos: usize,
    left_out: Vec<&'a str>,
    ambient: Option<f64>,
    limit: Option<Limit>,
    notes: &'a [String],
}

#[derive(Serialize)]
struct OneChange<'a> {
    before: &'a str,
    after: &'a str,
    delta: Option<f64>,
    sigma: Option<f64>,
    /// Effective degrees of freedom; `null` = infinitely many.
    dof: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    limit_side: Option<&'static str>,
    /// Bands that hold all changes at once.
    low_together: Option<f64>,
    high_together: Option<f64>,
    p: Option<f64>,
    p_holm: Option<f64>,
    standing: &'static str,
    sentence: String,
    notes: &'a [String],
}

/// The stages as one line.
///
/// # Errors
/// When it cannot be serialised (a fault of the program).
pub fn stages(p: &Project, d: &Diary) -> Result<String, JsonError> {
    written(&Stages {
        format_version: FORMAT_VERSION,
        gauge: &p.gauge,
        unit: unit_letter(p.unit),
        sentence: story::answer(p),
        limit: p.limit.and_then(finite),
        stages: p.stages.iter().map(stage).collect(),
        changes: p.changes.iter().map(|c| change(p, c)).collect(),
        lines_not_used: d.damaged.iter().map(|x| x.line).collect(),
        notes: story::family(p).into_iter().chain(story::lost(p, d)).collect(),
    })
}

fn stage(s: &Stage) -> OneStage<'_> {
    let l = s.level.as_ref();
    let t = l.map(|l| &l.temperature);
    OneStage {
        stage: &s.name,
        value: t.and_then(|t| finite(t.value())),
        sigma: t.and_then(|t| finite(t.sigma())),
        low: t.and_then(|t| finite(t.band().0)),
        high: t.and_then(|t| finite(t.band().1)),
        limit_side: t.and_then(|t| limit_side(t.band())),
        from: l.map(|l| if l.from == From::Photos { "photos" } else { "run" }),
        n: l.map_or(0, |l| l.photos),
        photos: s.photos,
        left_out: s.not_counted.iter().map(|n| n.file.as_str()).collect(),
        ambient: s.ambient.and_then(finite),
        limit: s.margin.as_ref().map(Limit::of),
        notes: &s.remarks,
    }
}

fn change<'a>(p: &'a Project, c: &'a Change) -> OneChange<'a> {
    OneChange {
        before: p.name(c.from),
        after: p.name(c.to),
        delta: finite(c.delta.value()),
        sigma: finite(c.delta.sigma()),
        dof: finite(c.delta.dof()),
        low: finite(c.delta.band().0),
        high: finite(c.delta.band().1),
        limit_side: limit_side(c.delta.band()),
        low_together: finite(c.together.0),
        high_together: finite(c.together.1),
        p: finite(c.p),
        p_holm: finite(c.adjusted),
        standing: match c.standing {
            Standing::Real => "real",
            Standing::Alone => "may_be_chance",
            Standing::NotSeen => "not_seen",
            Standing::Hidden => "hidden",
            Standing::OnePhoto => "one_photo",
        },
        sentence: c.sentence(p.unit),
        notes: &c.notes,
    }
}
