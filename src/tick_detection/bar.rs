//! A short straight bar in a photo, which may be a printed tick, and a dot, which may stand between such.
use nalgebra::Vector2;

/// A bar, photo px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
    /// Its middle.
    pub centre: Vector2<f64>,
    /// Unit vector along it; which end is which is open.
    pub along: Vector2<f64>,
    /// Length.
    pub length: f64,
    /// Width.
    pub width: f64,
    /// Levels over which it stands out.
    pub contrast: f64,
    /// Whether it is brighter than what lies round it.
    pub bright: bool,
}

impl Bar {
    /// How clearly it stands out, levels times px.
    fn clearness(&self) -> f64 {
        self.contrast * (self.length * self.width).sqrt()
    }
    /// Unit vector along it, away from a place.
    pub fn outwards(&self, from: Vector2<f64>) -> Vector2<f64> {
        if self.along.dot(&(self.centre - from)) < 0.0 { -self.along } else { self.along }
    }
    /// Its end away from a place.
    pub fn outer_end(&self, from: Vector2<f64>) -> Vector2<f64> {
        self.centre + self.outwards(from) * (0.5 * self.length)
    }
    /// Standard uncertainty of its direction, radians: its ends known across to some 0.15 px, and a little for its print.
    pub fn direction_sigma(&self) -> f64 {
        (0.15 * 12f64.sqrt() / self.length).hypot(0.012)
    }
}

/// Whether two sizes or contrasts are within a factor of each other.
pub fn within(v: f64, m: f64, factor: f64) -> bool {
    v < factor * m && m < factor * v
}

/// The bars of one polarity.
pub(super) fn of_polarity(bars: &[Bar], bright: bool) -> Vec<Bar> {
    bars.iter().filter(|b| b.bright == bright).copied().collect()
}

/// The bars of one polarity, the clearest so many, the clearest first.
pub(super) fn clearest(bars: &[Bar], bright: bool, most: usize) -> Vec<Bar> {
    let mut own = of_polarity(bars, bright);
    own.sort_by(|a, b| b.clearness().total_cmp(&a.clearness()));
    own.truncate(most);
    own
}

/// A disc or a square, photo px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dot {
    /// Its middle.
    pub centre: Vector2<f64>,
    /// Diameter of the disc of its spread.
    pub diameter: f64,
    /// Levels over which it stands out.
    pub contrast: f64,
    /// Whether it is brighter than what lies round it.
    pub bright: bool,
}
