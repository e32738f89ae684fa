//! How large a change must be so that a measurement of this uncertainty shows it.
//!
//! A change is called real when its 95 % band excludes 0: a two-sided test at 5 %, with the critical value t(97.5 %, ν) sigma. The
//! detection limit is the true change that passes it 95 times of 100. (ISO 11843 calls the two critical value and minimum detectable
//! value, and takes the latter from the noncentral t distribution as here; wording and method from memory.)
use super::normal::{normal_cdf, normal_quantile};
use super::range::sought;
use super::student::coverage_factor_95;
use statrs::function::gamma::ln_gamma;

/// How often a change as large as the detection limit is called real.
pub const POWER: f64 = 0.95;

/// From here on sigma counts as known.
const MANY: f64 = 1000.0;
/// Steps of the integral (even) and of the search.
const STEPS: (usize, usize) = (400, 50);

/// Detection limit of a difference with standard uncertainty `sigma` and `dof` degrees of freedom: 3.60 sigma when sigma is known.
/// Infinite where there are no degrees of freedom; NaN for NaN.
pub fn detection_limit(sigma: f64, dof: f64) -> f64 {
    if sigma == 0.0 { 0.0 } else { noncentrality(dof) * sigma }
}

/// So many sigmas more than its critical value a true change must be.
pub fn beyond(dof: f64) -> f64 {
    noncentrality(dof) - coverage_factor_95(dof)
}

/// The noncentrality at which a t variable with `dof` degrees of freedom passes t(97.5 %) with probability [`POWER`].
fn noncentrality(dof: f64) -> f64 {
    let critical = coverage_factor_95(dof);
    if !critical.is_finite() || dof < 0.5 {
        return f64::INFINITY;
    }
    if dof > MANY {
        // (T > c) is about (Z > (c (1 - 1/4ν) - δ)/sqrt(1 + c²/2ν)): Abramowitz & Stegun 26.7.10, good to 1e-6 from here on
        let (shrink, widen) = if dof.is_finite() { (1.0 - 0.25 / dof, 1.0 + critical * critical / (2.0 * dof)) } else { (1.0, 1.0) };
        return critical * shrink + normal_quantile(POWER) * widen.sqrt();
    }
    let power = |delta: f64| chi_mean(dof, |s| normal_cdf(delta - critical * s));
    let mut high = 2.0 * critical + 8.0;
    while power(high) < POWER && high < 1e9 {
        high *= 2.0;
    }
    sought((critical, high), STEPS.1, |delta| power(delta) < POWER)
}

/// Mean of f(s) where s² is chi-square over its degrees of freedom: Simpson's rule, from 0 to where nothing is left.
fn chi_mean(dof: f64, f: impl Fn(f64) -> f64) -> f64 {
    let last = 1.0 + 8.0 / dof.sqrt();
    let step = last / STEPS.0 as f64;
    let scale = std::f64::consts::LN_2 + 0.5 * dof * (0.5 * dof).ln() - ln_gamma(0.5 * dof);
    let density = |s: f64| match s {
        s if s > 0.0 => (scale + (dof - 1.0) * s.ln() - 0.5 * dof * s * s).exp(),
        _ if dof == 1.0 => scale.exp(),
        _ => 0.0,
    };
    let weight = |k: usize| {
        if k == 0 || k == STEPS.0 {
            1.0
        } else if k % 2 == 1 {
            4.0
        } else {
            2.0
        }
    };
    let (mut sum, mut whole) = (0.0, 0.0);
    for k in 0..=STEPS.0 {
        let s = step * k as f64;
        let w = weight(k) * density(s);
        (sum, whole) = (sum + w * f(s), whole + w);
    }
    // the whole is 1 but for the rule's own error
    sum / whole
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_noncentral_t_of_a_library() {
        // SciPy 1.17.1: scipy.stats.nct.sf(t.ppf(0.975, nu), nu, delta) = 0.95 solved for delta.
        let table = [(2.0, 7.771_663_161_2), (4.0, 4.927_969_316_1), (8.0, 4.136_612_888), (20.0, 3.792_456_777_8), (100.0, 3.639_992_868)];
        for (nu, expected) in table {
            assert!((noncentrality(nu) / expected - 1.0_f64).abs() < 1e-5, "{nu}: {}", noncentrality(nu));
        }
    }

    #[test]
    fn a_known_sigma_takes_two_normal_quantiles() {
        // 1.959964 + 1.644854 (any table of the normal distribution)
        assert!((detection_limit(2.0, f64::INFINITY) - 2.0 * 3.604_818).abs() < 1e-5);
        assert!((noncentrality(999.0) / noncentrality(1001.0) - 1.0).abs() < 1e-5, "no step");
        assert_eq!(detection_limit(0.0, 1.0), 0.0);
        assert!(detection_limit(1.0, 0.0).is_infinite() && detection_limit(1.0, f64::NAN).is_infinite());
        let falling = [1.0, 1.5, 3.0, 10.0, 1e6].map(beyond);
        assert!(falling.windows(2).all(|w| w[0] > w[1]), "{falling:?}");
    }
}
