//! How well the scale is known between its marks, and what one more value in each step would give.
use super::curve::Scale;
use super::shape::Shape;
use super::temperature::COVERAGE;
use nalgebra::DMatrix;

/// The scale between its marks, dial unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BetweenMarks {
    /// Half of the 95 % band of the shape alone, where it is widest.
    pub half: f64,
    /// The value there.
    pub near: f64,
    /// The same half if the value in the middle of every step were known too.
    pub with_more: f64,
}

/// Half band of the shape between marks, share of the span, from which it is told: it then outweighs a usual reading tenfold.
const OPEN: f64 = 0.005;

impl BetweenMarks {
    /// Whether it is worth telling on a scale of this span.
    pub fn matters(&self, span: f64) -> bool {
        self.half > OPEN * span.abs()
    }
}

impl Scale {
    /// How well the scale's shape is known between its marks: counts the shape alone, not where the marks are. `None` where the marks make no
    /// curve, and on a scale with flat zones.
    pub fn between_marks(&self) -> Option<BetweenMarks> {
        let shape = self.shape().filter(|_| self.declared.flats.is_empty())?;
        let (at, sigma) = shape.widest();
        let near = shape.value(at);
        let (x, y) = self.run();
        let halfway = |v: &[f64]| -> Vec<f64> { v.windows(2).flat_map(|w| [w[0], 0.5 * (w[0] + w[1])]).chain(v.last().copied()).collect() };
        let xs = halfway(&x);
        let ys: Vec<f64> = xs.iter().enumerate().map(|(k, x)| if k % 2 == 0 { y[k / 2] } else { shape.value(*x) }).collect();
        let more = Shape::new(&xs, &ys, &DMatrix::zeros(xs.len(), xs.len()))?;
        Some(BetweenMarks { half: COVERAGE * sigma, near, with_more: COVERAGE * more.widest().1 })
    }
}
