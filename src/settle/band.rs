//! Bands of an approach by its profile: every time constant that fits, and the levels that fit with it.
use super::curve::{Shape, tau_range};
use super::fitted::Fitted;
use super::series::Series;
use crate::maths::student::coverage_factor_95;
use crate::maths::variable_projection::{At, solve_linear};

/// 95 % ranges from the scatter alone, unit of the dial and seconds. An end may be infinite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Profile {
    pub level: (f64, f64),
    pub tau: (f64, f64),
    /// Largest distance from the level that may be left at the last reading.
    pub remaining: f64,
}

/// Steps along ln tau: share of the linear half width of its band, and the most.
const STEPS: (f64, f64) = (0.08, 0.05);

/// The levels L and time constants for which the best fit is worse than the best of all by no more than t² times the variance
/// (Bates & Watts 1988, 6.1, profile t). For one time constant the sum of squares is a parabola in the level, so the levels
/// that fit with it are known exactly. A linear band would be too short on the side of the slow approaches when little of
/// an approach was seen; this one opens to infinity when the readings set no limit.
pub(super) fn profile(fit: &Fitted, series: &Series) -> Option<Profile> {
    let best = fit.curve.tau?;
    let times: Vec<f64> = series.points.iter().map(|p| p.seconds).collect();
    let y: Vec<f64> = series.points.iter().map(|p| p.value.value()).collect();
    let range = tau_range(&times)?;
    let factor = coverage_factor_95(fit.scatter.dof);
    let allowed = factor * factor * fit.scatter.inflation;
    let spread = fit.sigma(2).map_or(f64::INFINITY, |s| factor * s / best);
    let at = |tau: f64| solve_linear(&Shape::Approach.basis(&times, tau), &y, &fit.weights);
    let mut out = Profile { level: (f64::INFINITY, f64::NEG_INFINITY), tau: (best, best), remaining: 0.0 };
    let mut take = |at: &At, tau: f64| {
        let room = (allowed - (at.rss - fit.curve.rss)).max(0.0);
        let half = (at.solved.covariance[(0, 0)].max(0.0) * room).sqrt();
        let level = at.solved.x[0];
        out.level = (out.level.0.min(level - half), out.level.1.max(level + half));
        out.remaining = out.remaining.max(at.solved.x[1].abs() * (-series.span() / tau).exp());
    };
    take(&at(best)?, best);
    let mut ends = [best, best];
    for (end, sign) in ends.iter_mut().zip([-1.0, 1.0]) {
        let (mut u, mut step) = (best.ln(), (STEPS.0 * spread).min(STEPS.1));
        let mut before = 0.0;
        *end = loop {
            u += sign * step;
            let tau = u.exp();
            if tau < range.0 || tau > range.1 {
                break if sign > 0.0 { f64::INFINITY } else { 0.0 };
            }
            let worse = at(tau).map(|a| (a.rss - fit.curve.rss, a)).filter(|(worse, _)| *worse <= allowed);
            let Some((worse, a)) = worse else {
                break (u - sign * step * (1.0 - share(before, at(tau).map_or(f64::INFINITY, |a| a.rss - fit.curve.rss), allowed))).exp();
            };
            take(&a, tau);
            before = worse;
            step = (step * 1.05).min(STEPS.1);
        };
    }
    out.tau = (ends[0], ends[1]);
    let amplitude = fit.approach().amplitude;
    if ends[1].is_infinite() {
        out.remaining = f64::INFINITY;
        let open = if amplitude < 0.0 { &mut out.level.1 } else { &mut out.level.0 };
        *open = if amplitude < 0.0 { f64::INFINITY } else { f64::NEG_INFINITY };
    }
    Some(out)
}

/// Where between two steps the root of the worsening passes the allowed one, 0..1.
fn share(before: f64, after: f64, allowed: f64) -> f64 {
    let (b, a, l) = (before.max(0.0).sqrt(), after.max(0.0).sqrt(), allowed.sqrt());
    if a.is_finite() && a > b { ((l - b) / (a - b)).clamp(0.0, 1.0) } else { 1.0 }
}
