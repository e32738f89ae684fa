//! One side of a comparison as it is told.
use super::given::Ambient;
use super::scatter::Scatter;
use crate::maths::estimate::Estimate;
use crate::maths::margin::Margin;
use crate::reading::LeftOut;

/// What a side's mean is made from.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Origin {
    /// The mean of photos.
    #[default]
    Photos,
    /// The level that a run over time settled at.
    Settled {
        /// How many readings it rests on.
        readings: usize,
    },
}

/// One side.
#[derive(Clone, Debug, PartialEq)]
pub struct Side {
    /// Mean of the readings, term by term (unit of the comparison), and what is known of it on its own: what both sides share does not cancel
    /// here. The band is open (infinite) towards an end of the scale that photos of the side stand beyond: the mean of the others is a
    /// limit then. Where some readings stand there or in a flat zone, the mean may lie anywhere from as far below as above its value that
    /// these allow on average: its interval.
    pub mean: Estimate,
    /// Places in the list given of the photos that count; none for a settled level.
    pub read: Vec<usize>,
    /// The photos that do not count.
    pub left_out: Vec<LeftOut>,
    /// What the mean is made from.
    pub origin: Origin,
    /// From where to where the flat zones of its readings run, when some stand in one: the mean is then one value of many.
    pub flat: Option<(f64, f64)>,
    /// Scatter of the readings; `None` for a single photo.
    pub scatter: Option<Scatter>,
    /// Place in the list given of the photo nearest to the mean.
    pub nearest: usize,
    /// The ambient temperature, unit of the comparison, when it was given.
    pub ambient: Option<Ambient>,
    /// The load, when it was given.
    pub load: Option<String>,
    /// The mean above the ambient temperature.
    pub rise: Option<Estimate>,
    /// How far the mean lies from the limit, when one was given.
    pub margin: Option<Margin>,
}

impl Side {
    /// Whether only a limit of the side is known, since photos of it stand beyond an end of the scale.
    pub fn is_limit(&self) -> bool {
        let (below, above) = self.mean.surplus();
        below.is_infinite() || above.is_infinite()
    }
}
