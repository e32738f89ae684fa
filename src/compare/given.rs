//! What a comparison is given: photos or a settled level a side, and the conditions it was taken in.
use crate::maths::estimate::Estimate;
use crate::maths::units::Unit;
use crate::reading::Record;

/// One side as given.
#[derive(Clone, Copy, Debug)]
pub enum Given<'a> {
    /// Records of photos, taken when the temperature had settled.
    Photos(&'a [Record]),
    /// The level that a run over time settled at.
    Level(&'a SettledLevel),
}

/// The level of a run over time, as plain data (what `settle --json` writes).
#[derive(Clone, Debug, PartialEq)]
pub struct SettledLevel {
    /// Unit of the numbers.
    pub unit: Unit,
    /// The level with its terms; those of the photos are in it for their identities only, `scatter` stands in their place.
    pub level: Estimate,
    /// Standard uncertainty from the scatter of the readings.
    pub scatter: f64,
    /// Its degrees of freedom.
    pub scatter_dof: f64,
    /// One sigma of the wander from photo to photo beyond what each explains: lent to a side with one photo.
    pub wander: f64,
    /// Its degrees of freedom.
    pub wander_dof: f64,
    /// How many readings it rests on.
    pub readings: usize,
    /// Whether more than a degree Celsius of the approach may be left.
    pub moving: bool,
    /// Identity of the dial file.
    pub dial: String,
    /// Whether a reading stood on the last mark of the scale.
    pub at_scale_end: bool,
    /// First and last capture time of its readings, where they tell one.
    pub taken: Option<(String, String)>,
}

/// The temperature of the air round the vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ambient {
    /// The temperature.
    pub value: f64,
    /// Limits, either way: rectangular, sigma = half/√3 (JCGM 100:2008, 4.3.7).
    pub half: f64,
    /// Unit of both.
    pub unit: Unit,
    /// Whether the limits were assumed because none were given.
    pub assumed: bool,
}

impl Ambient {
    /// Limits that are taken where none are given, °C: an assumption, told as such. (Common practice: the outside thermometer of a
    /// vehicle is right to a degree or two.)
    pub const ASSUMED: f64 = 2.0;

    /// In another unit.
    pub fn to(self, unit: Unit) -> Self {
        Self { value: self.unit.convert(self.value, unit), half: self.unit.convert_difference(self.half, unit), unit, ..self }
    }
    /// Standard uncertainty.
    pub fn sigma(self) -> f64 {
        self.half / 3f64.sqrt()
    }
}

/// In what conditions a side was taken, as far as is known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Conditions {
    /// The ambient temperature.
    pub ambient: Option<Ambient>,
    /// The load in the user's words, best a number with its unit ("80 km/h").
    pub load: Option<String>,
    /// Whether the photos of the side were seen to move on (for a settled level: what the level itself says).
    pub moving: bool,
}

/// Between which values the settled temperature follows the ambient one, degree by degree.
///
/// 0: a thermostat holds the temperature whatever the weather. 1: the cooler is at its limit, so what it sheds depends on the distance
/// from the air alone, and a degree more outside is a degree more inside (common practice).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope {
    /// Least.
    pub low: f64,
    /// Most.
    pub high: f64,
}

impl Slope {
    /// Nothing known: anything from 0 to 1.
    pub const UNKNOWN: Slope = Slope { low: 0.0, high: 1.0 };
}
