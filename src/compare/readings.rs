//! The photos of one side: which count, their mean, their scatter, and which were left out and why.
use super::error::CompareError;
use crate::diagnostics::Flag;
use crate::maths::between::Sample;
use crate::maths::measured::Measured;
use crate::maths::source::{Source, Which};
use crate::maths::units::Unit;
use crate::reading::{LeftOut, Reading, Record, Why};
use std::collections::BTreeSet;

/// The readings of one side in one unit, before any statistics.
#[derive(Debug, Default)]
pub(super) struct Readings {
    /// Temperatures, one a photo.
    pub values: Vec<Measured>,
    /// How far each band reaches below and above what its terms explain, same order; in a flat zone to the ends of its interval.
    surplus: Vec<(f64, f64)>,
    /// From where to where the flat zones of the readings run; `None` when there is none.
    pub flat: Option<(f64, f64)>,
    /// Places in the list given.
    pub indices: Vec<usize>,
    /// Identities of the photos.
    pub ids: BTreeSet<String>,
    /// The photos that do not count.
    pub left_out: Vec<LeftOut>,
    /// Whether some reading stands on the last mark.
    pub at_end: bool,
    /// Whether some reading was converted to the unit.
    pub converted: bool,
    /// First and last capture time of the photos that tell one.
    pub taken: Option<(String, String)>,
}

impl Readings {
    /// Sorts the records of one side into readings (converted to `unit`) and photos left out.
    pub fn of(records: &[Record], unit: Unit) -> Self {
        let mut all = Self::default();
        for (index, record) in records.iter().enumerate() {
            match record.counted() {
                Err(why) => all.left_out.push(LeftOut { index, why }),
                Ok(_) if !all.ids.insert(record.photo_id.clone()) => all.left_out.push(LeftOut { index, why: Why::Repeated }),
                Ok(reading) => {
                    all.push(index, reading, unit);
                    all.taken = widened(all.taken.take(), record.taken_at.as_ref());
                }
            }
        }
        all
    }
    fn push(&mut self, index: usize, reading: &Reading, unit: Unit) {
        let value = reading.temperature.measured().converted(reading.unit, unit);
        let flat = reading.temperature.interval().map(|(low, high)| (reading.unit.convert(low, unit), reading.unit.convert(high, unit)));
        self.surplus.push(match flat {
            Some((low, high)) => ((value.value() - low).max(0.0), (high - value.value()).max(0.0)),
            None => reading.surplus(unit),
        });
        self.flat = self.flat.into_iter().chain(flat).reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
        self.values.push(value);
        self.indices.push(index);
        self.at_end |= reading.flags.contains(&Flag::AtScaleEnd);
        self.converted |= reading.unit != unit;
    }
    /// The mean, or the error that this side holds no reading.
    pub fn mean(&self, which: Which, given: usize) -> Result<Measured, CompareError> {
        let nothing = || CompareError::NothingRead { which, given, left_out: self.left_out.clone() };
        Measured::mean(&self.values).map(|mean| mean.on(which)).ok_or_else(nothing)
    }
    /// How far the bands of the side's readings reach below and above what their terms explain, on average. In a flat zone that is
    /// the whole interval: terms that cancel in the difference must not take the zone with them.
    pub fn surplus(&self) -> (f64, f64) {
        let sum = self.surplus.iter().fold((0.0, 0.0), |sum, s| (sum.0 + s.0, sum.1 + s.1));
        let n = self.values.len().max(1) as f64;
        (sum.0 / n, sum.1 / n)
    }
    /// How many photos stand below the scale, and how many above: the mean of the others is then a limit.
    pub fn beyond(&self) -> (usize, usize) {
        let count = |why: Why| self.left_out.iter().filter(|l| l.why == why).count();
        (count(Why::BelowScale), count(Why::AboveScale))
    }
    /// The readings by their variances, for two photos or more.
    pub fn sample(&self) -> Option<Sample> {
        let values: Vec<f64> = self.values.iter().map(Measured::value).collect();
        let own: Vec<f64> = self.values.iter().map(|m| m.variance_of(Source::is_own)).collect();
        Sample::of(&values, &own)
    }
    /// Place in the list given of the photo nearest to `mean`.
    pub fn nearest(&self, mean: f64) -> usize {
        let far = |k: &usize| self.values.get(*k).map_or(f64::INFINITY, |v| (v.value() - mean).abs());
        let best = (0..self.values.len()).min_by(|a, b| far(a).total_cmp(&far(b)));
        best.and_then(|k| self.indices.get(k)).copied().unwrap_or(0)
    }
}

/// A span of capture times with another one in it; they are written so that the order of the text is that of time.
fn widened(span: Option<(String, String)>, time: Option<&String>) -> Option<(String, String)> {
    match (span, time) {
        (Some((first, last)), Some(t)) => Some((first.min(t.clone()), last.max(t.clone()))),
        (None, Some(t)) => Some((t.clone(), t.clone())),
        (span, None) => span,
    }
}
