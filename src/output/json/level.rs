//! The settled level in a file that `settle --json` wrote, back as data for a comparison.
use super::{FORMAT_VERSION, check_of};
use crate::compare::SettledLevel;
use crate::maths::estimate::Estimate;
use crate::maths::measured::Measured;
use crate::maths::source::Source;
use crate::maths::student::welch_satterthwaite;
use crate::maths::units::Unit;
use crate::photo::told;
use serde::Deserialize;

/// A file that gives no settled level.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum LevelError {
    /// Not what `settle --json` writes.
    #[error("It is not what settle --json writes ({0}), so it is no side of a comparison. Give photos, or write it with settle --json.")]
    NotASettling(String),
    /// A newer or older format.
    #[error("It has format version {0}, and this program knows {FORMAT_VERSION}. Write it anew with this program's settle --json.")]
    Version(u32),
    /// Written before the file held all that a comparison needs.
    #[error("It lacks {0}, which a comparison needs: an earlier version wrote it. Write it anew with settle --json.")]
    Lacks(&'static str),
    /// The run names no level.
    #[error(
        "It names no level ({0}), so there is nothing to compare. Go on taking photos until it has settled, or give the last photos of the run as a side."
    )]
    NoLevel(String),
    /// Its check sum is not that of its content.
    #[error("It was changed after settle --json wrote it, so it is not compared. Write it anew with settle --json.")]
    Changed,
    /// The level lies beyond the scale it is said to come from.
    #[error(
        "Its level lies beyond the scale of its dial, where nothing can be read, so it is not compared. Write it anew with settle --json."
    )]
    OffScale,
    /// A number that cannot be right.
    #[error("Its {0} cannot be right, so it is not compared. Write it anew with settle --json.")]
    Wrong(&'static str),
}

/// A level may lie beyond an end of the scale by this share of it: an approach ends where no photo was taken yet.
const BEYOND: f64 = 0.1;

#[derive(Deserialize)]
struct Run {
    format_version: u32,
    verdict: String,
    sentence: String,
    unit: String,
    level: Option<f64>,
    sigma: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    sigma_scatter: Option<f64>,
    #[serde(default)]
    dof_scatter: Absent,
    wander: Option<f64>,
    #[serde(default)]
    wander_dof: Absent,
    may_follow: Option<f64>,
    taken_first: Option<String>,
    taken_last: Option<String>,
    #[serde(default)]
    at_scale_end: bool,
    dial: Dial,
    readings: Vec<serde::de::IgnoredAny>,
    budget: Option<Vec<Term>>,
    check: Option<String>,
}

/// A field that may be missing, or `null` for infinitely many.
#[derive(Default, Deserialize)]
#[serde(from = "Option<f64>")]
enum Absent {
    #[default]
    Missing,
    There(f64),
}

impl From<Option<f64>> for Absent {
    fn from(value: Option<f64>) -> Self {
        Absent::There(value.unwrap_or(f64::INFINITY))
    }
}

impl Absent {
    fn given(&self, name: &'static str) -> Result<f64, LevelError> {
        match self {
            Absent::Missing => Err(LevelError::Lacks(name)),
            Absent::There(v) if *v >= 0.0 => Ok(*v),
            Absent::There(_) => Err(LevelError::Wrong(name)),
        }
    }
}

#[derive(Deserialize)]
struct Dial {
    id: String,
    low: Option<f64>,
    high: Option<f64>,
}

#[derive(Deserialize)]
struct Term {
    source: Source,
    contribution: Option<f64>,
}

/// The level in the bytes of a file that `settle --json` wrote. The terms keep their sources, so that what it shares with another side
/// cancels.
///
/// # Errors
/// [`LevelError`] when it is no such file, or names no level.
pub fn settled_level(bytes: &[u8]) -> Result<SettledLevel, LevelError> {
    let run: Run = serde_json::from_slice(bytes).map_err(|e| LevelError::NotASettling(told(&e)))?;
    if run.format_version != FORMAT_VERSION {
        return Err(LevelError::Version(run.format_version));
    }
    let no_level = || LevelError::NoLevel(told(&run.sentence));
    let value = run.level.ok_or_else(no_level)?;
    let object: serde_json::Value = serde_json::from_slice(bytes).map_err(|e| LevelError::NotASettling(told(&e)))?;
    if *run.check.as_ref().ok_or(LevelError::Lacks("check"))? != check_of(&object) {
        return Err(LevelError::Changed);
    }
    let unit = Unit::named(&run.unit).ok().filter(|u| u.code() == run.unit).ok_or(LevelError::Wrong("unit"))?;
    let (low, high) = run.dial.low.zip(run.dial.high).ok_or(LevelError::Lacks("the ends of the scale"))?;
    // a level may lie past the last mark by what a reading may
    let room = BEYOND * (high - low);
    if !(low - room..=high + room).contains(&value) {
        return Err(LevelError::OffScale);
    }
    let budget = run.budget.as_ref().ok_or(LevelError::Lacks("budget"))?;
    let terms = budget.iter().map(|t| t.contribution.map(|c| (t.source.clone(), c))).collect::<Option<Vec<_>>>();
    let measured = Measured::new(value, terms.ok_or(LevelError::Wrong("budget"))?);
    let scatter = run.sigma_scatter.filter(|s| *s >= 0.0).ok_or(LevelError::Wrong("sigma_scatter"))?;
    let sigma = run.sigma.ok_or(LevelError::Wrong("sigma"))?;
    let dial = measured.variance_of(|s| !s.is_own()).sqrt();
    // the same sum that wrote it: a file changed by hand would pass for another measurement
    if (scatter.hypot(dial) - sigma).abs() > 1e-9 * sigma.max(1e-9) {
        return Err(LevelError::Wrong("sigma"));
    }
    let band = run.low.zip(run.high).filter(|(low, high)| *low <= value && value <= *high).ok_or(LevelError::Wrong("band"))?;
    let scatter_dof = run.dof_scatter.given("dof_scatter")?;
    let dof = welch_satterthwaite(&[(scatter, scatter_dof), (dial, f64::INFINITY)]);
    Ok(SettledLevel {
        unit,
        level: Estimate::within(measured, sigma, dof, band),
        scatter,
        scatter_dof,
        wander: run.wander.filter(|w| *w >= 0.0).ok_or(LevelError::Wrong("wander"))?,
        wander_dof: run.wander_dof.given("wander_dof")?,
        readings: run.readings.len(),
        moving: run.verdict == "approaching" && run.may_follow.is_none(),
        dial: run.dial.id,
        at_scale_end: run.at_scale_end,
        taken: run.taken_first.zip(run.taken_last),
    })
}
