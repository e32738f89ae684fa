//! Straight lines against the GUM, certified regression data and published total least squares fits.
use super::{close, half_last_digit, named, near, number, pairs, rows};
use nalgebra::Vector2;
use needleband::base::line::LineFit;
use needleband::base::solve::Noise;
use needleband::base::straight::StraightLine;
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};

/// GUM H.3, calibration of a thermometer: y = y1 + y2 (t - 20 °C). Printed values within their rounding, and a
/// recomputation at full precision.
#[test]
fn gum_h3_thermometer() {
    let table = rows("gum_h3.csv");
    let (t, b): (Vec<f64>, Vec<f64>) = table.iter().map(|r| (number(&r[1]), number(&r[2]))).unzip();
    let fit = StraightLine::new(&t, &b, None, 20.0, Noise::FromScatter).unwrap();
    let c = fit.covariance.unwrap();
    let results = rows("gum_h3_results.csv");
    let expect = |name: &str, got: f64| {
        let cells = named(&results, name);
        near(got, number(&cells[0]), half_last_digit(&cells[0]) + 1e-12);
        close(got, number(&cells[1]), 1e-10);
    };
    expect("y1_intercept_degC", fit.a);
    expect("u_y1_degC", c[(0, 0)].sqrt());
    expect("y2_slope", fit.b);
    expect("u_y2", c[(1, 1)].sqrt());
    expect("r_y1_y2", fit.correlation().unwrap());
    expect("s_residual_degC", (fit.rss / fit.dof as f64).sqrt());
    expect("b_30degC", fit.value(30.0));
    expect("u_b_30degC", fit.sigma(30.0).unwrap());
    assert_eq!(fit.dof, 9);
    // H.3.4: leaving the correlation out would give 0.0073 instead of 0.0041.
    near((c[(0, 0)] + 100.0 * c[(1, 1)]).sqrt(), 0.0073, 0.00005);
    near(fit.sigma(30.0).unwrap(), 0.0041, 0.00005);
    // H.3.5: with the origin at the mean temperature the correlation is zero.
    let at_mean = StraightLine::new(&t, &b, None, t.iter().sum::<f64>() / 11.0, Noise::FromScatter).unwrap();
    near(at_mean.correlation().unwrap(), 0.0, 1e-12);
    close(at_mean.sigma(30.0).unwrap(), fit.sigma(30.0).unwrap(), 1e-9);
}

/// NIST StRD, Norris (linear regression): certified to 15 digits; ten are asked for, standard errors included.
#[test]
fn nist_norris() {
    let (x, y) = pairs("nist_norris.csv");
    let fit = StraightLine::new(&x, &y, None, 0.0, Noise::FromScatter).unwrap();
    let c = fit.covariance.unwrap();
    let table = rows("nist_norris_certified.csv");
    let certified = |name: &str| number(&named(&table, name)[0]);
    close(fit.a, certified("B0"), 1e-10);
    close(fit.b, certified("B1"), 1e-12);
    close(c[(0, 0)].sqrt(), certified("sd_B0"), 1e-10);
    close(c[(1, 1)].sqrt(), certified("sd_B1"), 1e-10);
    close(fit.rss, certified("SS_residual"), 1e-10);
    close((fit.rss / fit.dof as f64).sqrt(), certified("residual_sd"), 1e-10);
    assert_eq!(fit.dof as f64, certified("residual_dof"));
}

fn pearson() -> Vec<[f64; 4]> {
    rows("tls_pearson_york.csv").iter().map(|r| [number(&r[0]), number(&r[1]), number(&r[2]), number(&r[3])]).collect()
}

/// Pearson 1901, unweighted total least squares.
#[test]
fn pearson_total_least_squares() {
    let points: Vec<_> = pearson().iter().map(|r| Vector2::new(r[0], r[1])).collect();
    let fit = LineFit::new(&points, None, Noise::FromScatter).unwrap();
    let results = rows("tls_pearson_york_results.csv");
    let value = |name: &str, column: usize| number(&named(&results, name)[column]);
    let slope = fit.angle().tan();
    let intercept = fit.centroid.y - slope * fit.centroid.x;
    near(slope, value("unweighted_TLS_slope", 0), 0.5e-5);
    close(slope, value("unweighted_TLS_slope", 1), 1e-12);
    near(intercept, value("unweighted_TLS_intercept", 0), 0.5e-3);
    close(intercept, value("unweighted_TLS_intercept", 1), 1e-12);
    near(fit.centroid.x, 3.82, 1e-12);
    near(fit.centroid.y, 3.70, 1e-12);
    // The same line, told by its offset from the origin.
    near(fit.offset(Vector2::zeros()), intercept * fit.angle().cos(), 1e-12);
}

/// York's weights on Pearson's data; slope by Neri et al. 1989, standard errors by York et al. 2004 (not the smaller ones of
/// Kalantar 1992, 0.057617 and 0.29193).
#[test]
fn york_both_coordinates() {
    let data = pearson();
    let column = |k: usize| data.iter().map(|r| r[k]).collect::<Vec<_>>();
    let sigma = |k: usize| data.iter().map(|r| 1.0 / r[k].sqrt()).collect::<Vec<_>>();
    let fit = StraightLine::york(&column(0), &column(1), &sigma(2), &sigma(3), 0.0).unwrap();
    let c = fit.covariance.unwrap();
    let results = rows("tls_pearson_york_results.csv");
    let expect = |name: &str, got: f64| {
        let cells = named(&results, name);
        near(got, number(&cells[0]), half_last_digit(&cells[0]));
        if !cells[1].is_empty() {
            close(got, number(&cells[1]), 1e-11);
        }
    };
    expect("york_slope", fit.b);
    expect("york_intercept", fit.a);
    expect("york_sd_slope(York 2004)", c[(1, 1)].sqrt());
    expect("york_sd_intercept(York 2004)", c[(0, 0)].sqrt());
    expect("chi2", fit.rss);
    expect("reduced_chi2", fit.rss / fit.dof as f64);
}

/// The angle's sigma of a line through L rows a pixel apart, each known to sd_row, is √12 sd_row / L^1.5 for large L (Cramér–Rao
/// bound of an edge, sd_row² = 2√π s σ²/A²). For L rows exactly it is √12 sd_row / √(L³ - L): 0.014 % more for 60 and 0.056 %
/// for 30 rows.
#[test]
fn edge_line_meets_the_bound() {
    for r in rows("crb_edge_line.csv").iter().filter(|r| r[4] == "none") {
        let (rows, blur, contrast, noise) = (number(&r[0]), number(&r[1]), number(&r[2]), number(&r[3]));
        let sd_row = (2.0 * std::f64::consts::PI.sqrt() * blur).sqrt() * noise / contrast;
        let points: Vec<_> = (0..rows as usize).map(|i| Vector2::new(i as f64, 7.0)).collect();
        let fit = LineFit::new(&points, None, Noise::Sigma(sd_row)).unwrap();
        let c = fit.covariance(fit.centroid).unwrap();
        close(c[(0, 0)].sqrt().to_degrees(), number(&r[7]), 0.0006);
        close(c[(1, 1)].sqrt(), number(&r[5]), 0.0006);
    }
}

/// Angle and offset of a tilted line, the offset taken from an origin beyond its end, against 4000 noisy repeats (3.6 sigma of a
/// variance from 4000 draws). The lever arm makes the two strongly correlated; the sign of that is part of the check.
#[test]
fn line_covariance_is_what_repeats_scatter() {
    let (spin, sigma, origin) = (nalgebra::Rotation2::new(0.7), 0.3, Vector2::new(-60.0, -90.0));
    let clean: Vec<_> = (0..25).map(|i| spin * Vector2::new(4.0 * f64::from(i), 0.0)).collect();
    let truth = LineFit::new(&clean, None, Noise::Sigma(sigma)).unwrap();
    let predicted = truth.covariance(origin).unwrap();
    let mut rng = rand::rngs::ChaCha8Rng::seed_from_u64(5);
    let mut normal = || needleband::base::student::normal_quantile(rng.random_range(1e-12..1.0));
    let (runs, mut spread) = (4000, nalgebra::Matrix2::zeros());
    for _ in 0..runs {
        let noisy: Vec<_> = clean.iter().map(|p| p + Vector2::new(normal(), normal()) * sigma).collect();
        let fit = LineFit::new(&noisy, None, Noise::Sigma(sigma)).unwrap();
        let d = Vector2::new(fit.angle() - truth.angle(), fit.offset(origin) - truth.offset(origin));
        spread += d * d.transpose() / f64::from(runs);
    }
    for (i, j) in [(0, 0), (0, 1), (1, 1)] {
        near(spread[(i, j)], predicted[(i, j)], 0.08 * (predicted[(i, i)] * predicted[(j, j)]).sqrt());
    }
    assert!(predicted[(0, 1)].abs() > 0.9 * (predicted[(0, 0)] * predicted[(1, 1)]).sqrt());
}

proptest! {
    #![proptest_config(super::fixed_seed())]

    /// Turning and shifting the points turns and shifts the line; the uncertainty stays the same.
    #[test]
    fn total_least_squares_turns_with_the_points(
        points in prop::collection::vec((-50.0..50.0_f64, -1.0..1.0_f64), 5..30), turn in -1.5..1.5_f64, x in -500.0..500.0_f64,
    ) {
        let flat: Vec<_> = points.iter().enumerate().map(|(i, p)| Vector2::new(p.0 + 20.0 * i as f64, p.1)).collect();
        let (spin, shift) = (nalgebra::Rotation2::new(turn), Vector2::new(x, -x));
        let moved: Vec<_> = flat.iter().map(|p| spin * p + shift).collect();
        let (a, b) = (LineFit::new(&flat, None, Noise::FromScatter).unwrap(), LineFit::new(&moved, None, Noise::FromScatter).unwrap());
        let half_turn = std::f64::consts::PI;
        let difference = (b.angle() - a.angle() - turn + 2.5 * half_turn).rem_euclid(half_turn) - 0.5 * half_turn;
        prop_assert!(difference.abs() < 1e-10);
        let origin = Vector2::new(3.0, 4.0);
        let there = spin * origin + shift;
        prop_assert!((b.offset(there).abs() - a.offset(origin).abs()).abs() < 1e-8);
        let (ca, cb) = (a.covariance(origin).unwrap(), b.covariance(there).unwrap());
        prop_assert!((ca[(0, 0)] - cb[(0, 0)]).abs() < 1e-8 * ca[(0, 0)] && (ca[(1, 1)] - cb[(1, 1)]).abs() < 1e-8 * ca[(1, 1)]);
    }
}
