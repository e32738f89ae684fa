//! From a run of readings to the answer.
use super::band::profile;
use super::checks::{Drift, Shapes, drift, late_drift, misfit, overshoot};
use super::curve::Shape;
use super::error::{LEAST, SettleError};
use super::fitted::{Approach, Fitted};
use super::level::{Level, level};
use super::note::Note;
use super::series::{Point, Series};
use super::slower::{Slower, after_approach, after_level};
use super::verdict::{Verdict, length};
use crate::maths::margin::Margin;
use crate::maths::student::coverage_factor_95;
use crate::maths::units::Unit;
use crate::reading::{LeftOut, Record};

/// So many time constants must be seen before a level is named.
const ENOUGH: f64 = 2.0;
/// A reading whose weight fell below this is named as bad.
const BAD: f64 = 0.5;

/// A number with its 95 % band; an end may be infinite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// The number.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// What a slower approach may still bring, in the unit of the answer: passed in one case of twenty where there is one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ahead {
    /// In all.
    pub left: f64,
    /// Within as long again as was watched.
    pub next: f64,
}

/// The answer to "has it settled, and at what?".
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// Unit of every temperature here.
    pub unit: Unit,
    /// What the readings say.
    pub verdict: Verdict,
    /// The level; `None` where it is not known well enough to be named.
    pub level: Option<Level>,
    /// Time constant in seconds; `None` for a steady run or where nothing is known of it.
    pub tau: Option<Range>,
    /// Seconds from the first reading to when the temperature came within a degree Celsius of the level (0 when it always was).
    pub within: Option<Range>,
    /// A degree Celsius in the unit; of what is no temperature a hundredth of the largest reading.
    pub near: f64,
    /// Seconds from the first reading to the last.
    pub span: f64,
    /// First and last capture time of the readings that tell one.
    pub taken: Option<(String, String)>,
    /// How far the readings went past where they ended.
    pub overshoot: Option<f64>,
    /// A drift of the level that is believed, or the slope of a run that does not bend.
    pub drift: Option<Drift>,
    /// What a slower approach may still bring, where that is all that keeps the run from being called settled or steady.
    pub ahead: Option<Ahead>,
    /// The curve; `None` when none is believed.
    pub curve: Option<Approach>,
    /// Correlation of neighbouring residuals.
    pub correlation: f64,
    /// One sigma of the wander beyond what the photos explain.
    pub wander: f64,
    /// Its degrees of freedom; infinite where nothing wanders.
    pub wander_dof: f64,
    /// The readings in the order of time.
    pub points: Vec<Point>,
    /// Places in `points` of those held down as bad.
    pub bad: Vec<usize>,
    /// The photos that do not count.
    pub left_out: Vec<LeftOut>,
    /// What a reader of the answer should know.
    pub notes: Vec<Note>,
    /// A limit to judge it against, unit of the answer; `None` when none was given.
    pub limit: Option<f64>,
}

impl Answer {
    /// The same with a limit (unit of the answer) to judge the level against.
    pub fn against(self, limit: f64) -> Self {
        Self { limit: Some(limit), ..self }
    }
    /// How far the level lies from the limit; `None` without a limit or a level.
    pub fn margin(&self) -> Option<Margin> {
        self.level.as_ref()?.temperature.margin(self.limit?)
    }
    /// What the readings say, and over which time, without a full stop.
    pub fn sentence(&self) -> String {
        self.said(self.verdict.sentence(self.unit))
    }
    /// The same with the digits of a headline.
    pub fn headline(&self) -> String {
        self.said(self.verdict.headline(self.unit))
    }
    fn said(&self, verdict: String) -> String {
        let watched = length(self.span);
        match self.verdict {
            Verdict::Settled { .. } => format!("{verdict} (over the {watched} watched)"),
            Verdict::Steady { .. } => format!("{verdict} over the {watched} watched"),
            _ => verdict,
        }
    }
    /// Whether the readings were seen to move on at their end, however that goes on.
    pub fn moving(&self) -> bool {
        match self.verdict {
            Verdict::Drifting { .. } => true,
            Verdict::Approaching { .. } => self.ahead.is_none(),
            Verdict::NotSettled { .. } => self.drift.is_some() || self.tau.is_some(),
            Verdict::Settled { .. } | Verdict::Steady { .. } | Verdict::NotFirstOrder => false,
        }
    }
}

/// Judges readings over time. `times` in seconds from any common start, one for each record, `None` where it is not known.
///
/// A first-order approach is fitted (see the module), with weights from the photos' own terms and the wander, bad readings
/// held down by Huber's loss. An approach is believed over a straight line, and a change over a steady level, at 0.5 %, a drift after an approach at 0.1 %. A level
/// is named when the run lasted two time constants, and that for the longest time constant that fits; none where photos of the last half
/// of the run stand beyond an end of the scale.
///
/// # Errors
/// [`SettleError`] for fewer than five readings at different times, or numbers that allow no fit.
pub fn settle(records: &[Record], times: &[Option<f64>]) -> Result<Answer, SettleError> {
    let series = Series::of(records, times);
    if series.moments() < LEAST {
        return Err(SettleError::TooFew { given: records.len(), readings: series.moments(), left_out: series.left_out });
    }
    let near = near(&series);
    let shapes = Shapes::of(&series, near / 2.0).ok_or(SettleError::NoFit)?;
    let fit = match (&shapes.approach, shapes.bends, shapes.changes) {
        (Some(approach), true, _) => approach,
        (_, _, true) => &shapes.line,
        _ => &shapes.steady,
    };
    let mut out = blank(&series, fit, near);
    if series.beyond.late != (0, 0) {
        out.verdict = Verdict::NotSettled { low: f64::NEG_INFINITY, high: f64::INFINITY };
        out.curve = None;
        notes(&mut out, &series);
        return Ok(out);
    }
    out.overshoot = overshoot(&series, near / 2.0);
    match fit.shape {
        Shape::Steady => steady(&mut out, fit, &shapes.line, &series),
        Shape::Line => moving(&mut out, fit, &series),
        _ => approach(&mut out, fit, &series),
    }
    notes(&mut out, &series);
    Ok(out)
}

/// A degree Celsius in the unit of the series; of what is no temperature a hundredth of the largest reading, which is as near as a dash
/// dial tells (common practice: 1 to 2 % of its span).
fn near(series: &Series) -> f64 {
    if series.unit.is_temperature() {
        return Unit::C.convert_difference(1.0, series.unit);
    }
    let largest = series.points.iter().map(|p| p.value.value().abs()).fold(0.0, f64::max);
    0.01 * largest.max(f64::MIN_POSITIVE)
}

fn blank(series: &Series, fit: &Fitted, near: f64) -> Answer {
    Answer {
        unit: series.unit,
        verdict: Verdict::NotFirstOrder,
        level: None,
        tau: None,
        within: None,
        near,
        span: series.span(),
        taken: series.taken.clone(),
        overshoot: None,
        drift: None,
        ahead: None,
        curve: Some(fit.approach()),
        correlation: fit.scatter.correlation,
        wander: fit.scatter.wander.sqrt(),
        wander_dof: fit.scatter.wander_dof,
        points: series.points.clone(),
        bad: (0..fit.trust.len()).filter(|k| fit.trust[*k] < BAD).collect(),
        left_out: series.left_out.clone(),
        notes: Vec::new(),
        limit: None,
    }
}

fn steady(out: &mut Answer, fit: &Fitted, line: &Fitted, series: &Series) {
    let later = after_level(fit, series, out.near);
    let Some(level) = level(fit, series, None, later) else { return };
    let hidden = drift(line, 1).map_or(f64::INFINITY, |d| (d.per_minute.abs() + d.half) / 60.0 * series.span());
    out.notes.push(Note::Hidden(hidden, series.unit));
    if let Some(later) = later.filter(|l| l.doubt) {
        may_follow(out, &later, series);
        let (low, high) = level.temperature.band();
        out.verdict = Verdict::NotSettled { low, high };
        return;
    }
    out.verdict = Verdict::Steady { level: level.temperature.value(), half: level.temperature.half() };
    out.level = Some(level);
}

fn may_follow(out: &mut Answer, later: &Slower, series: &Series) {
    out.ahead = Some(Ahead { left: later.left, next: later.next });
    out.notes.push(Note::Slower { left: later.left, next: later.next, seconds: series.span(), unit: series.unit });
}

/// A run that moves and does not bend: where it is now is one limit, the other is open.
fn moving(out: &mut Answer, fit: &Fitted, series: &Series) {
    let curve = fit.approach();
    let (now, sure) = (curve.at(series.span()), last_half(fit, series));
    out.drift = drift(fit, 1);
    if let Some(m) = misfit(fit, series, out.near / 2.0) {
        out.notes.push(Note::Misfit(m, series.unit));
        (out.curve, out.drift) = (None, None);
        return;
    }
    out.verdict = if curve.slope > 0.0 {
        Verdict::NotSettled { low: now - sure, high: f64::INFINITY }
    } else {
        Verdict::NotSettled { low: f64::NEG_INFINITY, high: now + sure }
    };
}

/// Half the 95 % band of the temperature now, taken as that of a single reading.
fn last_half(fit: &Fitted, series: &Series) -> f64 {
    let terms = series.points.last().map_or(0.0, |p| p.value.sigma());
    (coverage_factor_95(f64::INFINITY) * terms).hypot(coverage_factor_95(fit.scatter.dof) * fit.scatter.wander.sqrt())
}

fn approach(out: &mut Answer, fit: &Fitted, series: &Series) {
    let Some(profile) = profile(fit, series) else { return };
    let later = after_approach(fit, series, out.near);
    let Some(level) = level(fit, series, Some(&profile), later) else { return };
    let (curve, least) = (fit.approach(), out.near / 2.0);
    let long = series.span() >= ENOUGH * curve.tau && out.overshoot.is_none();
    let drifting = if long { late_drift(series, least) } else { None };
    if let Some((fit, drift)) = drifting.filter(|(fit, _)| misfit(fit, series, least).is_none()) {
        out.curve = Some(fit.approach());
        (out.correlation, out.wander, out.wander_dof) = (fit.scatter.correlation, fit.scatter.wander.sqrt(), fit.scatter.wander_dof);
        out.verdict = Verdict::Drifting { per_minute: drift.per_minute, half: drift.half };
        out.drift = Some(drift);
        return;
    }
    let misfit = misfit(fit, series, least);
    out.notes.extend(misfit.map(|m| Note::Misfit(m, series.unit)));
    if misfit.is_some() || out.overshoot.is_some() {
        out.curve = None;
        return;
    }
    out.tau = Some(Range { value: curve.tau, low: profile.tau.0, high: profile.tau.1 });
    let seen = series.span() / profile.tau.1;
    if seen < ENOUGH {
        let (now, sure) = (curve.at(series.span()), last_half(fit, series));
        // where it is now is one limit: it still moves on from there
        out.verdict = if curve.amplitude < 0.0 {
            Verdict::NotSettled { low: now - sure, high: level.temperature.band().1.max(now + sure) }
        } else {
            Verdict::NotSettled { low: level.temperature.band().0.min(now - sure), high: now + sure }
        };
        out.notes.push(Note::TooShort(seen));
        return;
    }
    let (value, half) = (level.temperature.value(), level.temperature.half());
    let ended = profile.remaining <= out.near;
    let doubt = later.filter(|l| l.doubt);
    if let Some(later) = doubt.filter(|_| ended) {
        may_follow(out, &later, series);
    }
    out.verdict =
        if ended && doubt.is_none() { Verdict::Settled { level: value, half } } else { Verdict::Approaching { level: value, half } };
    out.within = within(fit, out.near);
    out.level = Some(level);
}

/// When |amplitude| exp(-t/tau) came down to `near`: tau ln(|amplitude| / near), with its band by linear propagation.
fn within(fit: &Fitted, near: f64) -> Option<Range> {
    let (curve, c) = (fit.approach(), fit.curve.covariance.as_ref()?);
    let ratio = curve.amplitude.abs() / near;
    if ratio <= 1.0 {
        return Some(Range { value: 0.0, low: 0.0, high: 0.0 });
    }
    let (by_tau, by_amplitude) = (ratio.ln(), curve.tau / curve.amplitude);
    let variance = by_tau * by_tau * c[(2, 2)] + 2.0 * by_tau * by_amplitude * c[(1, 2)] + by_amplitude * by_amplitude * c[(1, 1)];
    let half = coverage_factor_95(fit.scatter.dof) * (variance.max(0.0) * fit.scatter.inflation).sqrt();
    let value = curve.tau * by_tau;
    Some(Range { value, low: (value - half).max(0.0), high: value + half })
}

fn notes(out: &mut Answer, series: &Series) {
    let unit = series.unit;
    out.notes.extend(out.overshoot.map(|by| Note::Overshoot(by, unit)));
    let own = series.points.iter().map(|p| p.own * p.own).sum::<f64>() / series.points.len() as f64;
    if out.curve.is_some() {
        if !out.bad.is_empty() {
            out.notes.push(Note::BadReadings(out.bad.len()));
        }
        if out.correlation > 0.3 {
            out.notes.push(Note::Correlated(out.correlation));
        }
        // twice what the photos explain, as in a comparison
        if out.wander * out.wander > 3.0 * own && out.wander > 0.0 {
            out.notes.push(Note::Wanders(out.wander, unit));
        }
    }
    match (series.beyond.counts, series.beyond.late) {
        ((0, 0), _) => {}
        (counts, (0, 0)) => out.notes.push(Note::BeyondScale(counts)),
        (counts, _) => out.notes.push(Note::EndsBeyondScale(counts)),
    }
    if series.at_end {
        out.notes.push(Note::AtScaleEnd);
    }
    if series.points.iter().any(|p| p.surplus > 0.0) {
        out.notes.push(Note::WideBand);
    }
}
