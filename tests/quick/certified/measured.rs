//! Terms that add and cancel, against the law of propagation (GUM 5.1), GUM H.1 and JCGM 101 9.2.2 to 9.2.4; units against NIST SP 811.
use super::{close, half_last_digit, named, near, number, rows};
use chacha20::ChaCha8Rng;
use nalgebra::DMatrix;
use needleband::maths::measured::{Measured, independent_terms};
use needleband::maths::student::{coverage_factor_95, t_quantile, welch_satterthwaite};
use needleband::maths::units::Unit;
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};

/// GUM H.1: the length of the end gauge is the sum of l_s, d and two small products; contributions in nm.
#[test]
fn gum_h1_sum() {
    let table = rows("gum_h1_end_gauge.csv");
    let part = |name: &str, value: f64| Measured::exact(value).with_term(name, number(&named(&table, name)[0]));
    let standard = part("ls_standard", 50_000_623.0);
    let length = standard.plus(&part("d_difference", 215.0)).minus(&part("delta_alpha", 0.0)).minus(&part("delta_theta", 0.0));
    close(length.value(), 50_000_838.0, 1e-15);
    // Published 32 nm from u² = 1002 nm²; the four printed contributions square to 1003.06.
    near(length.sigma(), number(&named(&table, "published_uc_nm")[0]), 0.5);
    close(length.sigma(), 1003.06_f64.sqrt(), 1e-14);
    close(length.variance_of(|s| s.to_string().starts_with("delta")), 2.9 * 2.9 + 16.6 * 16.6, 1e-14);
    // Against the same standard again, only what is not shared remains.
    let again = length.minus(&standard);
    close(again.sigma(), (9.7_f64 * 9.7 + 2.9 * 2.9 + 16.6 * 16.6).sqrt(), 1e-14);
}

/// JCGM 101:2008 9.2.2: the sum of four independent standard normal quantities has u = 2.00 and the 95 % interval ±3.92.
#[test]
fn jcgm101_four_normal() {
    let sum = (0..4).fold(Measured::exact(0.0), |s, i| s.plus(&Measured::exact(0.0).with_term(format!("x{i}"), 1.0)));
    let table = rows("jcgm101_106_examples.csv");
    let row = |quantity: &str| table.iter().find(|r| r[0] == "JCGM101_9.2.2_four_normal_sd1" && r[1] == quantity).unwrap();
    near(sum.sigma(), number(&row("u_y")[2]), half_last_digit(&row("u_y")[2]));
    let half = coverage_factor_95(f64::INFINITY) * sum.sigma();
    for column in [2, 3] {
        let (low, high) = row("95%_interval")[column].split_once(';').unwrap();
        near(half, number(high), half_last_digit(high));
        near(-half, number(low), half_last_digit(low));
    }
}

/// GUM H.1.6: terms with their degrees of freedom to the expanded uncertainty, U99 = t99(16) u = 93 nm with 16.7 effective degrees.
#[test]
fn gum_h1_expanded() {
    let table = rows("gum_h1_end_gauge.csv");
    let names = ["ls_standard", "d_difference", "delta_alpha", "delta_theta"];
    let parts: Vec<(f64, f64)> = names.map(|n| (number(&named(&table, n)[0]), number(&named(&table, n)[1]))).into();
    let length = names.iter().zip(&parts).fold(Measured::exact(50_000_838.0), |m, (n, p)| m.with_term(*n, p.0));
    let own: Vec<(f64, f64)> = names.iter().zip(&parts).map(|(n, p)| (length.variance_of(|s| s.to_string() == *n).sqrt(), p.1)).collect();
    let nu = welch_satterthwaite(&own);
    // published 16.7 with u² = 1002 nm²; the four printed contributions square to 1003.06
    near(nu * (1002.0 / length.variance_of(|_| true)).powi(2), number(&named(&table, "published_nu_eff")[0]), 0.05);
    near(nu.floor(), 16.0, 0.0);
    let t = t_quantile(0.995, 16.0);
    near(t, number(&named(&table, "published_t99_16")[0]), 0.005);
    near(t * length.sigma(), number(&named(&table, "published_U99_nm")[0]), 0.7);
}

/// Half width that holds 95 % of draws of a sum of rectangular quantities, and the share of them that a band holds.
fn drawn(sds: &[f64], band: f64) -> (f64, f64) {
    let mut rng = ChaCha8Rng::seed_from_u64(101);
    let n = 400_000;
    let mut sums: Vec<f64> = (0..n).map(|_| sds.iter().map(|s| s * 3f64.sqrt() * rng.random_range(-1.0..1.0)).sum::<f64>().abs()).collect();
    sums.sort_by(f64::total_cmp);
    (sums[n * 95 / 100], sums.partition_point(|v| *v <= band) as f64 / n as f64)
}

/// JCGM 101:2008 9.2.3 and 9.2.4: sums of four rectangular quantities of standard deviations 1, 1, 1, 1 and 1, 1, 1, 10. The terms give
/// the published u and the band of the GUM's own way; draws give the published shorter intervals. So a band from terms holds the truth
/// more often than 95 times in 100 there, never less often: the price of a declared limit.
#[test]
fn jcgm101_rectangular() {
    let table = rows("jcgm101_106_examples.csv");
    let cell = |example: &str, quantity: &str| table.iter().find(|r| r[0] == example && r[1] == quantity).unwrap()[2].clone();
    let high = |interval: &str| interval.split_once(';').unwrap().1.to_string();
    let (equal, one) = ("JCGM101_9.2.3_four_rectangular_sd1", "JCGM101_9.2.4_rect_sd_1_1_1_10");
    let cases = [
        ([1.0, 1.0, 1.0, 1.0], cell(equal, "u_y"), "3.92".to_string(), high(&cell(equal, "95%_interval")), 0.951..0.956),
        ([1.0, 1.0, 1.0, 10.0], cell(one, "GUF_u"), high(&cell(one, "GUF_95%")), high(&cell(one, "MCM_95%")), 0.99..1.0),
    ];
    for (sds, u, band, shortest, share) in cases {
        let sum = sds.iter().enumerate().fold(Measured::exact(0.0), |m, (i, s)| m.with_term(format!("x{i}"), *s));
        near(sum.sigma(), number(&u), half_last_digit(&u));
        let own = coverage_factor_95(f64::INFINITY) * sum.sigma();
        near(own, number(&band), half_last_digit(&band));
        let (half, held) = drawn(&sds, own);
        // 400 000 draws place the 95 % point to 0.3 % (binomial, two sigma)
        near(half, number(&shortest), half_last_digit(&shortest) + 0.003 * half);
        assert!(share.contains(&held), "{sds:?}: {held}");
    }
}

/// What is fully shared cancels to exactly nothing, and correlation is only bookkeeping.
#[test]
fn the_same_thing_twice_is_no_difference() {
    let x = Measured::exact(0.1).with_term("dial:1f2e/mark/3", 0.3).with_term("photo:77ab/needle", -0.7);
    let none = x.minus(&x);
    assert_eq!((none.value(), none.sigma()), (0.0, 0.0));
    assert_eq!(x.minus(&x.clone().scaled(1.0)).sigma(), 0.0);
    assert_eq!(Measured::mean(&[]), None);
    let mean = Measured::mean(&[x.clone(), x.clone(), x.clone(), x.clone()]).unwrap();
    close(mean.sigma(), x.sigma(), 1e-15);
    // Four photos of one dial: the mark stays, the needle averages.
    let photos: Vec<_> = (0..4).map(|i| Measured::exact(90.0).with_term("mark", 0.6).with_term(format!("needle{i}"), 0.8)).collect();
    close(Measured::mean(&photos).unwrap().sigma(), (0.36_f64 + 0.64 / 4.0).sqrt(), 1e-15);
    // Signs count: a source that lifts one and lowers the other adds up in their difference.
    let (up, down) = (Measured::exact(1.0).with_term("tilt", 0.5), Measured::exact(1.0).with_term("tilt", -0.5));
    assert_eq!((up.minus(&down).sigma(), up.plus(&down).sigma()), (1.0, 0.0));
}

/// L Lᵀ gives the covariance back, also when it is singular, of mixed units, or slightly not positive through rounding.
#[test]
fn terms_reproduce_the_covariance() {
    let cases = [
        // Two quantities that are one and the same.
        DMatrix::from_row_slice(2, 2, &[4.0, -2.0, -2.0, 1.0]),
        // A quantity without uncertainty among others.
        DMatrix::from_row_slice(3, 3, &[1.0, 0.0, 0.5, 0.0, 0.0, 0.0, 0.5, 0.0, 1.0]),
        // Pixels beside a perspective entry of 1e-7.
        DMatrix::from_row_slice(2, 2, &[0.25, 3e-8, 3e-8, 1e-14]),
        DMatrix::zeros(2, 2),
    ];
    for c in cases {
        let l = independent_terms(&c);
        let back = &l * l.transpose();
        for i in 0..c.nrows() {
            for j in 0..c.nrows() {
                near(back[(i, j)], c[(i, j)], 1e-14 * (c[(i, i)] * c[(j, j)]).sqrt());
            }
        }
    }
}

/// Unknown must not turn into certain.
#[test]
fn a_covariance_that_is_not_a_number_stays_unknown() {
    for bad in [f64::NAN, f64::INFINITY] {
        let l = independent_terms(&DMatrix::from_row_slice(2, 2, &[bad, 0.0, 0.0, 4.0]));
        let sigma = |i: usize| (0..2).fold(Measured::exact(0.0), |m, k| m.with_term(format!("{k}"), l[(i, k)])).sigma();
        assert!(sigma(0).is_nan());
        assert_eq!(sigma(1), 2.0);
        let l = independent_terms(&DMatrix::from_row_slice(2, 2, &[1.0, bad, bad, 4.0]));
        assert!(l.iter().all(|e| e.is_nan()));
    }
}

/// GUM H.3 through terms: y1 and y2 with r = -0.930 give u(30 °C) = 0.0041 only when the correlation travels along.
#[test]
fn terms_carry_the_correlation_of_gum_h3() {
    let table = rows("gum_h3_results.csv");
    let get = |name: &str| number(&named(&table, name)[1]);
    let (u1, u2, r) = (get("u_y1_degC"), get("u_y2"), get("r_y1_y2"));
    let l = independent_terms(&DMatrix::from_row_slice(2, 2, &[u1 * u1, r * u1 * u2, r * u1 * u2, u2 * u2]));
    let quantity = |value: f64, i: usize| (0..2).fold(Measured::exact(value), |m, k| m.with_term(format!("fit/{k}"), l[(i, k)]));
    let at_30 = quantity(get("y1_intercept_degC"), 0).plus(&quantity(get("y2_slope"), 1).scaled(10.0));
    close(at_30.value(), get("b_30degC"), 1e-12);
    close(at_30.sigma(), get("u_b_30degC"), 1e-10);
}

/// NIST SP 811: exact pairs of °C and °F. The cells are printed to fifteen digits at most.
#[test]
fn temperatures_convert_exactly() {
    let table = rows("temperature_conversion_exact.csv");
    assert_eq!(table.len(), 33);
    for r in &table {
        let (c, f) = (number(&r[0]), number(&r[1]));
        near(Unit::C.convert(c, Unit::F), f, 1e-12);
        near(Unit::F.convert(f, Unit::C), c, 1e-12);
        assert_eq!(Unit::C.convert(c, Unit::C), c);
    }
    assert_eq!(Unit::C.convert(-40.0, Unit::F), -40.0);
    assert_eq!(Unit::F.convert(-40.0, Unit::C), -40.0);
}

/// A difference of 5 K is 9 °F, with no 32 added (NIST SP 811, B.8: 1 °F as an interval is 5/9 K); so is a sigma.
#[test]
fn differences_convert_without_offset() {
    assert_eq!(Unit::C.convert_difference(5.0, Unit::F), 9.0);
    assert_eq!(Unit::F.convert_difference(9.0, Unit::C), 5.0);
    assert_eq!(Unit::C.convert_difference(0.0, Unit::F), 0.0);
    assert_eq!(Unit::F.convert_difference(3.0, Unit::F), 3.0);
    assert_eq!((Unit::C.other(), Unit::F.other()), (Some(Unit::F), Some(Unit::C)));
}

proptest! {
    #![proptest_config(super::fixed_seed())]

    /// Any covariance A Aᵀ, of full rank or less, comes back from its terms.
    #[test]
    fn any_covariance_comes_back(entries in prop::collection::vec(-5.0..5.0_f64, 12), rank in 1..4_usize, unit in 1e-6..1e6_f64) {
        let mut a = DMatrix::from_fn(4, rank, |i, j| entries[3 * i + j]);
        a.row_mut(0).scale_mut(unit);
        let c = &a * a.transpose();
        let l = independent_terms(&c);
        let back = &l * l.transpose();
        for i in 0..4 {
            for j in 0..4 {
                prop_assert!((back[(i, j)] - c[(i, j)]).abs() <= 1e-12 * (c[(i, i)] * c[(j, j)]).sqrt());
            }
        }
    }

    /// A difference converts like the two temperatures it is the difference of.
    #[test]
    fn difference_of_converted_is_converted_difference(a in -60.0..300.0_f64, b in -60.0..300.0_f64) {
        let d = Unit::C.convert(a, Unit::F) - Unit::C.convert(b, Unit::F);
        prop_assert!((d - Unit::C.convert_difference(a - b, Unit::F)).abs() < 1e-11);
        prop_assert!((Unit::F.convert(Unit::C.convert(a, Unit::F), Unit::C) - a).abs() < 1e-12 * 300.0);
    }

    /// x - x is exactly 0 ± 0 whatever the terms.
    #[test]
    fn nothing_left_of_x_minus_x(value in -1e6..1e6_f64, terms in prop::collection::btree_map("[a-z]{1,3}", -10.0..10.0_f64, 0..6)) {
        let x = Measured::new(value, terms);
        prop_assert_eq!((x.minus(&x).value(), x.minus(&x).sigma()), (0.0, 0.0));
    }
}
