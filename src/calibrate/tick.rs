//! A printed mark of the scale: a stroke, a wedge, a dot.
use nalgebra::Vector2;

/// A printed tick.
#[derive(Clone, Debug)]
pub struct Tick {
    /// Two points of its centre line in photo px, the inner first.
    pub line: [Vector2<f64>; 2],
    /// Standard uncertainty of the line across itself at its middle, px.
    pub sigma: f64,
    /// Standard uncertainty of the line's direction, radians.
    pub sigma_angle: f64,
    /// Half width, px.
    pub half_width: f64,
    /// Outer end on the centre line, photo px.
    pub outer: Vector2<f64>,
    /// Inner end on the centre line, photo px.
    pub inner: Vector2<f64>,
    /// Radius of the outer and inner end in the frame it was found in.
    pub radii: [f64; 2],
    /// Direction in the frame it was found in, degrees clockwise from up.
    pub angle: f64,
    /// Standard uncertainty of its two ends along it, px.
    pub sigma_end: f64,
}

/// Where a mark is: its direction in the dial's frame, degrees clockwise from up, and its ends, photo px.
#[derive(Clone, Copy, Debug)]
pub struct TickEnds {
    /// Direction.
    pub angle: f64,
    /// Outer end.
    pub outer: Vector2<f64>,
    /// Inner end.
    pub inner: Vector2<f64>,
}

/// Standard uncertainty of a tick's end in the reference photo, px (print, blur).
pub const TICK_END: f64 = 0.2;
/// Standard uncertainty of the direction of a mark that has none, radians.
pub const NO_DIRECTION: f64 = 1.0;

impl Tick {
    /// Where it is.
    pub fn ends(&self) -> TickEnds {
        TickEnds { angle: self.angle, outer: self.outer, inner: self.inner }
    }
    /// Its centre line as an observation: two points, and the standard uncertainty of where it passes the pivot, px.
    pub fn observed_line(&self, pivot: Vector2<f64>) -> (Vector2<f64>, Vector2<f64>, f64) {
        let far = (0.5 * (self.line[0] + self.line[1]) - pivot).norm();
        (self.line[0], self.line[1], self.sigma.hypot(self.sigma_angle * far))
    }
    /// Whether it has no direction of its own.
    pub fn is_dot(&self) -> bool {
        self.sigma_angle >= NO_DIRECTION
    }
}
