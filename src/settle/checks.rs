//! Which shape the readings support, and what in them no first-order approach explains.
use super::curve::Shape;
use super::fitted::Fitted;
use super::series::Series;
use crate::maths::robust::median;
use crate::maths::student::{coverage_factor_95, t_quantile};

/// A drift after an approach is believed when the worsening without it passes the square of this quantile of Student's t: 0.1 %
/// two-sided.
const STRICT: f64 = 0.9995;
/// The same for a bend over a straight line and a change over a level: 0.5 %, since each keeps its whole uncertainty afterwards.
const CLEAR: f64 = 0.9975;
/// Standard deviation of the median of three standard normal numbers: its variance is 1 - √3/π (order statistics, e.g. David & Nagaraja 2003).
const MEDIAN_OF_THREE: f64 = 0.669_8;
/// A misfit counts from this share of the amplitude on, and from half a degree Celsius.
const MISFIT_SHARE: f64 = 0.05;

/// A steady change, in degrees a minute.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drift {
    /// Degrees of the dial's unit a minute.
    pub per_minute: f64,
    /// Half the 95 % band of it.
    pub half: f64,
}

/// All shapes, fitted, and which of them the readings support.
#[derive(Clone, Debug)]
pub(super) struct Shapes {
    pub steady: Fitted,
    pub line: Fitted,
    pub approach: Option<Fitted>,
    /// Whether the readings change at all.
    pub changes: bool,
    /// Whether an approach fits better than a straight line.
    pub bends: bool,
}

impl Shapes {
    /// `least` as in [`misfit`]: a line with a misfit bends.
    pub fn of(series: &Series, least: f64) -> Option<Self> {
        let steady = Fitted::of(Shape::Steady, series)?;
        let line = Fitted::of(Shape::Line, series)?;
        let approach = Fitted::of(Shape::Approach, series).filter(|f| f.curve.covariance.is_some());
        let gain = |better: &Fitted, worse: Shape| {
            better.rss_of(worse, series).is_some_and(|rss| rss - better.curve.rss > believed(better, CLEAR))
        };
        // what moves on after an approach hides in the correlation of an approach alone
        let drifting = Fitted::of(Shape::Drifting, series).filter(|f| f.curve.covariance.is_some() && series.points.len() >= 8);
        let any = |worse: Shape| approach.iter().chain(&drifting).any(|f| gain(f, worse));
        let bends = approach.is_some() && (any(Shape::Line) || misfit(&line, series, least).is_some()) && any(Shape::Steady);
        let changes = any(Shape::Steady) || gain(&line, Shape::Steady);
        Some(Self { steady, line, approach, changes, bends })
    }
}

/// The worsening that a parameter must bring to be believed. The correlation inflates it; it does not also take the degrees of
/// freedom below a third of what is left over, or a misfit, which looks like correlation, would hide every change.
fn believed(fit: &Fitted, quantile: f64) -> f64 {
    let left = fit.trust.len().saturating_sub(fit.shape.parameters()) as f64;
    t_quantile(quantile, fit.scatter.dof.max(left / 3.0)).powi(2) * fit.scatter.inflation
}

/// The slope of a fit with one, parameter `k`, with its band.
pub(super) fn drift(fit: &Fitted, k: usize) -> Option<Drift> {
    let half = coverage_factor_95(fit.scatter.dof) * fit.sigma(k)?;
    Some(Drift { per_minute: 60.0 * fit.approach().slope, half: 60.0 * half })
}

/// A drift of the level after an approach: believed when an approach with a drift fits strictly better and the drift moves the level
/// by more than `least` over the run. From eight readings on.
pub(super) fn late_drift(series: &Series, least: f64) -> Option<(Fitted, Drift)> {
    let fit = Fitted::of(Shape::Drifting, series).filter(|_| series.points.len() >= 8)?;
    let drift = drift(&fit, 2)?;
    let better = fit.rss_of(Shape::Approach, series)? - fit.curve.rss > believed(&fit, STRICT);
    let large = (drift.per_minute / 60.0 * series.span()).abs() > least;
    (better && large).then_some((fit, drift))
}

/// By how much the readings went past where they ended, as medians of three; `None` when by less than `least` or than the readings'
/// noise explains (2.5 % over all places looked at).
///
/// Rests on no curve: in the direction from the first to the last three readings, the highest median of three less the last one. From nine readings on.
pub(super) fn overshoot(series: &Series, least: f64) -> Option<f64> {
    let y: Vec<f64> = series.points.iter().map(|p| p.value.value()).collect();
    let middles: Vec<f64> = y.windows(3).map(|w| median(w).unwrap_or(f64::NAN)).collect();
    let (first, last) = (middles.first()?, middles.last()?);
    if y.len() < 9 {
        return None;
    }
    let past = |sign: f64| middles.iter().map(|m| sign * (m - last)).fold(f64::NEG_INFINITY, f64::max);
    let most = past(if last >= first { 1.0 } else { -1.0 });
    let noise = neighbours(&y)?.max(series.points.iter().map(|p| p.own).sum::<f64>() / y.len() as f64);
    let quantile = t_quantile(1.0 - 0.025 / y.len() as f64, (y.len() - 2) as f64);
    (most > least && most > quantile * noise * std::f64::consts::SQRT_2 * MEDIAN_OF_THREE).then_some(most)
}

/// Noise of a reading from how it differs from the line through its two neighbours, bad readings not counted: deaf to all that is slow.
fn neighbours(y: &[f64]) -> Option<f64> {
    let off: Vec<f64> = y.windows(3).map(|w| (w[0] - 2.0 * w[1] + w[2]).abs() / 6.0_f64.sqrt()).collect();
    median(&off).map(|m| m * crate::maths::robust::MAD_TO_SIGMA)
}

/// Size of the slow misfit of a fit: what its residuals scatter beyond the noise between neighbours. `Some` when the scatter is more
/// than 1.7 times that noise, and the misfit more than `least` (half a degree Celsius) or 5 % of the range seen, but never for less than a
/// fifth of `least`: smaller ones widen the band through the wander and the correlation, and the level stands.
pub(super) fn misfit(fit: &Fitted, series: &Series, least: f64) -> Option<f64> {
    let y: Vec<f64> = series.points.iter().map(|p| p.value.value()).collect();
    let trusted: Vec<f64> = fit.curve.residuals.iter().zip(&fit.trust).map(|(r, u)| r * u).collect();
    let left = y.len().saturating_sub(fit.shape.parameters());
    let total = (trusted.iter().map(|r| r * r).sum::<f64>() / left.max(1) as f64).sqrt();
    let noise = neighbours(&fit.curve.residuals)?;
    let slow = (total * total - noise * noise).max(0.0).sqrt();
    // the range that was seen, and not the fitted amplitude: an approach that began before the first reading has any amplitude
    let seen = fit.approach().at(0.0) - fit.approach().at(series.span());
    let clear = left >= 5 && total > 1.7 * noise;
    (clear && slow > least.min(MISFIT_SHARE * seen.abs()).max(0.2 * least)).then_some(slow)
}
