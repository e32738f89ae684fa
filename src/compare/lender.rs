//! The scatter that stands for readings which show none: one photo a side.
use crate::maths::between::{Part, Sample};
use crate::maths::units::Unit;

/// A scatter that may be lent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lender {
    /// The readings that show it.
    Readings(Sample),
    /// The standard deviation between photos of a run over time, with its degrees of freedom.
    Run(f64, f64),
    /// One that was told, taken as known.
    Told(f64),
}

/// A scatter known from elsewhere than the two sides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elsewhere {
    /// The scatter.
    pub scatter: Lender,
    /// Its unit.
    pub unit: Unit,
}

impl Lender {
    /// In another unit.
    pub(super) fn to(self, from: Unit, to: Unit) -> Self {
        let by = from.convert_difference(1.0, to);
        match self {
            Lender::Readings(s) => Lender::Readings(Sample { seen: s.seen * by * by, explained: s.explained * by * by, ..s }),
            Lender::Run(sd, dof) => Lender::Run(sd * by, dof),
            Lender::Told(sd) => Lender::Told(sd * by),
        }
    }
    /// What it contributes where the variance between photos counts `shares` times; `own`: the variance that the photos explain.
    pub(super) fn part(&self, own: f64, shares: f64) -> Part {
        match self {
            Lender::Readings(sample) => sample.lent(own, shares),
            Lender::Run(sd, dof) => Part::apart(sd * shares.sqrt(), *dof),
            Lender::Told(sd) => Part::apart(sd * shares.sqrt(), f64::INFINITY),
        }
    }
    /// The standard deviation between photos, as it is told.
    pub fn sd(&self) -> f64 {
        match self {
            // as the photos lie apart; those that agree to the last digit lie as far apart as each of them explains
            Lender::Readings(sample) if sample.seen > 0.0 => sample.seen.sqrt(),
            Lender::Readings(sample) => sample.explained.sqrt(),
            Lender::Run(sd, _) | Lender::Told(sd) => *sd,
        }
    }
}

impl Elsewhere {
    /// A standard deviation that was told.
    pub fn told(sd: f64, unit: Unit) -> Self {
        Self { scatter: Lender::Told(sd), unit }
    }
}
