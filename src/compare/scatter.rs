//! How much the readings of one side wander beyond what each photo explains.
use crate::maths::between::Sample;

/// The scatter of one side's readings (dial unit).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// Standard deviation of the readings (n - 1 in the denominator).
    pub sd: f64,
    /// What the photos' own terms let expect: root of the mean of their variances.
    pub expected: f64,
    /// The wander of the needle from photo to photo that is left: sqrt(sd² - expected²), 0 when there is none.
    pub extra: f64,
    /// Degrees of freedom of a reading's variance, the larger of sd² and expected² ([`Sample::dof`]).
    pub dof: f64,
}

impl Scatter {
    /// Of the readings of a side.
    pub fn of(sample: &Sample) -> Self {
        Self { sd: sample.seen.sqrt(), expected: sample.explained.sqrt(), extra: sample.between().sqrt(), dof: sample.dof() }
    }
}
