//! Homographies against exact fractions and an over-determined case (two independent libraries agree on it).
use super::{close, near, number, rows};
use nalgebra::{Matrix2, Vector2};
use needleband::base::homography::{Homography, HomographyError};
use needleband::base::homography_fit::HomographyFit;
use needleband::base::solve::Noise;
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};

type Points = Vec<Vector2<f64>>;

fn v(points: &[(f64, f64)]) -> Points {
    points.iter().map(|p| Vector2::new(p.0, p.1)).collect()
}

/// Exact rational arithmetic. The second case has entries over four decades; 1e-11 is rounding at coordinates of 400.
#[test]
fn four_points_exact() {
    let cases = [
        ("unit_square_to_quad", v(&[(0., 0.), (1., 0.), (1., 1.), (0., 1.)]), v(&[(2., 1.), (8., 2.), (7., 6.), (3., 5.)])),
        (
            "opencv_tutorial_4pts",
            v(&[(56., 65.), (368., 52.), (28., 387.), (389., 390.)]),
            v(&[(0., 0.), (300., 0.), (0., 300.), (300., 300.)]),
        ),
    ];
    let table = rows("homography_4pt_exact.csv");
    for (name, src, dst) in cases {
        let expected: Vec<f64> = table.iter().filter(|r| r[0] == name).map(|r| number(&r[3])).collect();
        assert_eq!(expected.len(), 9);
        for h in [Homography::from_points(&src, &dst).unwrap(), Homography::direct(&src, &dst).unwrap()] {
            for (got, expected) in h.parameters().iter().zip(&expected) {
                close(*got, *expected, 1e-11);
            }
        }
        assert_eq!(HomographyFit::new(&src, &dst, None, Noise::FromScatter).unwrap().covariance, None);
    }
}

fn overdetermined() -> (Points, Points, Vec<Vec<String>>) {
    let table = rows("homography_overdetermined.csv");
    let points = |i: usize| table.iter().filter(|r| r[0] == "point").map(|r| Vector2::new(number(&r[i]), number(&r[i + 1]))).collect();
    (points(1), points(3), table)
}

/// Entries of the reference rows `method_row1..3` and its rms, against a map.
fn compare(table: &[Vec<String>], method: &str, h: &Homography, relative: f64) {
    for i in 0..3 {
        let row = super::named(table, &format!("{method}_row{}", i + 1));
        for (j, cell) in row.iter().take(3).enumerate() {
            close(h.matrix()[(i, j)], number(cell), relative);
        }
    }
}

/// Least forward transfer error; the reference minimiser stopped at about 1e-8 of each entry, its rms is good to 1e-12.
#[test]
fn overdetermined_least_transfer_error() {
    let (src, dst, table) = overdetermined();
    let fit = HomographyFit::new(&src, &dst, None, Noise::FromScatter).unwrap();
    compare(&table, "min_forward_transfer_error", &fit.homography, 2e-7);
    let rms = number(&super::named(&table, "min_forward_transfer_error_rms_px")[0]);
    close(fit.rms(), rms, 1e-11);
    assert_eq!(fit.dof, 10);
}

/// Normalised direct linear transform without refinement (Hartley & Zisserman, algorithm 4.2).
#[test]
fn overdetermined_direct() {
    let (src, dst, table) = overdetermined();
    let h = Homography::direct(&src, &dst).unwrap();
    compare(&table, "normalised_DLT", &h, 1e-10);
    let rms = (src.iter().zip(&dst).map(|(p, q)| (h.apply(*p) - q).norm_squared()).sum::<f64>() / 9.0).sqrt();
    close(rms, number(&super::named(&table, "normalised_DLT_rms_px")[0]), 1e-10);
}

/// A pair of weight zero is as good as absent; a weight of two is the pair given twice.
#[test]
fn weights_count_pairs() {
    let (src, mut dst, _) = overdetermined();
    let (mut twice_src, mut twice_dst) = (src[..8].to_vec(), dst[..8].to_vec());
    twice_src.push(src[2]);
    twice_dst.push(dst[2]);
    dst[8] += Vector2::new(40.0, -7.0);
    let weights = [1., 1., 2., 1., 1., 1., 1., 1., 0.];
    let weighted = HomographyFit::new(&src, &dst, Some(&weights), Noise::Sigma(0.3)).unwrap();
    let repeated = HomographyFit::new(&twice_src, &twice_dst, None, Noise::Sigma(0.3)).unwrap();
    for i in 0..8 {
        close(weighted.homography.parameters()[i], repeated.homography.parameters()[i], 1e-9);
        close(weighted.covariance.unwrap()[(i, i)], repeated.covariance.unwrap()[(i, i)], 1e-7);
    }
    assert_eq!((weighted.dof, repeated.dof), (8, 10));
    near(weighted.residuals[8].norm(), 40.6, 2.0);
}

/// The covariance against 4000 noisy repeats. A variance from 4000 normal draws is known to 2.2 % (one sigma): 8 % is 3.6 sigma.
#[test]
fn covariance_is_what_repeats_scatter() {
    let (src, dst, _) = overdetermined();
    let truth = Homography::from_points(&src, &dst).unwrap();
    let sigma = 0.3;
    let exact: Vec<_> = src.iter().map(|p| truth.apply(*p)).collect();
    let predicted = HomographyFit::new(&src, &exact, None, Noise::Sigma(sigma)).unwrap();
    let mut rng = rand::rngs::ChaCha8Rng::seed_from_u64(7);
    let mut normal = || needleband::base::student::normal_quantile(rng.random_range(1e-12..1.0));
    let at = Vector2::new(260.0, 90.0);
    let (mut spread, mut estimated, runs) = (Matrix2::zeros(), 0.0, 4000);
    for _ in 0..runs {
        let noisy: Vec<_> = exact.iter().map(|q| q + sigma * Vector2::new(normal(), normal())).collect();
        let fit = HomographyFit::new(&src, &noisy, None, Noise::FromScatter).unwrap();
        let d = fit.homography.apply(at) - truth.apply(at);
        spread += d * d.transpose() / f64::from(runs);
        estimated += fit.rss / fit.dof as f64 / f64::from(runs);
    }
    let expected = predicted.point_covariance(at).unwrap();
    close(spread[(0, 0)], expected[(0, 0)], 0.08);
    close(spread[(1, 1)], expected[(1, 1)], 0.08);
    near(spread[(0, 1)], expected[(0, 1)], 0.08 * (expected[(0, 0)] * expected[(1, 1)]).sqrt());
    // Mean of rss/dof is sigma² without bias, to 0.7 % here.
    close(estimated, sigma * sigma, 0.025);
}

/// What cannot fix a map is refused, by name.
#[test]
fn degenerate_points_are_errors() {
    let square = v(&[(0., 0.), (1., 0.), (1., 1.), (0., 1.)]);
    let quad = v(&[(2., 1.), (8., 2.), (7., 6.), (3., 5.)]);
    let three_on_a_line = v(&[(0., 0.), (1., 1.), (2., 2.), (0., 1.)]);
    let all_on_a_line = v(&[(0., 0.), (1., 1.), (2., 2.), (3., 3.), (4., 4.)]);
    let same = v(&[(3., 3.); 4]);
    let bow_tie = v(&[(2., 1.), (7., 6.), (8., 2.), (3., 5.)]);
    let fit = |a: &[Vector2<f64>], b: &[Vector2<f64>]| Homography::from_points(a, b).unwrap_err();
    assert_eq!(fit(&square[..3], &quad[..3]), HomographyError::TooFew(3));
    assert_eq!(fit(&square, &quad[..3]), HomographyError::Lengths { src: 4, dst: 3, weights: 4 });
    assert_eq!(fit(&three_on_a_line, &quad), HomographyError::Degenerate);
    assert_eq!(fit(&square, &three_on_a_line), HomographyError::Degenerate);
    assert_eq!(fit(&three_on_a_line, &three_on_a_line), HomographyError::Degenerate);
    assert_eq!(fit(&all_on_a_line, &all_on_a_line), HomographyError::Degenerate);
    assert_eq!(fit(&same, &quad), HomographyError::Degenerate);
    assert_eq!(fit(&square, &bow_tie), HomographyError::HorizonBetweenPoints);
    let broken = v(&[(0., 0.), (1., 0.), (f64::NAN, 1.), (0., 1.)]);
    assert_eq!(fit(&broken, &quad), HomographyError::NotFinite(2));
    let weights = Some(&[1.0, 1.0, -1.0, 1.0][..]);
    assert_eq!(HomographyFit::new(&square, &quad, weights, Noise::FromScatter), Err(HomographyError::NotFinite(2)));
    let weights = Some(&[1.0, 1.0, 0.0, 1.0][..]);
    assert_eq!(HomographyFit::new(&square, &quad, weights, Noise::FromScatter), Err(HomographyError::TooFew(3)));
}

fn map() -> impl Strategy<Value = Homography> {
    let quad = prop::collection::vec((-0.2..0.2_f64, -0.2..0.2_f64), 4);
    (quad, 50.0..900.0_f64, 0.0..std::f64::consts::TAU, -2000.0..2000.0_f64).prop_map(|(moved, size, turn, shift)| {
        let corners = v(&[(-1., -1.), (1., -1.), (1., 1.), (-1., 1.)]);
        let turn = nalgebra::Rotation2::new(turn);
        let image: Vec<_> =
            corners.iter().zip(moved).map(|(c, m)| turn * (c + Vector2::new(m.0, m.1)) * size + Vector2::new(shift, 500.0)).collect();
        Homography::from_points(&corners, &image).unwrap()
    })
}

proptest! {
    #![proptest_config(super::fixed_seed())]

    #[test]
    fn inverse_is_inverse(h in map(), x in -1.0..1.0_f64, y in -1.0..1.0_f64) {
        let p = Vector2::new(x, y);
        prop_assume!(h.inverse().is_ok());
        prop_assert!((h.inverse().unwrap().apply(h.apply(p)) - p).norm() < 1e-9);
    }

    #[test]
    fn then_is_one_after_the_other(h in map(), g in map(), x in -1.0..1.0_f64, y in -1.0..1.0_f64) {
        let p = Vector2::new(x, y);
        let back = g.inverse();
        prop_assume!(back.is_ok());
        let both = h.then(&back.unwrap());
        prop_assume!(both.is_ok());
        let two_steps = back.unwrap().apply(h.apply(p));
        prop_assume!(two_steps.norm() < 1e3);
        prop_assert!((both.unwrap().apply(p) - two_steps).norm() < 1e-9 * (1.0 + two_steps.norm_squared()));
    }

    #[test]
    fn jacobians_are_derivatives(h in map(), x in -1.0..1.0_f64, y in -1.0..1.0_f64) {
        let (p, step) = (Vector2::new(x, y), 1e-6);
        let size = h.apply(p).norm() + 1000.0;
        for (axis, d) in [Vector2::x(), Vector2::y()].into_iter().enumerate() {
            let slope = (h.apply(p + d * step) - h.apply(p - d * step)) / (2.0 * step);
            prop_assert!((slope - h.jacobian(p).column(axis)).norm() < 1e-6 * size);
        }
        for k in 0..8 {
            let moved = |by: f64| {
                let mut m = *h.matrix();
                m[(k / 3, k % 3)] += by;
                Homography::from_matrix(&m).unwrap().apply(p)
            };
            let slope = (moved(step) - moved(-step)) / (2.0 * step);
            prop_assert!((slope - h.parameter_jacobian(p).column(k)).norm() < 1e-6 * size);
        }
    }

    /// Points seen through a map give that map back, whatever the number of points.
    #[test]
    fn exact_points_give_the_map_back(h in map(), points in prop::collection::vec((-1.0..1.0_f64, -1.0..1.0_f64), 6..20)) {
        let src = v(&points);
        let dst: Vec<_> = src.iter().map(|p| h.apply(*p)).collect();
        let fitted = Homography::from_points(&src, &dst);
        prop_assume!(fitted.is_ok());
        for (p, q) in src.iter().zip(&dst) {
            prop_assert!((fitted.unwrap().apply(*p) - q).norm() < 1e-6);
        }
    }
}
