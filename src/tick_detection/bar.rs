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
    /// Standard uncertainty of its direction, radians: its ends known across to some 0.15 px, and a little for its print.
    pub fn direction_sigma(&self) -> f64 {
        (0.15 * 12f64.sqrt() / self.length).hypot(0.012)
    }
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
