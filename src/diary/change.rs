//! The change from one stage to another, and what may be said of several changes at once.
use super::stage::Stage;
use crate::compare::{Comparison, Elsewhere, Given, Note, Origin, SettledLevel, Verdict, Which, compare_knowing};
use crate::maths::estimate::Estimate;
use crate::maths::holm::holm;
use crate::maths::rounding::{headline_text, significant, with_uncertainty};
use crate::maths::student::{t_quantile, two_sided};
use crate::maths::units::Unit;

/// A change counts as real below this probability, all changes that were looked at taken together.
const REAL: f64 = 0.05;

/// What a change amounts to once it is known how many were looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Real, also among all the changes looked at.
    Real,
    /// Its own band lies off 0, but among so many changes one like it may be chance.
    Alone,
    /// Its band holds 0.
    NotSeen,
    /// A flat zone of the dial hides it.
    Hidden,
    /// Its own band lies off 0, but each stage is one photo, and no scatter is known.
    OnePhoto,
}

/// The change from one stage to a later one, in the unit of the project.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Place of the stage before.
    pub from: usize,
    /// Place of the stage after.
    pub to: usize,
    /// After minus before; its band is that of this change alone.
    pub delta: Estimate,
    /// Bands that hold all changes at once in 95 % of cases (Bonferroni).
    pub together: (f64, f64),
    /// Probability of a change at least as large where there is none; 1 where no scatter is known.
    pub p: f64,
    /// The same adjusted for all changes looked at (Holm).
    pub adjusted: f64,
    /// What it amounts to.
    pub standing: Standing,
    /// What to mind.
    pub notes: Vec<String>,
    verdict: Verdict,
}

/// The change between two stages; `None` where one of them has no temperature.
///
/// As [`compare_knowing`] does it: a stage of photos by their records, a run by its settled level. Two stages of one photo each take
/// `lent`, the scatter of an earlier stage that shows one.
pub(super) fn change(stages: &[Stage], from: usize, to: usize, unit: Unit, lent: Option<(&str, Elsewhere)>) -> Option<Change> {
    let (a, b) = (stages.get(from)?, stages.get(to)?);
    a.level.as_ref().and(b.level.as_ref())?;
    let (run_a, run_b) = (a.settled(), b.settled());
    let c = compare_knowing(&side(a, run_a.as_ref()), &side(b, run_b.as_ref()), lent.map(|(_, scatter)| scatter)).ok()?;
    let mut change = told(&c, unit, lent.map_or("", |(name, _)| name));
    (change.from, change.to) = (from, to);
    change.notes.extend(a.ambient.zip(b.ambient).and_then(|(before, after)| outside(after - before, change.delta.value(), unit)));
    Some(change)
}

fn side<'a>(stage: &'a Stage, run: Option<&'a SettledLevel>) -> Given<'a> {
    run.map_or(Given::Photos(&stage.records), Given::Level)
}

/// What a difference outside may have done to a change. Nothing is worked out: how much of it reaches the oil is not known here.
fn outside(by: f64, delta: f64, unit: Unit) -> Option<String> {
    let how = if by < 0.0 { "cooler" } else { "warmer" };
    let what = if by * delta > 0.0 { "a part of the change may come from that" } else { "on like days the change may be another one" };
    (by != 0.0).then(|| format!("Outside it was {} {} {how} after: {what}.", significant(by.abs(), 2), unit.symbol()))
}

fn told(c: &Comparison, unit: Unit, lender: &str) -> Change {
    let delta = c.delta.converted_difference(c.unit, unit);
    let (by, sigma, band) = (delta.value(), delta.sigma(), delta.band());
    let standing = match c.verdict {
        Verdict::NotShown { .. } => Standing::Hidden,
        Verdict::OnePhoto { .. } => Standing::OnePhoto,
        _ => Standing::NotSeen,
    };
    // what is an interval may all lie on the side of no change
    let clear = if by > 0.0 { by - delta.surplus().0 } else { -by - delta.surplus().1 }.max(0.0);
    let p = match sigma > 0.0 {
        _ if standing == Standing::OnePhoto => 1.0,
        true => two_sided(clear / sigma, delta.dof()),
        false => f64::from(u8::from(clear <= 0.0)),
    };
    Change {
        from: 0,
        to: 0,
        together: band,
        p,
        adjusted: p,
        standing,
        notes: c.notes.iter().map(|n| note(n, c, lender)).collect(),
        verdict: c.verdict_on(by, band),
        delta,
    }
}

/// A remark of the comparison; where a run lends its wander, in the words of a run.
fn note(n: &Note, c: &Comparison, lender: &str) -> String {
    let lends = |which: Which| if which == Which::Before { c.after.origin } else { c.before.origin };
    match n {
        Note::ScatterLent(which) if lends(*which) != Origin::Photos => {
            let (word, other) = (which.word(), which.other().word());
            format!("Only one photo {word}: the wander of the run {other} is used for it. Take three or more.")
        }
        Note::NoScatter => format!(
            "{}: how far the needle wanders between photos is not known and not in the band, so a difference may be scatter. Note three or \
             more photos of a stage.",
            single(c)
        ),
        Note::ScatterFromElsewhere(sd, _) if *sd <= 0.0 => format!(
            "{}: the earlier stage \"{lender}\" shows no scatter beyond what its photos explain, so none is added. Take three or more.",
            single(c)
        ),
        Note::ScatterFromElsewhere(sd, unit) => format!(
            "{}: the scatter of the earlier stage \"{lender}\", {} {} between photos (one standard deviation), is in the band. Take three or \
             more.",
            single(c),
            significant(*sd, 2),
            unit.symbol()
        ),
        _ => n.sentence(),
    }
}

/// Which stage has a single photo that was read; the other has one too, or more that stand partly off the scale and lend no scatter.
fn single(c: &Comparison) -> String {
    match (c.before.read.len(), c.after.read.len()) {
        (1, 1) => "One photo was read in each of the two".to_string(),
        (1, n) => format!("Only one photo was read before, and the {n} read after lend it no scatter, for others there are off the scale"),
        (n, _) => format!("Only one photo was read after, and the {n} read before lend it no scatter, for others there are off the scale"),
    }
}

/// Adjusts the changes for their number.
pub(super) fn together(changes: &mut [Change]) {
    let adjusted = holm(&changes.iter().map(|c| c.p).collect::<Vec<_>>());
    let m = changes.len().max(1) as f64;
    for (c, p) in changes.iter_mut().zip(adjusted) {
        c.adjusted = p;
        let (by, sigma, surplus) = (c.delta.value(), c.delta.sigma(), c.delta.surplus());
        let half = if sigma > 0.0 { t_quantile(1.0 - 0.025 / m, c.delta.dof()) * sigma } else { 0.0 };
        c.together = (by - half - surplus.0, by + half + surplus.1);
        c.standing = match c.standing {
            Standing::Hidden | Standing::OnePhoto => c.standing,
            _ if p < REAL => Standing::Real,
            _ if c.p < REAL => Standing::Alone,
            _ => Standing::NotSeen,
        };
    }
}

impl Change {
    /// The plain sentence, without a full stop.
    pub fn sentence(&self, unit: Unit) -> String {
        self.told(self.verdict.with_reason(self.claim(unit, with_uncertainty)))
    }
    /// The same with the digits of a headline.
    pub fn headline(&self, unit: Unit) -> String {
        self.told(self.verdict.with_reason(self.claim(unit, headline_text)))
    }
    /// The headline without the reason why a change is known as a limit only.
    pub fn short_headline(&self, unit: Unit) -> String {
        self.told(self.claim(unit, headline_text))
    }
    fn claim(&self, unit: Unit, number: fn(f64, f64) -> String) -> String {
        self.verdict.claim(unit, number, self.standing != Standing::Alone)
    }
    fn told(&self, said: String) -> String {
        match self.standing {
            Standing::Alone => format!("{said} by itself, but among the changes looked at one like it may be chance"),
            _ => said,
        }
    }
}
