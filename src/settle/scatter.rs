//! How the readings scatter about a curve: wander beyond the photos' own sigma, and the correlation of neighbours.
use crate::maths::range::sought;
use crate::maths::student::welch_satterthwaite;

/// Residuals are counted in full up to this many sigmas and no further (Huber's loss: 1.2 % of clean readings lie beyond it, so
/// clean readings are fitted by least squares but for those few).
pub(super) const LIMIT: f64 = 2.5;
/// E ψ² of Huber's loss at that limit for normal errors: 2Φ(c) - 1 - 2cφ(c) + 2c²(1 - Φ(c)).
const CLEAN: f64 = 0.977_6;
/// Below this many readings beyond the parameters none can be told to be bad.
const FEW: usize = 5;
/// Fewer readings than this show no correlation that could be corrected for its bias.
const FEW_FOR_BIAS: usize = 10;
/// At least this correlation is taken of `FEW_FOR_CORRELATION` readings and fewer, which hardly show any: what load and traffic do may last
/// longer than the time between two photos. It goes down to what is seen at `ENOUGH_FOR_CORRELATION` readings.
const TAKEN: f64 = 0.75;
/// See there.
const FEW_FOR_CORRELATION: f64 = 12.0;
/// See there.
const ENOUGH_FOR_CORRELATION: f64 = 26.0;
/// A correlation that is seen is taken this many of its own sigmas (1/√n) larger: bands that rest on an estimate of it held too seldom
/// (simulated warm-ups of 26 readings, r = 0.5: 93.7 % of 396 without, 95.7 % of 585 with).
const SAFE: f64 = 0.5;
/// Readings are never known better than this (unit of the temperature): far below anything that can be read.
const LEAST: f64 = 1e-6;

/// The scatter about a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scatter {
    /// Variance of the wander between photos, beyond what each photo explains.
    pub wander: f64,
    /// Correlation of neighbouring residuals, corrected for its bias, not below 0.
    pub correlation: f64,
    /// By how much it inflates the variance of a level: (1 + r)/(1 - r).
    pub seen: f64,
    /// The same with the correlation that is taken of few readings.
    pub inflation: f64,
    /// Effective degrees of freedom of the variance of a reading (infinite where no wander enters).
    pub dof: f64,
    /// Degrees of freedom that the readings leave for the scatter, whether a wander is seen or not.
    pub left: f64,
    /// Degrees of freedom of the wander alone (infinite where there is none).
    pub wander_dof: f64,
}

impl Scatter {
    /// From the residuals in the order of time, the photos' own sigmas, and how many parameters were fitted.
    ///
    /// The wander makes Σ ψ(r)²/(own² + wander) equal to what is left over (Mandel & Paule 1970, with Huber's ψ), not below 0.
    ///
    /// Neighbouring residuals that are alike say less than their number: the variance of a mean of n readings with lag-1
    /// correlation r is that of n (1 - r)/(1 + r) independent ones, and what is left over for the scatter is n - p(1+r)/(1-r)
    /// in place of n - p. A fit of p parameters pulls the seen r down by about (p + (p+2) r)/n (Kendall 1954 for p = 1; for a
    /// trend the same pattern), which is put back from ten readings on. r below 0 counts as 0: alternation is not taken as a gift.
    /// Readings unevenly in time are taken as if even.
    pub fn of(residuals: &[f64], own: &[f64], parameters: usize) -> Self {
        let (n, p) = (residuals.len() as f64, parameters as f64);
        let limit = limit(residuals.len(), parameters);
        let mut all = Self {
            wander: 0.0,
            correlation: 0.0,
            seen: 1.0,
            inflation: 1.0,
            dof: f64::INFINITY,
            left: f64::INFINITY,
            wander_dof: f64::INFINITY,
        };
        // the wander and the correlation each need the other; the correlation hardly depends on the wander
        for _ in 0..2 {
            all.correlation = correlation(residuals, &all.sigmas(own), parameters, limit);
            // a third of what n - p leaves stays for the scatter, whatever the correlation
            let most = ((2.0 * n + p) / (3.0 * p)).max(1.0);
            all.seen = inflation(all.correlation).min(most);
            let left = (n - p * all.seen).max(1.0);
            all.wander = wander(residuals, own, if limit.is_finite() { CLEAN * left } else { left }, limit);
        }
        let r2 = all.correlation * all.correlation;
        all.inflation = all.seen.max(inflation(taken(n)));
        let left = ((n - p * all.seen).max(1.0) * (1.0 - r2) / (1.0 + r2)).max(1.0);
        all.left = left;
        let mean = own.iter().map(|s| s * s).sum::<f64>() / n;
        // how well the wander is known as a difference of two variances: JCGM 100:2008, G.3 and E.4.3
        let known = left * (all.wander / (all.wander + mean)).powi(2);
        all.dof = if all.wander > 0.0 {
            welch_satterthwaite(&[(mean.sqrt(), f64::INFINITY), (all.wander.sqrt(), known)]).max(1.0)
        } else {
            f64::INFINITY
        };
        all.wander_dof = if all.wander > 0.0 { known } else { f64::INFINITY };
        all
    }
    /// One sigma of each reading about the curve.
    pub fn sigmas(&self, own: &[f64]) -> Vec<f64> {
        own.iter().map(|s| (s * s + self.wander).sqrt().max(LEAST)).collect()
    }
}

fn inflation(correlation: f64) -> f64 {
    (1.0 + correlation) / (1.0 - correlation)
}

/// The correlation that is taken at least, of so many readings.
fn taken(readings: f64) -> f64 {
    let share = (ENOUGH_FOR_CORRELATION - readings) / (ENOUGH_FOR_CORRELATION - FEW_FOR_CORRELATION);
    TAKEN * share.clamp(0.0, 1.0)
}

/// From how many sigmas on a residual is held down.
pub(super) fn limit(readings: usize, parameters: usize) -> f64 {
    if readings >= parameters + FEW { LIMIT } else { f64::INFINITY }
}

fn wander(residuals: &[f64], own: &[f64], left: f64, limit: f64) -> f64 {
    let excess = |w: f64| {
        let z2 = |(r, s): (&f64, &f64)| (r * r / (s * s + w).max(LEAST * LEAST)).min(limit * limit);
        residuals.iter().zip(own).map(z2).sum::<f64>() - left
    };
    if excess(0.0) <= 0.0 {
        return 0.0;
    }
    let largest = residuals.iter().map(|r| r * r).sum::<f64>();
    sought((0.0, largest / left.min(1.0) + LEAST * LEAST), 80, |w| excess(w) > 0.0)
}

fn correlation(residuals: &[f64], sigmas: &[f64], parameters: usize, limit: f64) -> f64 {
    // before the wander is known the sigmas are too small and clip everything to its sign, which still tells runs
    let z: Vec<f64> = residuals.iter().zip(sigmas).map(|(r, s)| (r / s).clamp(-limit, limit)).collect();
    let squares: f64 = z.iter().map(|z| z * z).sum();
    let products: f64 = z.windows(2).map(|w| w[0] * w[1]).sum();
    if squares <= 0.0 {
        return 0.0;
    }
    let (r, n, p) = (products / squares, z.len() as f64, parameters as f64);
    let unbiased = if z.len() < FEW_FOR_BIAS { r } else { (r + p / n) / (1.0 - (p + 2.0) / n) };
    if unbiased <= 0.0 { 0.0 } else { (unbiased + SAFE / n.sqrt()).min(0.95) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_clean_errors_cost_at_the_limit() {
        use crate::maths::normal::normal_cdf;
        let (c, phi) = (LIMIT, (-LIMIT * LIMIT / 2.0).exp() / std::f64::consts::TAU.sqrt());
        let expected = 2.0 * normal_cdf(c) - 1.0 - 2.0 * c * phi + 2.0 * c * c * (1.0 - normal_cdf(c));
        assert!((expected - CLEAN).abs() < 5e-4, "{expected}");
    }

    #[test]
    fn wander_by_hand() {
        // Four residuals of ±2, own sigma 1, one parameter, no correlation seen: Σ 4/(1+w) = 3, w = 13/3.
        let s = Scatter::of(&[2.0, -2.0, 2.0, -2.0], &[1.0; 4], 1);
        assert!((s.wander - 13.0 / 3.0).abs() < 1e-9 && s.correlation == 0.0, "{s:?}");
        // Residuals within what the photos explain: nothing wanders, and the variance counts as known.
        let quiet = Scatter::of(&[0.5, -0.5, 0.5, -0.5], &[1.0; 4], 1);
        assert_eq!((quiet.wander, quiet.dof), (0.0, f64::INFINITY));
    }
}
