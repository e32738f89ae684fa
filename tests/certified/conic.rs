//! Circles and ellipses against Gander, Golub & Strebel 1994 and two independent programs.
use super::{close, named, near, number, pairs, rows};
use nalgebra::{Matrix3, Vector2, Vector3};
use needleband::base::conic::{Circle, CircleFit, ConicError, Ellipse};
use needleband::base::solve::Noise;
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};

fn points(file: &str) -> Vec<Vector2<f64>> {
    let (x, y) = pairs(file);
    x.iter().zip(&y).map(|(x, y)| Vector2::new(*x, *y)).collect()
}

fn six_points() -> Vec<Vector2<f64>> {
    rows("circle_fit_gander6.csv").iter().filter(|r| r[0] == "point").map(|r| Vector2::new(number(&r[1]), number(&r[2]))).collect()
}

fn check_circle(c: &Circle, row: &str, tolerance: f64) {
    let expected = named(&rows("circle_fit_gander6.csv"), row);
    near(c.centre.x, number(&expected[0]), tolerance);
    near(c.centre.y, number(&expected[1]), tolerance);
    near(c.radius, number(&expected[2]), tolerance);
}

/// The six points of Gander, Golub & Strebel: the geometric fit (published digits recalled; recomputed to 1e-8, which is as
/// far as a flat minimum lets two programs agree) and the linear fit of Kåsa.
#[test]
fn circle_through_six_points() {
    let fit = CircleFit::new(&six_points(), Noise::FromScatter).unwrap();
    check_circle(&fit.circle, "geometric_published(recalled)", 0.5e-4);
    check_circle(&fit.circle, "geometric_recomputed", 2e-7);
    check_circle(&Circle::algebraic(&six_points()).unwrap(), "kasa_LS_recomputed", 1e-8);
    assert_eq!(fit.dof, 3);
}

fn check_ellipse(e: &Ellipse, row: &[String], relative: f64) {
    close(e.centre.x, number(&row[2]), relative);
    close(e.centre.y, number(&row[3]), relative);
    close(e.semi_major, number(&row[4]), relative);
    close(e.semi_minor, number(&row[5]), relative);
    near(e.angle, number(&row[6]), relative);
}

/// The direct fit against two programs that agree: eight far-off points, points on an exact ellipse, the same rounded to a tenth
/// and an arc of 135° of them. The arc leaves a badly conditioned system: 1e-9 there.
#[test]
fn direct_ellipse() {
    let rounded = points("ellipse_points_rounded24.csv");
    let truth = Ellipse { centre: Vector2::new(320.0, 240.0), semi_major: 120.0, semi_minor: 80.0, angle: 20f64.to_radians() };
    let exact: Vec<_> = (0..24).map(|k| truth.point(f64::from(15 * k).to_radians())).collect();
    let sets = [
        ("gander8", points("ellipse_points_gander8.csv"), 1e-11),
        ("exact24", exact, 1e-11),
        ("rounded0.1_24", rounded.clone(), 1e-11),
        ("rounded0.1_arc135deg", rounded[..10].to_vec(), 1e-9),
    ];
    let table = rows("ellipse_fit_results.csv");
    for (name, points, relative) in sets {
        let fit = Ellipse::direct(&points).unwrap();
        for method in ["halir_flusser_own", "skimage_EllipseModel"] {
            let row = table.iter().find(|r| r[0] == name && r[1] == method).unwrap();
            check_ellipse(&fit, row, relative);
        }
    }
}

/// The covariance of a circle through an arc of 90° against 4000 noisy repeats (3.6 sigma of a variance from 4000 draws), the
/// noise small enough that the fit is linear: 1e-4 of the radius.
#[test]
fn circle_covariance_is_what_repeats_scatter() {
    let truth = Circle { centre: Vector2::new(400.0, 300.0), radius: 250.0 };
    let exact: Vec<_> = (0..15).map(|k| f64::from(k) * std::f64::consts::FRAC_PI_2 / 14.0).collect();
    let sigma = 0.025;
    let mut rng = rand::rngs::ChaCha8Rng::seed_from_u64(11);
    let mut normal = || needleband::base::student::normal_quantile(rng.random_range(1e-12..1.0));
    let on = |t: f64, r: f64| truth.centre + Vector2::new(t.cos(), t.sin()) * r;
    let clean: Vec<_> = exact.iter().map(|t| on(*t, truth.radius)).collect();
    let predicted = CircleFit::new(&clean, Noise::Sigma(sigma)).unwrap().covariance.unwrap();
    let (runs, mut spread) = (4000, Matrix3::zeros());
    for _ in 0..runs {
        let noisy: Vec<_> = clean.iter().map(|p| p + Vector2::new(normal(), normal()) * sigma).collect();
        let c = CircleFit::new(&noisy, Noise::Sigma(sigma)).unwrap().circle;
        let d = Vector3::new(c.centre.x - truth.centre.x, c.centre.y - truth.centre.y, c.radius - truth.radius);
        spread += d * d.transpose() / f64::from(runs);
    }
    for i in 0..3 {
        for j in 0..3 {
            near(spread[(i, j)], predicted[(i, j)], 0.08 * (predicted[(i, i)] * predicted[(j, j)]).sqrt());
        }
    }
}

#[test]
fn points_that_fix_no_conic() {
    let line: Vec<_> = (0..8).map(|i| Vector2::new(f64::from(i) * 0.37, 5.0 - f64::from(i) * 1.1)).collect();
    assert_eq!(Circle::algebraic(&line), Err(ConicError::Degenerate));
    assert_eq!(Ellipse::direct(&line), Err(ConicError::Degenerate));
    assert_eq!(Ellipse::direct(&[Vector2::new(1.0, 1.0); 6]), Err(ConicError::Degenerate));
    assert_eq!(CircleFit::new(&line[..2], Noise::FromScatter), Err(ConicError::TooFew { needed: 3, got: 2 }));
    assert_eq!(Ellipse::direct(&line[..4]), Err(ConicError::TooFew { needed: 5, got: 4 }));
    let broken = [Vector2::new(0.0, 0.0), Vector2::new(1.0, f64::INFINITY), Vector2::new(2.0, 0.0)];
    assert_eq!(Circle::algebraic(&broken), Err(ConicError::NotFinite(1)));
    assert_eq!(Ellipse::from_conic(&Matrix3::from_diagonal(&Vector3::new(1.0, -1.0, -1.0))), None);
    assert_eq!(Ellipse::from_conic(&Matrix3::identity()), None);
}

proptest! {
    #![proptest_config(super::fixed_seed())]

    /// Any ellipse goes through its matrix and through points on it and comes back.
    #[test]
    fn ellipse_there_and_back(
        x in -2000.0..2000.0_f64, y in -2000.0..2000.0_f64, a in 20.0..900.0_f64, flat in 0.3..0.98_f64,
        angle in -1.57..1.57_f64, sign in prop_oneof![Just(1.0), Just(-3.0)],
    ) {
        let e = Ellipse { centre: Vector2::new(x, y), semi_major: a, semi_minor: a * flat, angle };
        let points: Vec<_> = (0..12).map(|k| e.point(f64::from(k) * 0.4)).collect();
        for p in &points {
            let h = Vector3::new(p.x, p.y, 1.0);
            prop_assert!((h.transpose() * e.conic() * h).x.abs() < 1e-9 * (1.0 + (x * x + y * y) / (a * a)));
        }
        for back in [Ellipse::from_conic(&(e.conic() * sign)).unwrap(), Ellipse::direct(&points).unwrap()] {
            prop_assert!((back.centre - e.centre).norm() < 1e-5);
            prop_assert!((back.semi_major - a).abs() < 1e-5 && (back.semi_minor - a * flat).abs() < 1e-5);
            let turn = (back.angle - angle).rem_euclid(std::f64::consts::PI);
            prop_assert!(turn.min(std::f64::consts::PI - turn) < 1e-5);
        }
    }

    /// Any circle comes back from points on an arc of it.
    #[test]
    fn circle_there_and_back(x in -2000.0..2000.0_f64, y in -2000.0..2000.0_f64, r in 1.0..900.0_f64, arc in 0.5..6.0_f64) {
        let points: Vec<_> = (0..9).map(|k| f64::from(k) * arc / 8.0).map(|t| Vector2::new(x + r * t.cos(), y + r * t.sin())).collect();
        let c = CircleFit::new(&points, Noise::FromScatter).unwrap().circle;
        prop_assert!((c.centre - Vector2::new(x, y)).norm() < 1e-7 * r && (c.radius - r).abs() < 1e-7 * r);
    }
}
