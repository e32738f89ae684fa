//! Area, place and spread of a set of pixels, and whether it is a filled bar or a dot.
use super::bar::{Bar, Dot};
use nalgebra::Vector2;
use std::f64::consts::PI;

/// Sums over the pixels of a set, about its first pixel, so that they stay exact.
#[derive(Clone, Copy, Debug)]
pub(super) struct Moments {
    origin: [f64; 2],
    /// Number of pixels.
    pub area: f64,
    x: f64,
    y: f64,
    xx: f64,
    yy: f64,
    xy: f64,
}

/// Length over width of the stubbiest bar.
const STUBBIEST: f64 = 1.45;
/// Area over length times width: 1 for a rectangle, less for letters and arcs, pi² / 9 or so for a lens.
const FILL: [f64; 2] = [0.84, 1.12];
/// Ratio of the two variances of a dot at most, and its area over that of the ellipse of its variances: 1 for a disc, 0.95 for a square.
const ROUND: f64 = 2.1;
const FULL: f64 = 0.92;
/// Widest dot, as a share of the longest bar.
const WIDEST: f64 = 0.3;

impl Moments {
    /// One pixel.
    pub fn of(x: usize, y: usize) -> Self {
        Self { origin: [x as f64, y as f64], area: 1.0, x: 0.0, y: 0.0, xx: 0.0, yy: 0.0, xy: 0.0 }
    }
    /// Takes another set in.
    pub fn add(&mut self, o: &Self) {
        let (u, v) = (o.origin[0] - self.origin[0], o.origin[1] - self.origin[1]);
        self.xx += o.xx + 2.0 * u * o.x + o.area * u * u;
        self.yy += o.yy + 2.0 * v * o.y + o.area * v * v;
        self.xy += o.xy + u * o.y + v * o.x + o.area * u * v;
        self.x += o.x + o.area * u;
        self.y += o.y + o.area * v;
        self.area += o.area;
    }
    /// Variances along x and y, with that of a pixel itself, and their covariance.
    fn covariance(&self) -> [f64; 3] {
        let (mx, my) = (self.x / self.area, self.y / self.area);
        [self.xx / self.area - mx * mx + 1.0 / 12.0, self.yy / self.area - my * my + 1.0 / 12.0, self.xy / self.area - mx * my]
    }
    /// Larger and smaller variance.
    pub fn variances(&self) -> [f64; 2] {
        let [a, b, c] = self.covariance();
        let (mean, turn) = (0.5 * (a + b), (0.5 * (a - b)).hypot(c));
        [mean + turn, (mean - turn).max(1.0 / 12.0)]
    }
    /// Direction of the larger variance, radians from the right.
    fn direction(&self) -> f64 {
        let [a, b, c] = self.covariance();
        0.5 * (2.0 * c).atan2(a - b)
    }
    /// Whether the set, which has these variances, fills a bar no longer than `longest`.
    pub fn is_bar(&self, [large, small]: [f64; 2], longest: f64) -> bool {
        let (length, width) = ((12.0 * large).sqrt(), (12.0 * small).sqrt());
        length <= longest && length >= STUBBIEST * width && (FILL[0]..FILL[1]).contains(&(self.area / (length * width)))
    }
    /// Whether the set, which has these variances, fills a disc or a square that is small where bars are no longer than `longest`.
    pub fn is_dot(&self, [large, small]: [f64; 2], longest: f64) -> bool {
        4.0 * large.sqrt() <= WIDEST * longest && large <= ROUND * small && self.area > FULL * 4.0 * PI * (large * small).sqrt()
    }
    /// The dot.
    pub fn dot(&self, contrast: f64, bright: bool) -> Dot {
        let [large, small] = self.variances();
        Dot { centre: self.centre(), diameter: 4.0 * (large * small).powf(0.25), contrast, bright }
    }
    fn centre(&self) -> Vector2<f64> {
        Vector2::new(self.origin[0] + self.x / self.area, self.origin[1] + self.y / self.area)
    }
    /// The bar.
    pub fn bar(&self, contrast: f64, bright: bool) -> Option<Bar> {
        let ([large, small], turn) = (self.variances(), self.direction());
        let bar = Bar {
            centre: self.centre(),
            along: Vector2::new(turn.cos(), turn.sin()),
            length: (12.0 * large).sqrt(),
            width: (12.0 * small).sqrt(),
            contrast,
            bright,
        };
        bar.length.is_finite().then_some(bar)
    }
}
