//! One course of a temperature through the readings: an approach of one or two time constants, or a slow rest about a level.
use super::fitted::Fitted;
use super::series::Series;
use nalgebra::{Matrix3, Vector3};

/// Steps of Gauss–Newton along ln tau: most, and the share of its sigma that ends them.
const STEPS: (usize, f64) = (12, 0.02);

/// The readings as a course sees them.
#[derive(Clone, Debug)]
pub(super) struct Data {
    times: Vec<f64>,
    y: Vec<f64>,
    weights: Vec<f64>,
    span: f64,
}

/// A course at its best.
#[derive(Clone, Copy, Debug)]
pub(super) struct Course {
    /// Its (first) time constant.
    pub tau: f64,
    /// The slow one of a family: its second, or that of a rest; 0 where there is none.
    pub slow: f64,
    second: Option<Second>,
    amplitude: f64,
    /// Σ w r².
    pub rss: f64,
    /// The level it ends at, and its standard uncertainty for weights that are 1/variance.
    pub level: f64,
    pub sigma: f64,
    /// What is left from the last reading on.
    pub left: f64,
    /// How much of that comes within as long again as was watched.
    pub next: f64,
    /// ln of the volume that the readings leave to the temperatures at the first and the last reading and to ln tau.
    pub volume: f64,
}

/// A second approach: its time constant, and its share of the rise.
pub(super) type Second = (f64, f64);

impl Data {
    pub fn of(fit: &Fitted, series: &Series) -> Self {
        Self {
            times: series.points.iter().map(|p| p.seconds).collect(),
            y: series.points.iter().map(|p| p.value.value()).collect(),
            weights: fit.weights.clone(),
            span: series.span(),
        }
    }
    /// An approach from `tau` downhill to its best within `range`; `None` where it ends outside or the readings leave a parameter open.
    pub fn approach(&self, tau: f64, second: Option<Second>, range: (f64, f64)) -> Option<Course> {
        let (mut tau, mut here) = (tau.clamp(range.0, range.1), None);
        for _ in 0..STEPS.0 {
            let at = match here {
                Some(at) => at,
                None => self.at(tau, second)?,
            };
            let mut step = at.step;
            here = Some(at);
            if step.abs() < STEPS.1 * at.sigma_step {
                break;
            }
            let better = (0..6).find_map(|_| {
                let trial = (tau * step.clamp(-1.0, 1.0).exp()).clamp(range.0, range.1);
                step *= 0.5;
                self.at(trial, second).filter(|new| new.rss < at.rss).map(|new| (trial, new))
            });
            let Some((trial, new)) = better else { break };
            (tau, here) = (trial, Some(new));
        }
        let at = here?;
        let inside = tau > range.0 * 1.001 && tau < range.1 / 1.001;
        let still = |t: f64| shape(t, tau, second).0;
        let (now, later) = (still(self.span), still(2.0 * self.span));
        let course = Course {
            tau,
            slow: second.map_or(0.0, |(slow, _)| slow),
            second,
            amplitude: at.amplitude,
            rss: at.rss,
            level: at.level,
            sigma: at.sigma,
            left: -at.amplitude * now,
            next: -at.amplitude * (now - later),
            // in place of level and amplitude the temperatures at both ends: what was read, whatever the time constant
            volume: at.volume + (1.0 - now).ln(),
        };
        (inside && course.volume.is_finite() && course.level.is_finite()).then_some(course)
    }
    /// A level of which `left` is still to come with the time constant `slow`.
    pub fn resting(&self, left: f64, slow: f64) -> Option<Course> {
        let amplitude = -left * (self.span / slow).exp();
        let moved = |t: f64| amplitude * shape(t, slow, None).0;
        let sum: f64 = self.weights.iter().sum();
        let rest: Vec<f64> = self.times.iter().zip(&self.y).map(|(t, y)| y - moved(*t)).collect();
        let level = rest.iter().zip(&self.weights).map(|(r, w)| r * w).sum::<f64>() / sum;
        let rss = rest.iter().zip(&self.weights).map(|(r, w)| w * (r - level).powi(2)).sum();
        let (sigma, next) = (sum.sqrt().recip(), left * (1.0 - (-self.span / slow).exp()));
        let course = Course { tau: slow, slow, second: None, amplitude, rss, level, sigma, left, next, volume: 0.0 };
        (sum > 0.0 && f64::is_finite(rss)).then_some(course)
    }
    /// Reading minus course.
    pub fn residuals(&self, c: &Course) -> Vec<f64> {
        self.times.iter().zip(&self.y).map(|(t, y)| y - c.level - c.amplitude * shape(*t, c.tau, c.second).0).collect()
    }
    /// The best level and amplitude for a time constant, and where the next one would be tried.
    fn at(&self, tau: f64, second: Option<Second>) -> Option<At> {
        let shapes: Vec<(f64, f64)> = self.times.iter().map(|t| shape(*t, tau, second)).collect();
        let rows = || shapes.iter().zip(&self.y).zip(&self.weights);
        let sum = |f: &dyn Fn(f64, f64) -> f64| rows().map(|(((b, _), y), w)| w * f(*b, *y)).sum::<f64>();
        let all = sum(&|_, _| 1.0);
        let (b0, y0) = (sum(&|b, _| b) / all, sum(&|_, y| y) / all);
        let amplitude = sum(&|b, y| (b - b0) * (y - y0)) / sum(&|b, _| (b - b0).powi(2));
        let level = y0 - amplitude * b0;
        let (mut normal, mut gradient, mut rss) = (Matrix3::zeros(), Vector3::zeros(), 0.0);
        for (((b, d), y), w) in rows() {
            let (row, r) = (Vector3::new(1.0, *b, amplitude * d), y - level - amplitude * b);
            normal += row * row.transpose() * *w;
            gradient += row * (r * w);
            rss += w * r * r;
        }
        let (covariance, determinant) = (normal.try_inverse()?, normal.determinant());
        let step = (covariance * gradient)[2];
        let (sigma, sigma_step) = (covariance[(0, 0)].sqrt(), covariance[(2, 2)].sqrt());
        let good = determinant > 0.0 && [sigma, sigma_step, step, rss].iter().all(|v| v.is_finite());
        good.then_some(At { level, amplitude, rss, sigma, step, sigma_step, volume: -0.5 * determinant.ln() })
    }
}

/// A time constant tried.
#[derive(Clone, Copy, Debug)]
struct At {
    level: f64,
    amplitude: f64,
    rss: f64,
    sigma: f64,
    step: f64,
    sigma_step: f64,
    volume: f64,
}

/// What is left of a rise of 1 after `t`, and its derivative by ln tau.
fn shape(t: f64, tau: f64, second: Option<Second>) -> (f64, f64) {
    let first = (-t / tau).exp();
    let (slow, share) = second.map_or((0.0, 0.0), |(slow, share)| ((-t / slow).exp(), share));
    ((1.0 - share) * first + share * slow, (1.0 - share) * first * t / tau)
}
