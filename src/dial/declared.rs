//! What the owner declares of the gauge itself: what no photo of it can show. Part of the dial file and of its identity.
/// A limit that an error stays within, either way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// Per cent of the scale's span (last mark's value minus the first's).
    PercentOfSpan(f64),
    /// Degrees of needle.
    Degrees(f64),
    /// A difference of temperature in the dial's unit.
    Value(f64),
}

impl Amount {
    /// The limit as a difference of temperature, dial unit: `span` of the scale in that unit, `slope` of the scale (unit per
    /// degree of needle) at the place in question.
    pub fn as_value(self, span: f64, slope: f64) -> f64 {
        match self {
            Amount::PercentOfSpan(p) => p / 100.0 * span,
            Amount::Degrees(d) => d * slope.abs(),
            Amount::Value(v) => v,
        }
    }
    /// The number alone.
    pub fn number(self) -> f64 {
        match self {
            Amount::PercentOfSpan(v) | Amount::Degrees(v) | Amount::Value(v) => v,
        }
    }
}

/// What is declared; empty when nothing is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Declared {
    /// Limits of error of the gauge: it shows the temperature to within ± this.
    pub gauge_accuracy: Option<Amount>,
    /// How far from its proper place the needle may stick, either way.
    pub stiction: Option<Amount>,
    /// Flat zones: from which to which value (dial unit) the needle stands still.
    pub flats: Vec<(f64, f64)>,
}

impl Declared {
    /// Whether nothing is declared.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}
