//! The normal distribution: its quantile, and its distribution function as exactly and as quickly as is asked. Pure numbers, no units.
use statrs::distribution::{ContinuousCDF, Normal};

/// Quantile of the standard normal distribution: the z that a standard normal variable stays below with probability `p`.
///
/// `p` = 0 and 1 give minus and plus infinity; NaN or `p` outside 0..=1 gives NaN.
pub fn normal_quantile(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p == 0.0 {
        return f64::NEG_INFINITY;
    }
    if p == 1.0 {
        return f64::INFINITY;
    }
    Normal::new(0.0, 1.0).map_or(f64::NAN, |n| n.inverse_cdf(p))
}

/// Probability that a standard normal variable is at most `z`. NaN gives NaN; infinities give 0 and 1.
pub fn normal_cdf(z: f64) -> f64 {
    if z.is_nan() {
        return f64::NAN;
    }
    if z.is_infinite() {
        return if z > 0.0 { 1.0 } else { 0.0 };
    }
    Normal::new(0.0, 1.0).map_or(f64::NAN, |n| n.cdf(z))
}

/// The same to 1.5e-7, for where it is asked of every pixel; `bell` is exp(-z²/2), which is often known already (complementary error
/// function of Abramowitz & Stegun 7.1.26).
#[inline(always)]
pub fn quick_normal_cdf(z: f64, bell: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.327_591_1 * z.abs() / std::f64::consts::SQRT_2);
    let e = t * (0.254_829_592 + t * (-0.284_496_736 + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429)))) * bell;
    if z >= 0.0 { 1.0 - 0.5 * e } else { 0.5 * e }
}

/// Coefficients of Abramowitz & Stegun 7.1.28.
const TAIL: [f64; 6] = [0.070_523_078_4, 0.042_282_012_3, 0.009_270_527_2, 0.000_152_014_3, 0.000_276_567_2, 0.000_043_063_8];

/// For a number: its size over √2, the polynomial there, and its sixteenth power, in one of the two precisions.
macro_rules! polynomial {
    ($z:ident, $real:ident) => {{
        let x = $z.abs() * std::$real::consts::FRAC_1_SQRT_2;
        let [a, b, c, d, e, f] =
            const { [TAIL[0] as $real, TAIL[1] as $real, TAIL[2] as $real, TAIL[3] as $real, TAIL[4] as $real, TAIL[5] as $real] };
        let p = 1.0 + x * (a + x * (b + x * (c + x * (d + x * (e + x * f)))));
        let p4 = (p * p) * (p * p);
        (x, p, (p4 * p4) * (p4 * p4))
    }};
}

/// The formula itself.
macro_rules! by_tail {
    ($z:ident, $power:ident) => {{
        let tail = 0.5 / $power;
        if $z < 0.0 { tail } else { 1.0 - tail }
    }};
}

/// The same without an exponential, to a millionth and without a step (Abramowitz & Stegun 7.1.28): many at once.
#[inline(always)]
pub fn smooth_normal_cdf(z: f64) -> f64 {
    let (_, _, power) = polynomial!(z, f64);
    by_tail!(z, power)
}

/// [`smooth_normal_cdf`] and its derivative: that of the formula itself, within 1e-5 of the normal density.
#[inline(always)]
pub fn smooth_normal(z: f64) -> (f64, f64) {
    let (x, p, power) = polynomial!(z, f64);
    let [a, b, c, d, e, f] = TAIL;
    let slope = a + x * (2.0 * b + x * (3.0 * c + x * (4.0 * d + x * (5.0 * e + x * (6.0 * f)))));
    (by_tail!(z, power), 8.0 * std::f64::consts::FRAC_1_SQRT_2 * slope / (power * p))
}

/// [`smooth_normal_cdf`] in single precision.
#[inline(always)]
pub fn single_normal_cdf(z: f32) -> f32 {
    let (_, _, power) = polynomial!(z, f32);
    by_tail!(z, power)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the distribution of a general statistics library.
    #[test]
    fn the_quick_distribution_functions_are_right_to_a_millionth() {
        for i in -60..=60 {
            let z = 0.1 * f64::from(i);
            assert!((f64::from(single_normal_cdf(z as f32)) - normal_cdf(z)).abs() < 1e-6, "{z}");
            assert!((smooth_normal_cdf(z) - normal_cdf(z)).abs() < 1e-6, "{z}");
            let (value, slope) = smooth_normal(z);
            let density = (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt();
            assert!(value == smooth_normal_cdf(z) && (slope - density).abs() < 1e-5, "{z}: {slope} for {density}");
            let between = (smooth_normal_cdf(z + 1e-4) - smooth_normal_cdf(z - 1e-4)) / 2e-4;
            assert!((slope - between).abs() < 1e-8, "{z}: {slope} for {between}");
            assert!((quick_normal_cdf(z, (-0.5 * z * z).exp()) - normal_cdf(z)).abs() < 1.5e-7, "{z}");
        }
    }
}
