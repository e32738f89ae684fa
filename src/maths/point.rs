//! Points of the two planes. Newtypes, so that a photo point is never used as a dial point.
use nalgebra::Vector2;

/// A point in the upright photo: pixels, (0,0) is the centre of the top-left pixel, x right, y down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PhotoPoint {
    /// Pixels to the right.
    pub x: f64,
    /// Pixels down.
    pub y: f64,
}

/// A point of the dial plane: origin at the pivot, unit = radius of the marks' circle, x right, y up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DialPoint {
    /// Radii to the right.
    pub x: f64,
    /// Radii up.
    pub y: f64,
}

impl PhotoPoint {
    /// A point at (x, y).
    pub fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }
    /// As a vector.
    pub fn vector(self) -> Vector2<f64> {
        Vector2::new(self.x, self.y)
    }
    /// Distance in pixels.
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }
}

impl DialPoint {
    /// A point at (x, y).
    pub fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }
    /// As a vector.
    pub fn vector(self) -> Vector2<f64> {
        Vector2::new(self.x, self.y)
    }
    /// Distance from the pivot in radii of the marks' circle.
    pub fn radius(self) -> f64 {
        self.x.hypot(self.y)
    }
}
