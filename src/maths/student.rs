//! Student's t and effective degrees of freedom: how many sigmas a 95 % band takes.
//!
//! Sources: JCGM 100:2008 (GUM), Annex G (coverage factors, Welch–Satterthwaite formula G.2b); Abramowitz & Stegun 26.7.5
//! (t from the normal quantile when the degrees of freedom are many). Pure numbers, no units. Nothing here panics: an
//! argument without meaning gives NaN, and a coverage factor that cannot be known is infinite, never small.
use super::normal::{normal_cdf, normal_quantile};
use super::range::crossing;
use statrs::function::beta::checked_beta_reg;

/// Above this many degrees of freedom the t quantile is expanded round the normal one, where the incomplete beta function
/// would lose digits.
const MANY: f64 = 1000.0;

/// A quantile beyond this is called infinite: no band is that wide, and its square would leave the range of f64.
const BEYOND: f64 = 1e150;

/// Fewer degrees of freedom than this are none.
const NONE: f64 = 0.01;

/// Quantile of Student's t with `nu` degrees of freedom: the t that the variable stays below with probability `p`.
///
/// `nu` may be fractional (GUM G.4.1 allows interpolation; here nothing is interpolated, the distribution itself takes a
/// real number) and infinite (the normal distribution). Up to `nu` = 1000 the regularised incomplete beta function is solved
/// for t between brackets: the library's own inverse is far off where t passes about a million (`nu` = 0.1, `p` = 0.975:
/// 6.6e7 for 1.7e12), breaks off for p under about 1e-200 and did not return for `nu` = 1000, `p` = 1e-100. Beyond `nu` = 1000
/// from the expansion t = z + (z³+z)/4ν + (5z⁵+16z³+3z)/96ν² (Abramowitz & Stegun 26.7.5), good to 2e-8 within ±3.3 and
/// without a step.
///
/// `nu` below 0.01 is the limit of no knowledge: minus or plus infinity (0 at the median), and so is any quantile past 1e150.
/// NaN, a negative `nu`, or `p` outside 0..=1 gives NaN.
pub fn t_quantile(p: f64, nu: f64) -> f64 {
    if nu.is_nan() || nu < 0.0 || !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p == 0.5 {
        return 0.0;
    }
    if nu < NONE || p == 0.0 || p == 1.0 {
        return if p > 0.5 { f64::INFINITY } else { f64::NEG_INFINITY };
    }
    if nu > MANY {
        return expanded(p, nu);
    }
    // 1 - p loses nothing for p of one half and more.
    if p > 0.5 { upper_quantile(1.0 - p, nu) } else { -upper_quantile(p, nu) }
}

/// The quantile by its expansion for many degrees of freedom.
fn expanded(p: f64, nu: f64) -> f64 {
    let z = normal_quantile(p);
    let (z3, z5) = (z.powi(3), z.powi(5));
    z + (z3 + z) / (4.0 * nu) + (5.0 * z5 + 16.0 * z3 + 3.0 * z) / (96.0 * nu * nu)
}

/// The t > 0 that is passed with probability `tail` (0 < tail < 0.5): ln t between brackets by secants, which the logarithm of the tail
/// nearly follows.
fn upper_quantile(tail: f64, nu: f64) -> f64 {
    // Positive while t is below the quantile. The middle is measured from the median, where the tail would cancel.
    let short = |x: f64| {
        let t2 = (2.0 * x).exp();
        if tail > 0.25 && t2 < nu {
            checked_beta_reg(0.5, 0.5 * nu, t2 / (nu + t2)).map_or(f64::NAN, |i| (0.5 - tail).ln() - (0.5 * i).ln())
        } else {
            checked_beta_reg(0.5 * nu, 0.5, nu / (nu + t2)).map_or(f64::NAN, |i| (0.5 * i).ln() - tail.ln())
        }
    };
    // from where the expansion for many degrees has it, which is near from three degrees on
    let (start, mut step) = if nu > 3.0 { ((-expanded(tail, nu)).max(1e-9).ln(), 0.01) } else { (0.0, 8f64.ln()) };
    let beyond = BEYOND.ln();
    let (mut low, mut high) = ((start, short(start)), (start, short(start)));
    while low.0 > -beyond && low.1 < 0.0 {
        (high, low) = (low, (low.0 - step, short(low.0 - step)));
        step *= 2.0;
    }
    while high.1 > 0.0 {
        if high.0 >= beyond {
            return f64::INFINITY;
        }
        let farther = (high.0 + step).min(beyond);
        (low, high) = (high, (farther, short(farther)));
        step *= 2.0;
    }
    crossing(low, high, 1e-14, short).exp()
}

/// Probability that Student's t with `nu` degrees of freedom passes `t`: the upper tail, without loss where it is small.
///
/// Up to `nu` = 1000 by the regularised incomplete beta function (Abramowitz & Stegun 26.7.1 and 26.5.27), beyond from the normal
/// distribution at t (1 - 1/4ν)/sqrt(1 + t²/2ν) (26.7.8; at ν = 1000 good to 4e-5 of itself at t = 3, 2e-3 at t = 6). `nu` below 0.01 is no knowledge: one half. NaN, or a
/// negative `nu`, gives NaN.
pub fn t_above(t: f64, nu: f64) -> f64 {
    if t.is_nan() || nu.is_nan() || nu < 0.0 {
        return f64::NAN;
    }
    if nu < NONE {
        return 0.5;
    }
    if t.is_infinite() {
        return if t > 0.0 { 0.0 } else { 1.0 };
    }
    if nu > MANY {
        let z = if nu.is_finite() { t * (1.0 - 0.25 / nu) / (1.0 + t * t / (2.0 * nu)).sqrt() } else { t };
        return normal_cdf(-z);
    }
    // nu/(nu + t²) without squaring a t that would leave the range
    let ratio = t.abs() / nu.sqrt();
    let share = if ratio > 1e150 { 0.0 } else { 1.0 / (1.0 + ratio * ratio) };
    let tail = checked_beta_reg(0.5 * nu, 0.5, share).map_or(f64::NAN, |i| 0.5 * i);
    if t > 0.0 { tail } else { 1.0 - tail }
}

/// How many standard uncertainties a two-sided 95 % band reaches to each side: the 97.5 % quantile of Student's t
/// (1.960 for infinitely many degrees of freedom, 12.71 for one).
///
/// Infinite when `nu` is zero, negative or NaN: without degrees of freedom the band is unbounded.
pub fn coverage_factor_95(nu: f64) -> f64 {
    let k = t_quantile(0.975, nu);
    if k.is_nan() { f64::INFINITY } else { k }
}

/// Probability that Student's t with `nu` degrees of freedom lies at least as far from 0 as `t`, on either side: both tails of
/// [`t_above`].
pub fn two_sided(t: f64, nu: f64) -> f64 {
    2.0 * t_above(t.abs(), nu)
}

/// Effective degrees of freedom of a sum of independent terms, each given as (sigma, degrees of freedom):
/// ν_eff = (Σ σ²)² / Σ (σ⁴/ν), the Welch–Satterthwaite formula (GUM G.2b). Not truncated to an integer.
///
/// Infinite when no part with a sigma other than 0 has finite degrees of freedom (also for no parts at all). Signs of sigma
/// do not matter. An infinite sigma outweighs every finite one. A part with `nu` zero or negative (and a sigma) gives 0; a NaN
/// gives NaN, which [`coverage_factor_95`] turns into an unbounded band.
pub fn welch_satterthwaite(parts: &[(f64, f64)]) -> f64 {
    if parts.iter().any(|(s, nu)| s.is_nan() || (nu.is_nan() && *s != 0.0)) {
        return f64::NAN;
    }
    // Relative to the largest, so that neither tiny nor huge sigmas leave the range of f64 when raised to the fourth power.
    let largest = parts.iter().fold(0.0_f64, |m, (s, _)| m.max(s.abs()));
    let share = |s: f64| match (largest.is_infinite(), s.is_infinite()) {
        (true, infinite) => f64::from(u8::from(infinite)),
        _ => (s / largest).powi(2),
    };
    let (mut total, mut spread) = (0.0, 0.0);
    for &(s, nu) in parts.iter().filter(|(s, _)| *s != 0.0) {
        let v = share(s);
        if v == 0.0 {
            continue;
        }
        if nu <= 0.0 {
            return 0.0;
        }
        total += v;
        spread += v * v / nu;
    }
    if spread > 0.0 { total * total / spread } else { f64::INFINITY }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odd_input_gives_a_defined_answer() {
        let odd = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0, 0.0, 0.5, 1.0, 2.0, 1e-300, 1e300, f64::MIN_POSITIVE];
        for a in odd {
            for b in odd {
                let _ = (t_quantile(a, b), normal_cdf(a), normal_quantile(a));
                assert!(coverage_factor_95(b) >= 1.9599);
                let nu = welch_satterthwaite(&[(a, b), (1.0, 5.0)]);
                assert!(nu.is_nan() || nu >= 0.0, "{a} {b} {nu}");
            }
        }
        assert!(t_quantile(f64::NAN, 3.0).is_nan() && t_quantile(0.9, f64::NAN).is_nan() && t_quantile(1.1, 3.0).is_nan());
        assert_eq!(t_quantile(0.975, 0.0), f64::INFINITY);
        assert_eq!(coverage_factor_95(f64::NAN), f64::INFINITY);
        assert_eq!(normal_cdf(f64::INFINITY), 1.0);
        assert_eq!(normal_quantile(0.0), f64::NEG_INFINITY);
    }

    #[test]
    fn far_tails_and_few_degrees() {
        // SciPy 1.17.1, scipy.stats.t.ppf.
        for (p, nu, expected) in [
            (0.999999, 7.3, 13.493523060689595_f64),
            (1e-10, 1.0, -3183098861.8379064),
            (0.975, 0.1, 1682362288745.0078),
            (0.9995, 0.3, 3031053361.1538153),
            (0.5000001, 1.5, 2.9348322138559665e-07),
            (0.4999999, 7.3, -2.593686669524457e-07),
            (1e-30, 2.5, -876543788227.9991),
            (0.3, 0.03, -2176366.8122487995),
            (1e-100, 1000.0, -23.930617087826437),
            (1e-200, 7.3, -5.165221766892493e+27),
        ] {
            let t = t_quantile(p, nu);
            assert!((t / expected - 1.0).abs() < 1e-9, "{p} {nu}: {t}");
        }
        assert_eq!(t_quantile(0.975, 1e-4), f64::INFINITY);
    }

    #[test]
    fn tails_by_hand_and_against_a_library() {
        // nu = 1 is the Cauchy distribution: P(T > t) = 1/2 - atan(t)/π.
        for t in [-30.0_f64, -1.0, 0.0, 0.3, 2.0, 1e9] {
            let cauchy = (1.0 / t).atan() / std::f64::consts::PI;
            let expected = if t > 0.0 { cauchy } else { 0.5 - t.atan() / std::f64::consts::PI };
            assert!((t_above(t, 1.0) / expected - 1.0).abs() < 1e-9, "{t}");
        }
        // SciPy 1.17.1, scipy.stats.t.sf.
        for (t, nu, expected) in [
            (2.0, 4.0, 0.05805826175840778),
            (5.5, 7.3, 0.0003930315513497406),
            (-1.2, 0.5, 0.7203710369343177),
            (30.0, 2.0, 0.0005546313409798295),
            (3.0, 2000.0, 0.0013665718810164),
            (0.4, 1e5, 0.3445786855824298),
            (6.0, 1500.0, 1.2346950448093492e-9),
        ] {
            // beyond 1000 degrees of freedom the approximation costs up to 1e-3 of a tail as small as 1e-9
            let room = if nu > MANY { 1e-3 } else { 1e-9 };
            assert!((t_above(t, nu) / expected - 1.0_f64).abs() < room, "{t} {nu}: {}", t_above(t, nu));
        }
        // the quantile is its inverse
        for nu in [0.011, 0.02, 0.7, 2.0, 2.9, 3.1, 9.3, 400.0, 5000.0, f64::INFINITY] {
            assert!((t_above(t_quantile(0.975, nu), nu) - 0.025).abs() < 1e-7, "{nu}");
        }
        assert_eq!((t_above(f64::INFINITY, 3.0), t_above(f64::NEG_INFINITY, 3.0), t_above(2.0, 0.0)), (0.0, 1.0, 0.5));
        assert!(t_above(f64::NAN, 3.0).is_nan() && t_above(1.0, f64::NAN).is_nan() && t_above(1.0, -1.0).is_nan());
    }

    #[test]
    fn no_step_where_the_expansion_takes_over() {
        // The first term left out, (3z⁷+19z⁵+17z³-15z)/384ν³, is 5e-8 at z = 3.3 and ν = 1000.
        for p in [0.6, 0.84, 0.975, 0.9995] {
            let (below, above) = (t_quantile(p, MANY), t_quantile(p, MANY * (1.0 + 1e-12)));
            assert!((below - above).abs() < 1e-7, "{p}: {below} {above}");
        }
    }

    #[test]
    fn closed_forms_for_one_and_two_degrees() {
        // nu = 1 is the Cauchy distribution; nu = 2: t = (2p-1) sqrt(2 / (4 p (1-p))).
        for p in [0.001_f64, 0.2, 0.7, 0.975, 0.9999] {
            let cauchy = (std::f64::consts::PI * (p - 0.5)).tan();
            let two = (2.0 * p - 1.0) * (2.0 / (4.0 * p * (1.0 - p))).sqrt();
            assert!((t_quantile(p, 1.0) / cauchy - 1.0).abs() < 1e-9);
            assert!((t_quantile(p, 2.0) / two - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_quantile_is_passed_with_its_probability() {
        for nu in [0.5, 1.0, 3.0, 12.5, 400.0, 1e3, 1e4, f64::INFINITY] {
            for tail in [0.2, 0.025, 1e-4] {
                let p = two_sided(-t_quantile(1.0 - tail, nu), nu);
                // beyond 1000 both are expansions, good to some 1e-6 of the tail here
                assert!((p / (2.0 * tail) - 1.0).abs() < if nu > MANY { 1e-5 } else { 1e-9 }, "{nu} {tail}: {p}");
            }
        }
        assert_eq!((two_sided(0.0, 5.0), two_sided(f64::INFINITY, 5.0), two_sided(3.0, 0.0)), (1.0, 0.0, 1.0));
        assert!(two_sided(f64::NAN, 5.0).is_nan() && two_sided(1.0, -1.0).is_nan());
    }

    #[test]
    fn infinite_and_missing_parts() {
        assert_eq!(welch_satterthwaite(&[]), f64::INFINITY);
        assert_eq!(welch_satterthwaite(&[(0.0, 3.0), (1.0, f64::INFINITY)]), f64::INFINITY);
        assert_eq!(welch_satterthwaite(&[(f64::INFINITY, 4.0), (1.0, 1.0)]), 4.0);
        assert_eq!(welch_satterthwaite(&[(1e-200, 7.0)]), 7.0);
        assert_eq!(welch_satterthwaite(&[(1.0, 0.0), (1.0, 9.0)]), 0.0);
    }
}
