//! The reference as a photo would show it: as wide as the photo's blur makes it, in every direction, on any grid.
use nalgebra::{Matrix2, Vector2};
use needleband::maths::blur::BlurCovariance;
use needleband::maths::homography::{Homography, PlaneInFace, StraightPoint};
use needleband::maths::normal::normal_cdf;
use needleband::maths::point::{DialPoint, PhotoPoint};
use needleband::photo::Plane;
use needleband::register::rendering::{Grid, Softened};
use std::borrow::Cow;

/// px per unit of the reference picture, its side, and the blur of the edges drawn in it, px.
const SCALE: f64 = 130.0;
const SIDE: usize = 521;
const EDGE: f64 = 1.2;

/// A blur in dial units, x right, y up: wider up than to the right, and widest towards the upper right.
fn blur() -> BlurCovariance<DialPoint> {
    BlurCovariance::new(0.07 * 0.07, 0.5 * 0.07 * 0.11, 0.11 * 0.11)
}

fn plane() -> PlaneInFace {
    Homography::affine(Matrix2::new(SCALE, 0.0, 0.0, -SCALE), Vector2::repeat(0.5 * (SIDE as f64 - 1.0)))
}

/// A picture of the dial's plane with this level, `f`, at its points, for grids of `k` px per unit.
fn drawn(k: f64, f: impl Fn(f64, f64) -> f64) -> Softened<'static, 1> {
    let back = plane().inverse().unwrap();
    let picture = Plane::from_fn(SIDE, SIDE, |i, j| {
        let p = back.at(i as f64, j as f64);
        f(p.x, p.y) as f32
    });
    let half = picture.half();
    Softened::new(&plane(), (SCALE, k), move |_| Cow::Owned(picture.clone()), move |_| Cow::Owned(half.clone()))
}

/// Variance of the gradient of a level along a line, units², by steps of so many units.
fn width(level: impl Fn(f64) -> f64, step: f64) -> f64 {
    let (mut sum, mut square) = (0.0, 0.0);
    for i in -(0.8 / step) as i32..=(0.8 / step) as i32 {
        let t = f64::from(i) * step;
        let change = level(t + 0.5 * step) - level(t - 0.5 * step);
        sum += change;
        square += change * t * t;
    }
    square / sum
}

/// An edge across each of four directions, seen straight on through the blur: nᵀ C n wider along its normal n than in the reference.
/// Kernels that end at 3 sigma or at the next px keep 0.973 of the variance and more. With xy of the wrong sign the slanting edges would differ by a fifth and more.
#[test]
fn an_edge_is_as_wide_as_the_blur_in_dial_units_says() {
    let c = blur().entries();
    // the picture softened, softened by half of itself, and as it is
    for k in [90.0, 60.0, 125.0] {
        for (x, y) in [(1.0, 0.0), (0.0, 1.0), (0.5f64.sqrt(), 0.5f64.sqrt()), (0.5f64.sqrt(), -(0.5f64.sqrt()))] {
            let [canonical] = drawn(k, |u, v| 255.0 * normal_cdf((x * u + y * v) * SCALE / EDGE)).straight_on(1.2);
            let shown = canonical.shown(&blur(), 0.0);
            let level = |t: f64| {
                let (u, v) = shown.px(t * x, t * y);
                f64::from(shown.plane.bilinear(u, v).unwrap())
            };
            let expected = (x * x * c[0] + 2.0 * x * y * c[1] + y * y * c[2]) + (EDGE / SCALE).powi(2);
            let found = width(level, 0.25 / k);
            assert!((0.965..1.02).contains(&(found / expected)), "{k} px, normal {x:.2}, {y:.2}: {found:.5} for {expected:.5}");
        }
    }
}

/// What a photo's blur lacks in a picture and what the picture lacks of it are each other's inverse.
#[test]
fn a_blur_goes_to_the_picture_and_back() {
    let [canonical] = drawn(60.0, |_, _| 0.0).straight_on(1.0);
    let there = canonical.lacking(&blur());
    let [xx, xy, yy] = there.entries();
    // y down: the widest direction lies to the lower right of the picture's x, 60 px a unit, without what averaging has done
    assert!(xy < 0.0 && xx < 60.0 * 60.0 * 0.07 * 0.07 && yy > xx);
    let back = canonical.in_photo(&there).entries();
    assert!(back.iter().zip(blur().entries()).all(|(a, b)| (a - b).abs() < 1e-15), "{back:?}");
}

/// A turned strip shows the same levels as the straight-on picture at the same dial points, both blurred.
#[test]
fn a_strip_shows_what_the_whole_face_shows() {
    struct StripPoint;
    let pattern = |x: f64, y: f64| 128.0 + 60.0 * (5.0 * x + 2.0 * y).sin() + 50.0 * (4.0 * y - x).cos();
    let soft = drawn(70.0, pattern);
    let [whole] = soft.straight_on(1.5);
    let whole = whole.shown(&blur(), 0.0);
    let (along, across) = (Vector2::new(0.6, 0.8), Vector2::new(0.8, -0.6));
    let first = Vector2::new(-0.5, -0.5);
    let corners = [first, first + along, first + along + 0.3 * across, first + 0.3 * across];
    let grid = Grid::<StripPoint>::over(&corners, soft.k);
    let blur = soft.lacking(&blur(), &grid);
    let grid = grid.wider(40);
    let [strip] = soft.on(&grid).map(|p| p.blurred(&blur));
    assert_eq!([strip.width, strip.height], grid.size);
    for i in 0..200 {
        let p = first + along * (f64::from(i % 20) / 19.0) + across * (0.3 * f64::from(i / 20) / 9.0);
        let ((u, v), (x, y)) = (grid.px(p.x, p.y), whole.px(p.x, p.y));
        let q = grid.to_dial().at(u, v);
        assert!((q - p).norm() < 1e-12);
        let (a, b) = (strip.bilinear(u, v).unwrap(), whole.plane.bilinear(x, y).unwrap());
        assert!((a - b).abs() < 1.0, "{p:?}: {a} and {b}");
    }
}

fn near(a: [f64; 3], b: [f64; 3]) -> bool {
    a.iter().zip(b).all(|(x, y)| (x - y).abs() < 1e-12 * (1.0 + y.abs()))
}

/// σ² along a direction becomes (k σ)² along the turned one, and nothing across it.
#[test]
fn a_turn_and_a_scale_carry_a_streak_with_them() {
    let (angle, sigma, k) = (0.4_f64, 0.03, 120.0);
    let streak = |angle: f64, sigma: f64| {
        let u = Vector2::new(angle.cos(), angle.sin()) * sigma;
        [u.x * u.x, u.x * u.y, u.y * u.y]
    };
    let [xx, xy, yy] = streak(angle, sigma);
    let blur = BlurCovariance::<DialPoint>::new(xx, xy, yy);
    let turn = 0.9_f64;
    let jacobian = k * Matrix2::new(turn.cos(), -turn.sin(), turn.sin(), turn.cos());
    let there: BlurCovariance<PhotoPoint> = blur.carried(&jacobian);
    assert!(near(there.entries(), streak(angle + turn, k * sigma)), "{there:?}");
    let (large, small, at) = there.principal();
    assert!((large - (k * sigma).powi(2)).abs() < 1e-9 && small < 1e-9 && (at - angle - turn).abs() < 1e-9);
    // y up to y down: the angle is mirrored
    let down: BlurCovariance<StraightPoint> = blur.carried(&Matrix2::new(k, 0.0, 0.0, -k));
    assert!(near(down.entries(), streak(-angle, k * sigma)), "{down:?}");
    let back: BlurCovariance<DialPoint> = down.carried(&Matrix2::new(1.0 / k, 0.0, 0.0, -1.0 / k));
    assert!(near(back.entries(), [xx, xy, yy]));
}

#[test]
fn sums_deviations_and_bounds() {
    let blur = BlurCovariance::<DialPoint>::new(5.0, 2.0, 3.0);
    assert_eq!((blur - BlurCovariance::round(1.0)).entries(), [4.0, 2.0, 2.0]);
    assert_eq!((blur + BlurCovariance::round(1.0)).entries(), [6.0, 2.0, 4.0]);
    assert_eq!(blur.standard_deviation(), 2.0);
    assert_eq!(BlurCovariance::<DialPoint>::round(-1.0).standard_deviation(), 0.0);
    assert!(near(blur.clamped(36.0).unwrap().entries(), blur.entries()));
    // variances 49 and -9 along the diagonals
    let odd = BlurCovariance::<DialPoint>::new(20.0, 29.0, 20.0).clamped(36.0).unwrap();
    assert!(near(odd.entries(), [18.0, 18.0, 18.0]), "{odd:?}");
    assert!(BlurCovariance::<DialPoint>::new(1.0, f64::NAN, 1.0).clamped(36.0).is_none());
}
