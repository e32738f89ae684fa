//! What a second, slower approach may still bring: the housing, the sump and the block follow the oil for most of an hour.
//!
//! A run of twenty minutes hardly tells one approach from two: of -40 exp(-t/250 s) - 8 exp(-t/2500 s) an approach alone takes up what the second
//! did so far, and its level lies 5 degrees too low. So the readings are fitted with a second term exp(-t/T) beside the first for
//! slow T up to [`SLOWEST`], and every level counts that fits with one of them. The second goes the way of the first: heat flows on to what
//! is colder, so the band widens to that side alone.
use super::curve::tau_range;
use super::fitted::Fitted;
use super::series::Series;
use crate::maths::student::t_quantile;
use crate::maths::variable_projection::Separable;
use nalgebra::DMatrix;

/// The slowest approach that is thought of, seconds. Gearboxes, axles and engines come to rest within two to three hours of steady driving,
/// three to four time constants of this size (common practice; an assumption).
const SLOWEST: f64 = 3000.0;
/// A second approach is slower than the first at least by this; nearer ones are one approach to any run.
const APART: f64 = 2.0;
/// Time constants that are tried, evenly on their logarithm.
const TRIED: usize = 5;

/// What a second approach allows, from the scatter alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Slower {
    /// The farthest level in the direction of the approach, passed in one case of twenty.
    pub level: f64,
    /// How far from the level the last reading may be: passed in one case of twenty.
    pub left: f64,
}

/// For a fitted approach; `None` where none slower is thought of, or the readings are too few for it.
pub(super) fn slower(fit: &Fitted, series: &Series) -> Option<Slower> {
    let first = fit.curve.tau?;
    let times: Vec<f64> = series.points.iter().map(|p| p.seconds).collect();
    let (span, range) = (series.span(), tau_range(&times)?);
    if APART * first >= SLOWEST || times.len() < 6 {
        return None;
    }
    let factor = t_quantile(0.95, fit.scatter.dof);
    // below 0 when it warms up: the level lies above what was read
    let way = -fit.approach().amplitude.signum();
    let allowed = factor * factor * fit.scatter.inflation;
    let step = (SLOWEST / (APART * first)).powf(1.0 / (TRIED - 1) as f64);
    let fits: Vec<Two> = (0..TRIED).filter_map(|k| two(fit, series, &times, APART * first * step.powi(k as i32), range.0)).collect();
    let best = fits.iter().map(|f| f.rss).fold(fit.curve.rss, f64::min);
    let scale = fit.scatter.inflation.sqrt();
    let mut out: Option<Slower> = None;
    for f in fits.iter().filter(|f| f.rss - best <= allowed) {
        let level = f.level + way * factor * scale * f.sigma_level;
        let left = (factor * scale * f.sigma_left - way * f.left).max(0.0);
        let before = out.unwrap_or(Slower { level, left });
        out = Some(Slower { level: way * (way * before.level).max(way * level), left: before.left.max(left) });
    }
    out.filter(|s| s.left.is_finite() && span > 0.0)
}

/// Two approaches, the second with a given time constant.
struct Two {
    level: f64,
    sigma_level: f64,
    /// What of the second is left at the last reading.
    left: f64,
    sigma_left: f64,
    rss: f64,
}

fn two(fit: &Fitted, series: &Series, times: &[f64], slow: f64, shortest: f64) -> Option<Two> {
    let y: Vec<f64> = series.points.iter().map(|p| p.value.value()).collect();
    let first = fit.curve.tau?;
    let basis = |tau: f64| {
        DMatrix::from_fn(times.len(), 3, |i, j| match j {
            0 => 1.0,
            1 => (-times[i] / tau).exp(),
            _ => (-times[i] / slow).exp(),
        })
    };
    // the second takes up a part of the first, which is then faster
    let starts = [first, 0.8 * first, 0.5 * first].map(|t| t.max(1.01 * shortest));
    let found = Separable { basis, y: &y, weights: &fit.weights }.fit(&starts, (shortest, slow / 1.2))?;
    let covariance = found.covariance?;
    let end = (-series.span() / slow).exp();
    let sigma = |k: usize| covariance.get((k, k)).map(|c| c.max(0.0).sqrt());
    Some(Two {
        level: *found.linear.first()?,
        sigma_level: sigma(0)?,
        left: found.linear.get(2)? * end,
        sigma_left: sigma(2)? * end,
        rss: found.rss,
    })
}
