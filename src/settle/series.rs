//! Which photos count: readings with a time, in the order of their times.
use crate::diagnostics::Flag;
use crate::maths::measured::Measured;
use crate::maths::range::range;
use crate::maths::source::Source;
use crate::maths::units::Unit;
use crate::reading::{LeftOut, Reading, Record, Why, unit_of};
use std::collections::BTreeSet;

/// A reading with its time.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Its place in the list given.
    pub index: usize,
    /// Seconds from the first reading that counts.
    pub seconds: f64,
    /// The temperature with its terms.
    pub value: Measured,
    /// One sigma of the photo's own terms: what does not come from the dial or a sticking needle.
    pub own: f64,
    /// By how much the reading's band is wider than its terms explain (the longer side; 0 for a normal band).
    pub surplus: f64,
}

/// The readings of a run.
#[derive(Clone, Debug)]
pub(super) struct Series {
    pub unit: Unit,
    pub points: Vec<Point>,
    pub left_out: Vec<LeftOut>,
    /// Whether some reading stands on the last mark.
    pub at_end: bool,
    /// Photos beyond an end of the scale.
    pub beyond: Beyond,
    /// First and last capture time of the readings that tell one.
    pub taken: Option<(String, String)>,
}

/// Photos of a run that stand beyond an end of the scale: on which side of the readings they lie is known, how far is not.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Beyond {
    /// How many stand below the scale, and how many above.
    pub counts: (usize, usize),
    /// The same for the last half of the run by time; a photo without a time may be of it.
    pub late: (usize, usize),
}

impl Series {
    /// Sorts the records into points (by time) and photos left out. `times` in seconds from any common start, one a record.
    pub fn of(records: &[Record], times: &[Option<f64>]) -> Self {
        let mut all = Self {
            unit: unit_of(records).unwrap_or(Unit::C),
            points: Vec::new(),
            left_out: Vec::new(),
            at_end: false,
            beyond: Beyond::default(),
            taken: None,
        };
        let mut ids = BTreeSet::new();
        for (index, record) in records.iter().enumerate() {
            let time = times.get(index).copied().flatten().filter(|t| t.is_finite());
            match reading(record, time) {
                Ok(_) if !ids.insert(&record.photo_id) => all.left_out.push(LeftOut { index, why: Why::Repeated }),
                Ok((reading, seconds)) => {
                    all.at_end |= reading.flags.contains(&Flag::AtScaleEnd);
                    all.points.push(point(index, seconds, reading, all.unit));
                }
                Err(why) => all.left_out.push(LeftOut { index, why }),
            }
        }
        all.beyond = Beyond::of(&all, times);
        all.points.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
        // written so that the order of the text is that of time
        let mut taken: Vec<&String> = all.points.iter().filter_map(|p| records.get(p.index)?.taken_at.as_ref()).collect();
        taken.sort();
        all.taken = taken.first().zip(taken.last()).map(|(a, b)| (a.to_string(), b.to_string()));
        let start = all.points.first().map_or(0.0, |p| p.seconds);
        all.points.iter_mut().for_each(|p| p.seconds -= start);
        all
    }
    /// Seconds from the first to the last reading.
    pub fn span(&self) -> f64 {
        self.points.last().map_or(0.0, |p| p.seconds)
    }
    /// How many different times there are.
    pub fn moments(&self) -> usize {
        usize::from(!self.points.is_empty()) + self.points.windows(2).filter(|w| w[1].seconds > w[0].seconds).count()
    }
}

impl Beyond {
    /// Before the times of the points are counted from the first.
    fn of(series: &Series, times: &[Option<f64>]) -> Self {
        let time = |l: &LeftOut| times.get(l.index).copied().flatten().filter(|t| t.is_finite());
        let off: Vec<(bool, Option<f64>)> =
            series.left_out.iter().filter(|l| l.why.is_beyond_scale()).map(|l| (l.why == Why::BelowScale, time(l))).collect();
        let run = series.points.iter().map(|p| p.seconds).chain(off.iter().filter_map(|(_, t)| *t));
        let (first, last) = range(run);
        let count = |below: bool, from: f64| off.iter().filter(|(b, t)| *b == below && t.is_none_or(|t| t >= from)).count();
        let all = |from: f64| (count(true, from), count(false, from));
        Self { counts: all(f64::NEG_INFINITY), late: all(0.5 * (first + last)) }
    }
}

fn reading(record: &Record, time: Option<f64>) -> Result<(&Reading, f64), Why> {
    let reading = record.counted()?;
    match time {
        _ if reading.temperature.interval().is_some() => Err(Why::FlatZone),
        None => Err(Why::NoTime),
        Some(t) => Ok((reading, t)),
    }
}

fn point(index: usize, seconds: f64, reading: &Reading, unit: Unit) -> Point {
    let value = reading.temperature.measured().converted(reading.unit, unit);
    let own = value.variance_of(Source::is_own).sqrt();
    let (below, above) = reading.surplus(unit);
    let surplus = below.max(above);
    Point { index, seconds, value, own, surplus }
}
