//! The level of a run: its terms, its scatter and its band.
use super::band::Profile;
use super::fitted::Fitted;
use super::series::Series;
use super::slower::Slower;
use crate::maths::estimate::Estimate;
use crate::maths::measured::Measured;
use crate::maths::source::Source;
use crate::maths::student::{coverage_factor_95, welch_satterthwaite};

/// The settled level.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// The level as a combination of the readings, term by term: what they share with another run cancels in a difference. Its sigma is
    /// that of the scatter and the terms of the dial.
    pub temperature: Estimate,
    /// Standard uncertainty of the scatter (photos' own terms, wander, correlation), which stands in place of the photos' terms.
    pub scatter: f64,
    /// Its degrees of freedom; infinite where it counts as known.
    pub scatter_dof: f64,
}

/// The level, parameter 0 of a fit: its terms through how it answers to each reading, its band from the scatter (profile, or
/// Student's t), what a slower approach may still bring, and the dial's terms as they act on it, which stay out of the scatter.
///
/// A run is called steady only when no large change could hide in it, which picks runs whose readings happen to agree. So a steady level
/// counts the scatter as no better known than its readings tell, also where no wander is seen: with sigma taken as known simulated steady runs
/// of five and six photos that wander by 0.3 °C and have 0.3 of their own held 91.3 and 93.2 % of the time, now see `tests/settle/coverage`.
pub(super) fn level(fit: &Fitted, series: &Series, profile: Option<&Profile>, later: Option<Slower>) -> Option<Level> {
    let response = fit.response(0)?;
    let alone = *fit.curve.linear.first()?;
    let value = later.filter(|l| l.doubt).map_or(alone, |l| l.level);
    let sum = series.points.iter().zip(&response).fold(Measured::exact(0.0), |s, (p, g)| s.plus(&p.value.scaled(*g)));
    let measured = sum.at(value);
    let dial = measured.variance_of(|s: &Source| !s.is_own()).sqrt();
    let scatter = fit.sigma(0)?;
    let scatter_dof = if profile.is_some() { fit.scatter.dof } else { fit.scatter.dof.min(fit.scatter.left) };
    let dof = welch_satterthwaite(&[(scatter, scatter_dof), (dial, f64::INFINITY)]);
    let around = coverage_factor_95(scatter_dof) * scatter;
    let ends = profile.map_or((alone - around, alone + around), |p| p.level);
    let ends = later.map_or(ends, |l| (ends.0.min(l.range.0), ends.1.max(l.range.1)));
    let (low, high) = (value - ends.0, ends.1 - value);
    // parts that are independent, so their half widths add up as squares; what is an interval adds in full
    let known = coverage_factor_95(f64::INFINITY) * dial;
    let over: f64 = series.points.iter().zip(&response).map(|(p, g)| p.surplus * g.abs()).sum();
    let band = (value - low.hypot(known) - over, value + high.hypot(known) + over);
    Some(Level { temperature: Estimate::within(measured, scatter.hypot(dial), dof, band), scatter, scatter_dof })
}
