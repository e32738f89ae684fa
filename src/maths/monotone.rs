//! Curves through given points: a monotone cubic and a broken line.
//!
//! [`Monotone`] is the piecewise cubic Hermite interpolant whose slopes are chosen so that the curve never leaves the range
//! of the two neighbouring points: a rising table stays rising, a flat stretch stays flat. Fritsch & Carlson, SIAM J. Numer.
//! Anal. 17 (1980) 238; interior slopes by the weighted harmonic mean of Fritsch & Butland, SIAM J. Sci. Stat. Comput. 5
//! (1984) 300; end slopes by the shape-preserving three-point formula, as in SciPy's PchipInterpolator. Outside the points
//! both curves go on straight with the end slope: whether to believe that is the caller's business.
use thiserror::Error;

/// Why no curve can be drawn through the points.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum MonotoneError {
    /// Fewer than two points.
    #[error("a curve needs at least 2 points, got {0}")]
    TooFew(usize),
    /// The two lists differ in length.
    #[error("{x} positions but {y} values: each point needs both")]
    Lengths {
        /// Number of positions.
        x: usize,
        /// Number of values.
        y: usize,
    },
    /// A position, a value, or the slope between two neighbours is not a finite number.
    #[error("point {0} is not finite, or the step to it is too steep for a number")]
    NotFinite(usize),
    /// The positions do not rise strictly.
    #[error("position {index} ({here}) does not lie above the one before it ({before}): positions must rise strictly")]
    NotRising {
        /// Index of the point that does not rise.
        index: usize,
        /// Position before it.
        before: f64,
        /// Its position.
        here: f64,
    },
}

/// Points checked once: finite, at least two, `x` strictly rising. Unit of `x` and `y` as given by the caller.
#[derive(Clone, Debug, PartialEq)]
struct Knots {
    x: Vec<f64>,
    y: Vec<f64>,
}

/// Where a position falls: index of the piece, distance from its left end, length of the piece.
struct Place {
    left: usize,
    from_left: f64,
    length: f64,
}

impl Knots {
    fn new(x: &[f64], y: &[f64]) -> Result<Self, MonotoneError> {
        if x.len() != y.len() {
            return Err(MonotoneError::Lengths { x: x.len(), y: y.len() });
        }
        if x.len() < 2 {
            return Err(MonotoneError::TooFew(x.len()));
        }
        if let Some(i) = (0..x.len()).find(|&i| !(x[i].is_finite() && y[i].is_finite())) {
            return Err(MonotoneError::NotFinite(i));
        }
        for i in 1..x.len() {
            if x[i] <= x[i - 1] {
                return Err(MonotoneError::NotRising { index: i, before: x[i - 1], here: x[i] });
            }
            let (h, rise) = (x[i] - x[i - 1], y[i] - y[i - 1]);
            if !(h.is_finite() && (rise / h).is_finite()) {
                return Err(MonotoneError::NotFinite(i));
            }
        }
        Ok(Self { x: x.to_vec(), y: y.to_vec() })
    }
    fn steps(&self) -> Vec<f64> {
        self.x.windows(2).map(|w| w[1] - w[0]).collect()
    }
    fn secants(&self) -> Vec<f64> {
        self.y.windows(2).zip(self.steps()).map(|(w, h)| (w[1] - w[0]) / h).collect()
    }
    fn last(&self) -> usize {
        self.x.len() - 1
    }
    /// The piece that holds `at`; the first or last one outside.
    fn place(&self, at: f64) -> Place {
        let left = self.x.partition_point(|&k| k <= at).saturating_sub(1).min(self.last() - 1);
        Place { left, from_left: at - self.x[left], length: self.x[left + 1] - self.x[left] }
    }
    fn outside(&self, at: f64) -> Option<usize> {
        if at < self.x[0] {
            Some(0)
        } else if at > self.x[self.last()] {
            Some(self.last())
        } else {
            None
        }
    }
}

/// Monotone piecewise cubic through points. Rising (falling, level) data give a rising (falling, level) curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Monotone {
    knots: Knots,
    slopes: Vec<f64>,
}

impl Monotone {
    /// The curve through the points (`x[i]`, `y[i]`), `x` strictly rising. Two points give the straight line.
    ///
    /// # Errors
    /// [`MonotoneError`]: fewer than two points, lists of different length, something not finite, `x` not rising.
    pub fn new(x: &[f64], y: &[f64]) -> Result<Self, MonotoneError> {
        let knots = Knots::new(x, y)?;
        let (h, m) = (knots.steps(), knots.secants());
        let n = h.len();
        let slopes = match n {
            1 => vec![m[0], m[0]],
            _ => {
                let mut d = vec![end_slope(h[0], h[1], m[0], m[1])];
                d.extend((1..n).map(|i| inner_slope(h[i - 1], h[i], m[i - 1], m[i])));
                d.push(end_slope(h[n - 1], h[n - 2], m[n - 1], m[n - 2]));
                d
            }
        };
        Ok(Self { knots, slopes })
    }
    /// The value at `x` (unit of `y`); straight on with the end slope outside the points. NaN gives NaN.
    pub fn value(&self, x: f64) -> f64 {
        if let Some(end) = self.knots.outside(x) {
            return self.knots.y[end] + self.slopes[end] * (x - self.knots.x[end]);
        }
        let p = self.knots.place(x);
        let t = p.from_left / p.length;
        let (y0, y1) = (self.knots.y[p.left], self.knots.y[p.left + 1]);
        let (d0, d1) = (self.slopes[p.left] * p.length, self.slopes[p.left + 1] * p.length);
        // Hermite form as a correction of the left value: exact at both ends.
        let s = 1.0 - t;
        let value = y0 * (1.0 + 2.0 * t) * s * s + y1 * t * t * (3.0 - 2.0 * t) + d0 * t * s * s - d1 * t * t * s;
        // The curve lies between the two values; rounding must not carry it out.
        value.clamp(y0.min(y1), y0.max(y1))
    }
    /// The slope dy/dx at `x`; the end slope outside the points. NaN gives NaN.
    pub fn slope(&self, x: f64) -> f64 {
        if let Some(end) = self.knots.outside(x) {
            return self.slopes[end];
        }
        let p = self.knots.place(x);
        let t = p.from_left / p.length;
        let secant = (self.knots.y[p.left + 1] - self.knots.y[p.left]) / p.length;
        let (d0, d1) = (self.slopes[p.left], self.slopes[p.left + 1]);
        6.0 * t * (1.0 - t) * secant + d0 * (1.0 - t) * (1.0 - 3.0 * t) + d1 * t * (3.0 * t - 2.0)
    }
}

/// Slope at an inner point from the steps and secants to its left and right: zero at a turn or beside a level stretch,
/// else the weighted harmonic mean (Fritsch & Butland 1984).
fn inner_slope(h0: f64, h1: f64, m0: f64, m1: f64) -> f64 {
    if m0 == 0.0 || m1 == 0.0 || (m0 > 0.0) != (m1 > 0.0) {
        return 0.0;
    }
    let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
    (w0 + w1) / (w0 / m0 + w1 / m1)
}

/// Slope at an end point from the nearest and the next step and secant: three-point formula, cut back so that the curve
/// keeps its shape.
fn end_slope(h0: f64, h1: f64, m0: f64, m1: f64) -> f64 {
    let d = ((2.0 * h0 + h1) * m0 - h0 * m1) / (h0 + h1);
    if m0 == 0.0 || d == 0.0 || (d > 0.0) != (m0 > 0.0) || !d.is_finite() {
        0.0
    } else if (m0 > 0.0) != (m1 > 0.0) || m1 == 0.0 {
        if d.abs() > 3.0 * m0.abs() { 3.0 * m0 } else { d }
    } else {
        d
    }
}

/// Straight pieces through points; the same methods as [`Monotone`].
#[derive(Clone, Debug, PartialEq)]
pub struct PiecewiseLinear {
    knots: Knots,
}

impl PiecewiseLinear {
    /// The broken line through the points (`x[i]`, `y[i]`), `x` strictly rising.
    ///
    /// # Errors
    /// As [`Monotone::new`].
    pub fn new(x: &[f64], y: &[f64]) -> Result<Self, MonotoneError> {
        Ok(Self { knots: Knots::new(x, y)? })
    }
    /// The value at `x` (unit of `y`); straight on with the end piece outside the points. NaN gives NaN.
    pub fn value(&self, x: f64) -> f64 {
        let p = self.knots.place(x);
        let t = p.from_left / p.length;
        self.knots.y[p.left] * (1.0 - t) + self.knots.y[p.left + 1] * t
    }
    /// The slope dy/dx of the piece at `x`; at a point, that of the piece to its right. NaN gives NaN.
    pub fn slope(&self, x: f64) -> f64 {
        if x.is_nan() {
            return f64::NAN;
        }
        let p = self.knots.place(x);
        (self.knots.y[p.left + 1] - self.knots.y[p.left]) / p.length
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_points_are_a_straight_line_everywhere() {
        let curve = Monotone::new(&[10.0, 20.0], &[60.0, 120.0]).unwrap();
        let line = PiecewiseLinear::new(&[10.0, 20.0], &[60.0, 120.0]).unwrap();
        for x in [0.0, 10.0, 12.5, 20.0, 31.0] {
            assert!((curve.value(x) - 6.0 * x).abs() < 1e-12 && (line.value(x) - 6.0 * x).abs() < 1e-12);
            assert!((curve.slope(x) - 6.0).abs() < 1e-12 && (line.slope(x) - 6.0).abs() < 1e-12);
        }
    }

    #[test]
    fn bad_points_are_named() {
        assert_eq!(Monotone::new(&[1.0], &[1.0]), Err(MonotoneError::TooFew(1)));
        assert_eq!(Monotone::new(&[1.0, 2.0], &[1.0]), Err(MonotoneError::Lengths { x: 2, y: 1 }));
        assert_eq!(Monotone::new(&[1.0, 2.0], &[1.0, f64::NAN]), Err(MonotoneError::NotFinite(1)));
        assert_eq!(Monotone::new(&[2.0, 2.0], &[1.0, 2.0]), Err(MonotoneError::NotRising { index: 1, before: 2.0, here: 2.0 }));
        assert_eq!(Monotone::new(&[-1e308, 1e308], &[0.0, 1.0]), Err(MonotoneError::NotFinite(1)));
        assert_eq!(PiecewiseLinear::new(&[0.0, 1e-300], &[0.0, 1e300]), Err(MonotoneError::NotFinite(1)));
    }

    #[test]
    fn nan_stays_nan() {
        let c = Monotone::new(&[0.0, 1.0, 3.0], &[0.0, 1.0, 2.0]).unwrap();
        let l = PiecewiseLinear::new(&[0.0, 1.0, 3.0], &[0.0, 1.0, 2.0]).unwrap();
        assert!(c.value(f64::NAN).is_nan() && c.slope(f64::NAN).is_nan() && l.value(f64::NAN).is_nan() && l.slope(f64::NAN).is_nan());
    }
}
