//! The scale: monotone through the marks' angles.
//!
//! With eight marks and more the curve is monotone cubic (Fritsch & Carlson 1980). With fewer the marks do not show a curve, and
//! straight lines between them are taken; the difference to the cubic is then carried as a term of the dial (`scale/shape`), since
//! nobody knows how the maker drew the scale between two marks.
use crate::base::angle::wrap;
use crate::base::measured::Measured;
use crate::base::monotone::{Monotone, PiecewiseLinear};
use crate::dial::{Dial, Mark};

/// Fewer marks than this show no curve.
const DENSE: usize = 8;

/// Where an angle stands on the scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    /// On the scale.
    On,
    /// Before the first mark.
    Below,
    /// After the last mark.
    Above,
}

/// A dial's scale.
#[derive(Clone, Debug)]
pub struct Scale {
    id: String,
    marks: Vec<Mark>,
    middle: f64,
    sign: f64,
}

impl Scale {
    /// The scale of a dial. A dial that passed its file's checks has at least two marks with monotone angles.
    pub fn new(dial: &Dial) -> Self {
        let marks = dial.marks.clone();
        let (a, b) = (marks.first().map_or(0.0, |m| m.angle), marks.last().map_or(0.0, |m| m.angle));
        Self { id: dial.id.clone(), marks, middle: 0.5 * (a + b), sign: if b >= a { 1.0 } else { -1.0 } }
    }
    /// Angle on the scale's own run (rising with the value), degrees.
    fn unroll(&self, angle: f64) -> f64 {
        self.sign * (self.middle + wrap(angle - self.middle))
    }
    fn knots(&self, shift: impl Fn(&Mark) -> f64) -> (Vec<f64>, Vec<f64>) {
        self.marks.iter().map(|m| (self.sign * (m.angle + shift(m)), m.value)).unzip()
    }
    fn value_with(&self, x: f64, shift: impl Fn(&Mark) -> f64) -> f64 {
        let (xs, ys) = self.knots(shift);
        let smooth = xs.len() >= DENSE;
        let line = PiecewiseLinear::new(&xs, &ys).map(|c| c.value(x)).unwrap_or(f64::NAN);
        if smooth { Monotone::new(&xs, &ys).map_or(line, |c| c.value(x)) } else { line }
    }
    /// Value at an angle (degrees clockwise from up), extended straight beyond the ends.
    pub fn value(&self, angle: f64) -> f64 {
        self.value_with(self.unroll(angle), |_| 0.0)
    }
    /// Change of value per degree of needle, clockwise.
    pub fn slope(&self, angle: f64) -> f64 {
        let x = self.unroll(angle);
        self.sign * (self.value_with(x + 0.05, |_| 0.0) - self.value_with(x - 0.05, |_| 0.0)) / 0.1
    }
    /// Where the angle stands, with `margin` degrees beyond the ends still counted as on the scale.
    pub fn place(&self, angle: f64, margin: f64) -> Place {
        let x = self.unroll(angle);
        let (xs, _) = self.knots(|_| 0.0);
        match (xs.first(), xs.last()) {
            (Some(a), _) if x < a - margin => Place::Below,
            (_, Some(b)) if x > b + margin => Place::Above,
            _ => Place::On,
        }
    }
    /// Degrees by which the angle is inside the nearer end (negative outside).
    pub fn inside(&self, angle: f64) -> f64 {
        let x = self.unroll(angle);
        let (xs, _) = self.knots(|_| 0.0);
        match (xs.first(), xs.last()) {
            (Some(a), Some(b)) => (x - a).min(b - x),
            _ => f64::NAN,
        }
    }
    /// The temperature of a measured angle. Terms of the angle pass through the slope; each source of the marks is moved by
    /// one sigma both ways and the change of value taken, so that sources which the angle shares with the marks partly cancel.
    /// Counts: needle, registration, marks, the dial's plane, the shape between sparse marks. Does not count: the gauge itself.
    pub fn read(&self, angle: &Measured) -> Measured {
        let x = self.unroll(angle.value());
        let slope = self.slope(angle.value());
        let mut out = Measured::exact(self.value_with(x, |_| 0.0));
        for (id, t) in angle.terms() {
            out = out.with_term(id.clone(), slope * t);
        }
        let sources: std::collections::BTreeSet<&String> = self.marks.iter().flat_map(|m| m.terms.keys()).collect();
        for s in sources {
            let move_by = |sign: f64| self.value_with(x, |m| sign * m.terms.get(s).copied().unwrap_or(0.0));
            let change = 0.5 * (move_by(1.0) - move_by(-1.0));
            if change != 0.0 && change.is_finite() {
                out = out.with_term(format!("dial:{}/{s}", self.id), change);
            }
        }
        if self.marks.len() < DENSE && self.marks.len() > 2 {
            let (xs, ys) = self.knots(|_| 0.0);
            if let (Ok(line), Ok(cubic)) = (PiecewiseLinear::new(&xs, &ys), Monotone::new(&xs, &ys)) {
                // the truth is taken to lie between the two or as far beyond: rectangular about the line, half width the difference
                out = out.with_term(format!("dial:{}/scale/shape", self.id), (cubic.value(x) - line.value(x)) / 3f64.sqrt());
            }
        }
        out
    }
}
