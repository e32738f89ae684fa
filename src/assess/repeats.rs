//! Repeated readings: how far they lie apart, against what each explains.
use crate::maths::range::range;
use crate::maths::source::Source;
use crate::maths::student::coverage_factor_95;
use crate::reading::{Outcome, Reading, Record};

/// The readings of photos said to be of one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeats {
    /// Photos that gave a number.
    pub count: usize,
    /// Their mean, dial unit.
    pub mean: f64,
    /// Lowest and highest.
    pub range: (f64, f64),
    /// Standard deviation (n - 1 in the denominator); `None` for one.
    pub sd: Option<f64>,
    /// What the photos' own terms let expect of it: root of the mean of their variances. A needle that sticks stays out: it moves all
    /// readings of one temperature alike.
    pub expected: f64,
}

/// Wander over expectation from which it is no chance: in one set of ten photos of a hundred, or less often, by chi-square with
/// nine degrees of freedom (21.67 / 9, NIST/SEMATECH e-Handbook, table 1.3.6.7.4, from memory); fewer photos wander further.
const BEYOND: f64 = 2.41;

impl Repeats {
    /// From the records; `None` when none gave a number.
    pub(super) fn of(records: &[Record]) -> Option<Self> {
        let read: Vec<&Reading> = records
            .iter()
            .filter_map(|r| match &r.outcome {
                Outcome::Reading(r) if r.temperature.interval().is_none() => Some(r),
                _ => None,
            })
            .collect();
        let values: Vec<f64> = read.iter().map(|r| r.temperature.value()).collect();
        let n = values.len() as f64;
        if values.is_empty() {
            return None;
        }
        let mean = values.iter().sum::<f64>() / n;
        let square: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
        let variance: f64 = read.iter().map(|r| r.temperature.measured().variance_of(Source::is_own)).sum::<f64>() / n;
        Some(Self {
            count: values.len(),
            mean,
            range: range(values.iter().copied()),
            sd: (values.len() > 1).then(|| (square / (n - 1.0)).sqrt()),
            expected: variance.sqrt(),
        })
    }
    /// Whether they lie further apart than each explains, beyond chance.
    pub fn wander(&self) -> bool {
        let few = (coverage_factor_95(self.count as f64 - 1.0) / coverage_factor_95(9.0)).max(1.0);
        self.sd.is_some_and(|sd| sd * sd > BEYOND * few * few * self.expected * self.expected)
    }
}
