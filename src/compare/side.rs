//! One side of a comparison as it is told.
use super::given::Ambient;
use super::scatter::Scatter;
use crate::maths::margin::{Known, Margin};
use crate::maths::measured::Measured;
use crate::reading::LeftOut;

/// What a side's mean is made from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Origin {
    /// The mean of photos.
    Photos,
    /// The level that a run over time settled at.
    Settled {
        /// How many readings it rests on.
        readings: usize,
    },
}

/// A side's mean above its ambient temperature.
#[derive(Clone, Debug, PartialEq)]
pub struct Rise {
    /// The difference with its terms; without the scatter.
    pub measured: Measured,
    /// Its 95 % band.
    pub band: (f64, f64),
}

/// One side.
#[derive(Clone, Debug, PartialEq)]
pub struct Side {
    /// Mean of the readings, term by term (unit of the comparison); without the scatter.
    pub mean: Measured,
    /// 95 % band of the mean on its own: what both sides share does not cancel here. Open (infinite) towards an end of the scale that
    /// photos of the side stand beyond: the mean of the others is a limit then.
    pub band: (f64, f64),
    /// Standard uncertainty of the mean: its terms and the scatter.
    pub sigma: f64,
    /// Effective degrees of freedom (infinite when no scatter enters).
    pub dof: f64,
    /// Places in the list given of the photos that count; none for a settled level.
    pub read: Vec<usize>,
    /// The photos that do not count.
    pub left_out: Vec<LeftOut>,
    /// What the mean is made from.
    pub origin: Origin,
    /// From where to where the flat zones of its readings run, when some stand in one: the mean is then one value of many.
    pub flat: Option<(f64, f64)>,
    /// How far the band reaches below and above the mean beyond sigma: any value there fits as well.
    pub over: (f64, f64),
    /// Scatter of the readings; `None` for a single photo.
    pub scatter: Option<Scatter>,
    /// Place in the list given of the photo nearest to the mean.
    pub nearest: usize,
    /// The ambient temperature, unit of the comparison, when it was given.
    pub ambient: Option<Ambient>,
    /// The load, when it was given.
    pub load: Option<String>,
    /// The mean above the ambient temperature.
    pub rise: Option<Rise>,
    /// How far the mean lies from the limit, when one was given.
    pub margin: Option<Margin>,
}

impl Side {
    /// What is known of the mean, for a judgement against a limit. Where some readings stand in a flat zone or beyond an end of the scale,
    /// the mean may lie anywhere from as far below as above its value that these allow on average.
    pub fn known(&self) -> Known {
        let value = self.mean.value();
        let interval = (value - self.over.0, value + self.over.1);
        let some = self.flat.is_some() || self.is_limit();
        Known { value, band: self.band, sigma: self.sigma, dof: self.dof, flat: some.then_some(interval) }
    }
    /// Whether only a limit of the side is known, since photos of it stand beyond an end of the scale.
    pub fn is_limit(&self) -> bool {
        self.over.0.is_infinite() || self.over.1.is_infinite()
    }
}
