//! One side of a comparison: which photos count, their mean, their scatter, and which were left out and why.
use super::error::CompareError;
use super::scatter::Scatter;
use crate::base::measured::Measured;
use crate::base::units::Unit;
use crate::reading::{LeftOut, Reading, Record, Why};
use crate::scale::STICTION;
use crate::verdict::Flag;
use std::collections::BTreeSet;

/// A side of the comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// Before the change.
    Before,
    /// After the change.
    After,
}

impl Which {
    /// "before" or "after".
    pub fn word(self) -> &'static str {
        match self {
            Which::Before => "before",
            Which::After => "after",
        }
    }
    /// The other side.
    pub fn other(self) -> Self {
        match self {
            Which::Before => Which::After,
            Which::After => Which::Before,
        }
    }
}

/// One side.
#[derive(Clone, Debug, PartialEq)]
pub struct Side {
    /// Mean of the readings, term by term (unit of the comparison); without the scatter.
    pub mean: Measured,
    /// 95 % band of the mean on its own: what both sides share does not cancel here.
    pub band: (f64, f64),
    /// Places in the list given of the photos that count.
    pub read: Vec<usize>,
    /// The photos that do not count.
    pub left_out: Vec<LeftOut>,
    /// From where to where the flat zones of its readings run, when some stand in one: the mean is then one value of many.
    pub flat: Option<(f64, f64)>,
    /// Scatter of the readings; `None` for a single photo.
    pub scatter: Option<Scatter>,
    /// Place in the list given of the photo nearest to the mean.
    pub nearest: usize,
}

/// The readings of one side in one unit, before any statistics.
#[derive(Debug)]
pub(super) struct Readings {
    /// Temperatures, one a photo.
    pub values: Vec<Measured>,
    /// How far each band reaches below and above its value, same order.
    pub reach: Vec<(f64, f64)>,
    /// The interval of a reading in a flat zone, same order.
    pub flat: Vec<Option<(f64, f64)>>,
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
}

impl Readings {
    /// Sorts the records of one side into readings (converted to `unit`) and photos left out.
    pub fn of(records: &[Record], unit: Unit) -> Self {
        let mut all = Self {
            values: Vec::new(),
            reach: Vec::new(),
            flat: Vec::new(),
            indices: Vec::new(),
            ids: BTreeSet::new(),
            left_out: Vec::new(),
            at_end: false,
            converted: false,
        };
        for (index, record) in records.iter().enumerate() {
            match record.counted() {
                Err(why) => all.left_out.push(LeftOut { index, why }),
                Ok(_) if !all.ids.insert(record.photo_id.clone()) => all.left_out.push(LeftOut { index, why: Why::Repeated }),
                Ok(reading) => all.push(index, reading, unit),
            }
        }
        all
    }
    fn push(&mut self, index: usize, reading: &Reading, unit: Unit) {
        let scale = |x: f64| reading.unit.convert_difference(x, unit);
        let value = reading.temperature.value();
        self.values.push(reading.temperature_in(unit));
        self.reach.push((scale(value - reading.band.0), scale(reading.band.1 - value)));
        self.flat.push(reading.flat.map(|(low, high)| (reading.unit.convert(low, unit), reading.unit.convert(high, unit))));
        self.indices.push(index);
        self.at_end |= reading.flags.contains(&Flag::AtScaleEnd);
        self.converted |= reading.unit != unit;
    }
    /// The mean, or the error that this side holds no reading. A sticking needle becomes a source of this side: all its photos
    /// share it, the other side does not.
    pub fn mean(&self, which: Which, given: usize) -> Result<Measured, CompareError> {
        let nothing = || CompareError::NothingRead { which, given, left_out: self.left_out.clone() };
        let mean = Measured::mean(&self.values).ok_or_else(nothing)?;
        let own = |k: &String| if k == STICTION { format!("{}/{STICTION}", which.word()) } else { k.clone() };
        Ok(Measured::new(mean.value(), mean.terms().iter().map(|(k, t)| (own(k), *t)).collect()))
    }
    /// From where to where the flat zones of the side's readings run; `None` when it has none.
    pub fn flat(&self) -> Option<(f64, f64)> {
        self.flat.iter().flatten().copied().reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    }
    /// The scatter, for two photos or more.
    pub fn scatter(&self) -> Option<Scatter> {
        let values: Vec<f64> = self.values.iter().map(Measured::value).collect();
        let own: Vec<f64> = self.values.iter().map(|m| m.variance_of(|k| k.starts_with("photo:"))).collect();
        Scatter::of(&values, &own)
    }
    /// Place in the list given of the photo nearest to `mean`.
    pub fn nearest(&self, mean: f64) -> usize {
        let far = |k: &usize| self.values.get(*k).map_or(f64::INFINITY, |v| (v.value() - mean).abs());
        let best = (0..self.values.len()).min_by(|a, b| far(a).total_cmp(&far(b)));
        best.and_then(|k| self.indices.get(k)).copied().unwrap_or(0)
    }
}

/// "2 not read, 1 below the scale": the photos left out, counted by reason.
pub(super) fn count_reasons(left_out: &[LeftOut]) -> String {
    let count = |f: fn(&Why) -> bool| left_out.iter().filter(|l| f(&l.why)).count();
    let kinds = [
        (count(|w| matches!(w, Why::Refused(..))), "not read"),
        (count(|w| *w == Why::BelowScale), "below the scale"),
        (count(|w| *w == Why::AboveScale), "above the scale"),
        (count(|w| *w == Why::Repeated), "given twice"),
        (count(|w| *w == Why::NotFinite), "without a finite number"),
    ];
    let parts: Vec<String> = kinds.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
    parts.join(", ")
}
