//! How much further the ticks lie off the adjusted plane than their own noise lets expect.
//!
//! A tick's place comes from its edges with the noise of their pixels. A photograph adds what those pixels do not show: compression and
//! sharpening that neighbours share, a face that is not quite flat, a cover that bends. All of that is in the residuals of the ticks against
//! the plane, so that a variance is estimated from them that comes on top of each tick's own (a random effect; DerSimonian and Laird 1986,
//! here by the median, which a spoilt tick does not move). Where noise alone explains the residuals it is nothing.
use super::geometry::{DialPlane, Observations, off_line};
use super::tick::Tick;
use crate::maths::homography::Homography;
use crate::maths::point::{DialPoint, PhotoPoint};
use crate::maths::range::halved;
use crate::maths::robust::median;
use nalgebra::Vector2;

/// Standard deviation over the median size of a normal deviation.
const NORMAL: f64 = 1.4826;
/// Unknowns that the directions of ticks fix: the pivot.
const PIVOT: f64 = 2.0;
/// Unknowns that a circle's view fixes: two tilts, the pivot, and its radius.
const CIRCLE: f64 = 5.0;

/// Standard deviations on top of those of the ticks' own noise, px.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Excess {
    /// Of their centre lines, where they pass the pivot.
    pub lines: f64,
    /// Of their ends.
    pub ends: f64,
}

impl Excess {
    /// What the residuals of a plane show.
    pub fn of(plane: &DialPlane, obs: &Observations) -> Self {
        let Some(back) = plane.homography.inverse() else { return Self::default() };
        let lines: Vec<(f64, f64)> = obs.lines.iter().map(|(a, b, s)| (off_line(a, b, &plane.pose.origin), *s)).collect();
        let mut ends = off_circle(&obs.ends, &back, plane.pose.scale, Some(1.0));
        obs.rings.iter().for_each(|r| ends.extend(off_circle(r, &back, plane.pose.scale, None)));
        Self { lines: beyond(&lines, PIVOT), ends: beyond(&ends, CIRCLE + obs.rings.len() as f64) }
    }
    /// The observations with it.
    pub fn in_observations(self, obs: &mut Observations) {
        obs.lines.iter_mut().for_each(|l| l.2 = l.2.hypot(self.lines));
        obs.ends.iter_mut().for_each(|e| e.1 = e.1.hypot(self.ends));
        obs.rings.iter_mut().flatten().for_each(|e| e.1 = e.1.hypot(self.ends));
    }
    /// A tick's place with the same noise as its direction turned out to have.
    pub fn in_ticks(self, ticks: &mut [Tick], pivot: Vector2<f64>) {
        for t in ticks {
            let far = (0.5 * (t.line[0] + t.line[1]) - pivot).norm();
            t.sigma *= (1.0f64).hypot(self.lines / t.sigma.hypot(t.sigma_angle * far).max(1e-9));
        }
    }
}

/// Distances of tick ends from their circle and their standard uncertainties, px; a circle of unknown radius goes through their middle.
fn off_circle(ends: &[(Vector2<f64>, f64)], back: &Homography<PhotoPoint, DialPoint>, scale: f64, radius: Option<f64>) -> Vec<(f64, f64)> {
    let radii: Vec<f64> = ends.iter().map(|(e, _)| back.at(e.x, e.y).norm()).collect();
    let middle = radius.or_else(|| median(&radii)).unwrap_or(1.0);
    radii.iter().zip(ends).map(|(r, (_, s))| ((r - middle) * scale, *s)).collect()
}

/// The standard deviation that, added to each residual's own, makes their robust scatter what it should be; 0 where it is no larger, or
/// where no more residuals than unknowns are left to tell.
fn beyond(residuals: &[(f64, f64)], unknowns: f64) -> f64 {
    let n = residuals.len() as f64;
    if n < unknowns + 2.0 {
        return 0.0;
    }
    let more = NORMAL * (n / (n - unknowns)).sqrt();
    let scatter = |extra: f64| {
        let z: Vec<f64> = residuals.iter().map(|(r, s)| (r / s.hypot(extra)).abs()).collect();
        more * median(&z).unwrap_or(0.0)
    };
    if scatter(0.0) <= 1.0 {
        return 0.0;
    }
    let most = residuals.iter().fold(0.0f64, |a, r| a.max(r.0.abs())) * more;
    halved((0.0, most), 40, |extra| scatter(extra) > 1.0).1
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Quantiles of the normal distribution as residuals: 0 where noise explains them, and what was put in where it does not.
    #[test]
    fn what_noise_explains_is_no_excess() {
        let normal = |sd: f64| -> Vec<(f64, f64)> {
            let z = [-1.645, -1.036, -0.674, -0.385, -0.126, 0.126, 0.385, 0.674, 1.036, 1.645];
            z.iter().map(|z| (sd * z, 0.1)).collect()
        };
        assert_eq!(beyond(&normal(0.07), 2.0), 0.0);
        // 0.5 in all, of which 0.1 is their own; ten residuals and two unknowns: sqrt(10 / 8) more
        let expected = (0.25 * 10.0 / 8.0 - 0.01f64).sqrt();
        assert!((beyond(&normal(0.5), 2.0) / expected - 1.0).abs() < 0.25, "{}", beyond(&normal(0.5), 2.0));
        assert_eq!(beyond(&normal(0.5)[..3], 2.0), 0.0);
    }
}
