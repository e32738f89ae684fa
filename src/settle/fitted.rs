//! A shape fitted with weights that follow from the fit: photos' own sigmas, wander, and bad readings held down.
use super::curve::{Curve, Shape};
use super::scatter::{Scatter, limit};
use super::series::Series;

/// A shape fitted to the readings.
#[derive(Clone, Debug)]
pub(super) struct Fitted {
    pub shape: Shape,
    pub curve: Curve,
    pub scatter: Scatter,
    /// Weight of each reading in the fit, 1/variance, a bad reading's lowered.
    pub weights: Vec<f64>,
    /// What Huber's loss left of each reading's weight, 1 for a good one.
    pub trust: Vec<f64>,
}

/// A fitted approach: what a picture draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Approach {
    /// Temperature that is approached.
    pub level: f64,
    /// Distance from it at the first reading, signed: below 0 when it warms up. 0 for a steady level.
    pub amplitude: f64,
    /// Time constant, seconds; infinite for a steady level.
    pub tau: f64,
    /// Slope of the level, a second.
    pub slope: f64,
}

impl Approach {
    /// The temperature so many seconds after the first reading.
    pub fn at(&self, seconds: f64) -> f64 {
        self.level + self.amplitude * (-seconds / self.tau).exp() + self.slope * seconds
    }
}

impl Fitted {
    /// Fits, sees how the readings scatter, weighs them anew, until it stands (Huber's proposal 2, Robust Statistics, 6.4, with
    /// the limit of [`super::scatter::LIMIT`] sigmas). The first fit takes all readings alike.
    pub fn of(shape: Shape, series: &Series) -> Option<Self> {
        let times: Vec<f64> = series.points.iter().map(|p| p.seconds).collect();
        let y: Vec<f64> = series.points.iter().map(|p| p.value.value()).collect();
        let own: Vec<f64> = series.points.iter().map(|p| p.own).collect();
        let most = limit(y.len(), shape.parameters());
        let mut weights = vec![1.0; y.len()];
        let mut curve = shape.fit(&times, &y, &weights, None)?;
        let mut trust = weights.clone();
        let mut scatter = Scatter::of(&curve.residuals, &own, shape.parameters());
        for round in 0..40 {
            let sigmas = scatter.sigmas(&own);
            trust = curve.residuals.iter().zip(&sigmas).map(|(r, s)| (most * s / r.abs()).min(1.0)).collect();
            let new: Vec<f64> = trust.iter().zip(&sigmas).map(|(u, s)| u / (s * s)).collect();
            let moved = weights.iter().zip(&new).any(|(a, b)| (a - b).abs() > 1e-6 * b);
            weights = new;
            // while bad readings still pull the curve the nearest minimum may not be the lowest
            let near = curve.tau.filter(|_| round > 3);
            curve = shape.fit(&times, &y, &weights, near)?;
            scatter = Scatter::of(&curve.residuals, &own, shape.parameters());
            if !moved {
                break;
            }
        }
        Some(Self { shape, curve, scatter, weights, trust })
    }
    /// The curve as a formula.
    pub fn approach(&self) -> Approach {
        let c = |k: usize| self.curve.linear.get(k).copied().unwrap_or(0.0);
        let tau = self.curve.tau.unwrap_or(f64::INFINITY);
        let (amplitude, slope) = match self.shape {
            Shape::Steady => (0.0, 0.0),
            Shape::Line => (0.0, c(1)),
            Shape::Approach => (c(1), 0.0),
            Shape::Drifting => (c(1), c(2)),
        };
        Approach { level: c(0), amplitude, tau, slope }
    }
    /// Standard uncertainty of parameter `k` from the scatter alone, neighbours' correlation counted.
    pub fn sigma(&self, k: usize) -> Option<f64> {
        let c = self.curve.covariance.as_ref()?;
        Some((c.get((k, k))?.max(0.0) * self.scatter.inflation).sqrt())
    }
    /// How parameter `k` answers to each reading: a row of (JᵀWJ)⁻¹JᵀW.
    pub fn response(&self, k: usize) -> Option<Vec<f64>> {
        let c = self.curve.covariance.as_ref()?;
        let rows = c.row(k) * self.curve.jacobian.transpose();
        Some(rows.iter().zip(&self.weights).map(|(r, w)| r * w).collect())
    }
    /// Σ w r² of another shape with the weights of this one.
    pub fn rss_of(&self, other: Shape, series: &Series) -> Option<f64> {
        let times: Vec<f64> = series.points.iter().map(|p| p.seconds).collect();
        let y: Vec<f64> = series.points.iter().map(|p| p.value.value()).collect();
        Some(other.fit(&times, &y, &self.weights, None)?.rss)
    }
}
