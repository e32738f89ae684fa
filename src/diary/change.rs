//! The change from one stage to another, and what may be said of several changes at once.
use super::level::{From, Level};
use super::stage::Stage;
use crate::base::holm::holm;
use crate::base::measured::Measured;
use crate::base::rounding::significant;
use crate::base::student::{coverage_factor_95, t_quantile, two_sided, welch_satterthwaite};
use crate::base::units::Unit;
use crate::compare::{Comparison, Verdict, compare};
use crate::scale::STICTION;
use std::collections::BTreeSet;

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
}

/// The change from one stage to a later one, in the unit of the project.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Place of the stage before.
    pub from: usize,
    /// Place of the stage after.
    pub to: usize,
    /// After minus before.
    pub delta: f64,
    /// Standard uncertainty.
    pub sigma: f64,
    /// Effective degrees of freedom.
    pub dof: f64,
    /// 95 % band of this change alone.
    pub band: (f64, f64),
    /// Bands that hold all changes at once in 95 % of cases (Bonferroni).
    pub together: (f64, f64),
    /// Probability of a change at least as large where there is none.
    pub p: f64,
    /// The same adjusted for all changes looked at (Holm).
    pub adjusted: f64,
    /// What it amounts to.
    pub standing: Standing,
    /// What to mind.
    pub notes: Vec<String>,
    over: (f64, f64),
    verdict: Verdict,
}

/// A standard uncertainty, its degrees of freedom and half its 95 % band.
pub(super) struct Spread {
    pub sigma: f64,
    pub dof: f64,
    pub half: f64,
}

/// Terms that count as known, and parts with their own degrees of freedom (as in `compare`).
pub(super) fn half(terms: f64, parts: &[(f64, f64)]) -> Spread {
    let all: Vec<(f64, f64)> = parts.iter().copied().chain([(terms, f64::INFINITY)]).collect();
    let sigma = all.iter().map(|(s, _)| s * s).sum::<f64>().sqrt();
    let dof = welch_satterthwaite(&all).max(1.0);
    Spread { sigma, dof, half: if sigma > 0.0 { coverage_factor_95(dof) * sigma } else { 0.0 } }
}

/// The change between two stages; `None` where one of them has no temperature.
///
/// Two stages of photos are compared as `compare` does it. Where one is a run, its level comes term by term: the dial's terms
/// cancel as far as they are the same, the scatter of each side enters with its degrees of freedom, and what a band reaches
/// beyond that is added in full.
pub(super) fn change(stages: &[Stage], from: usize, to: usize, unit: Unit) -> Option<Change> {
    let (a, b) = (stages.get(from)?, stages.get(to)?);
    let (la, lb) = (a.level.as_ref()?, b.level.as_ref()?);
    let mut change = match (la.from, lb.from) {
        (From::Photos, From::Photos) => of_photos(&compare(&a.records, &b.records).ok()?, unit),
        _ => of_levels(la, lb),
    };
    (change.from, change.to) = (from, to);
    change.notes.extend(a.ambient.zip(b.ambient).and_then(|(before, after)| outside(after - before, change.delta, unit)));
    Some(change)
}

/// What a difference outside may have done to a change. Nothing is worked out: how much of it reaches the oil is not known here.
fn outside(by: f64, delta: f64, unit: Unit) -> Option<String> {
    let how = if by < 0.0 { "cooler" } else { "warmer" };
    let what = if by * delta > 0.0 { "a part of the change may come from that" } else { "on like days the change may be another one" };
    (by != 0.0).then(|| format!("Outside it was {} {} {how} after: {what}.", significant(by.abs(), 2), unit.symbol()))
}

fn of_photos(c: &Comparison, unit: Unit) -> Change {
    let by = |v: f64| c.unit.convert_difference(v, unit);
    let (delta, sigma, band) = (by(c.delta.value()), by(c.sigma), (by(c.band.0), by(c.band.1)));
    let half = if sigma > 0.0 { coverage_factor_95(c.dof) * sigma } else { 0.0 };
    let over = ((delta - band.0 - half).max(0.0), (band.1 - delta - half).max(0.0));
    let hidden = matches!(c.verdict, Verdict::NotShown { .. });
    let notes = c.notes.iter().map(|n| n.sentence()).collect();
    blank(delta, (sigma, c.dof), over, band, hidden, notes)
}

fn of_levels(a: &Level, b: &Level) -> Change {
    let delta = own(&b.measured, "after").minus(&own(&a.measured, "before"));
    let lent = |l: &Level, other: &Level| l.scatter.or(other.wander.map(|(s, dof)| (s / (l.photos as f64).sqrt(), dof)));
    let parts: Vec<(f64, f64)> = [lent(a, b), lent(b, a)].into_iter().flatten().collect();
    let spread = half(delta.sigma(), &parts);
    let over = (b.over.0 + a.over.1, b.over.1 + a.over.0);
    let value = delta.value();
    let band = (value - spread.half - over.0, value + spread.half + over.1);
    let hidden = a.flat.or(b.flat).is_some() && band.0 <= 0.0 && band.1 >= 0.0;
    let mut notes = Vec::new();
    for (l, word, other) in [(a, "before", "after"), (b, "after", "before")] {
        if l.scatter.is_none() {
            notes.push(format!("Only one photo {word}: the wander of the run {other} is used for it. Take three or more."));
        }
    }
    if dials(a) != dials(b) {
        notes.push("The two stages were read with different dial files, so no error of the dial cancels.".to_string());
    }
    blank(value, (spread.sigma, spread.dof), over, band, hidden, notes)
}

/// A sticking needle sticks in each stage in its own way.
fn own(m: &Measured, side: &str) -> Measured {
    let key = |k: &String| if k.ends_with(STICTION) { format!("{side}/{STICTION}") } else { k.clone() };
    Measured::new(m.value(), m.terms().iter().map(|(k, t)| (key(k), *t)).collect())
}

fn dials(l: &Level) -> BTreeSet<&str> {
    l.measured.terms().keys().filter(|k| k.starts_with("dial:")).filter_map(|k| k.split('/').next()).collect()
}

fn blank(delta: f64, (sigma, dof): (f64, f64), over: (f64, f64), band: (f64, f64), hidden: bool, notes: Vec<String>) -> Change {
    let verdict = match hidden {
        true => Verdict::NotShown { hidden: band.1.max(-band.0) },
        false => Verdict::of(delta, band),
    };
    // what is an interval may all lie on the side of no change
    let clear = if delta > 0.0 { delta - over.0 } else { -delta - over.1 }.max(0.0);
    let p = match sigma > 0.0 {
        true => two_sided(clear / sigma, dof),
        false => f64::from(u8::from(clear <= 0.0)),
    };
    let standing = if hidden { Standing::Hidden } else { Standing::NotSeen };
    Change { from: 0, to: 0, delta, sigma, dof, band, together: band, p, adjusted: p, standing, notes, over, verdict }
}

/// Adjusts the changes for their number.
pub(super) fn together(changes: &mut [Change]) {
    let adjusted = holm(&changes.iter().map(|c| c.p).collect::<Vec<_>>());
    let m = changes.len().max(1) as f64;
    for (c, p) in changes.iter_mut().zip(adjusted) {
        c.adjusted = p;
        let half = if c.sigma > 0.0 { t_quantile(1.0 - 0.025 / m, c.dof) * c.sigma } else { 0.0 };
        c.together = (c.delta - half - c.over.0, c.delta + half + c.over.1);
        c.standing = match c.standing {
            Standing::Hidden => Standing::Hidden,
            _ if p < REAL => Standing::Real,
            _ if c.p < REAL => Standing::Alone,
            _ => Standing::NotSeen,
        };
    }
}

impl Change {
    /// The plain sentence, without a full stop.
    pub fn sentence(&self, unit: Unit) -> String {
        let said = self.verdict.sentence(unit);
        match self.standing {
            Standing::Alone => {
                let bare = said.strip_prefix("a real ").map_or(said.clone(), |rest| format!("a {rest}"));
                format!("{bare} by itself, but among the changes looked at one like it may be chance")
            }
            _ => said,
        }
    }
    /// Half the band, its longer half.
    pub fn half(&self) -> f64 {
        (self.delta - self.band.0).max(self.band.1 - self.delta)
    }
}
