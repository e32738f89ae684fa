//! Monotone cubic against tables in the literature, values by SciPy 1.17.1 (PchipInterpolator), SLATEC's own derivatives.
use super::{near, number, rows};
use needleband::maths::monotone::{Monotone, PiecewiseLinear};
use proptest::prelude::*;

/// Values and slopes at nodes and between them, to rounding: `scale` is the size of y, `steep` that of the slope.
fn check(file: &str, scale: f64, steep: f64) -> (Monotone, Vec<Vec<String>>) {
    let table = rows(file);
    let nodes: Vec<_> = table.iter().filter(|r| r[0] == "node").collect();
    let x: Vec<f64> = nodes.iter().map(|r| number(&r[1])).collect();
    let y: Vec<f64> = nodes.iter().map(|r| number(&r[2])).collect();
    let curve = Monotone::new(&x, &y).unwrap();
    for r in &table {
        near(curve.value(number(&r[1])), number(&r[2]), 1e-14 * scale);
        near(curve.slope(number(&r[1])), number(&r[3]), 1e-13 * steep);
    }
    let line = PiecewiseLinear::new(&x, &y).unwrap();
    for (x, y) in x.iter().zip(&y) {
        assert_eq!(line.value(*x), *y);
    }
    (curve, table)
}

/// Fritsch & Carlson 1980, data RPN 14.
#[test]
fn fritsch_carlson_rpn14() {
    check("pchip_rpn14.csv", 1.0, 1.0);
}

/// Akima 1970: level, then steep. The level stretch stays exactly level.
#[test]
fn akima_1970() {
    let (curve, _) = check("pchip_akima.csv", 100.0, 100.0);
    for i in 0..=80 {
        assert_eq!(curve.value(f64::from(i) * 0.1), 10.0);
    }
}

/// SLATEC quick check DPCHQ3: derivatives as printed there to nine digits.
#[test]
fn slatec_dpchq3() {
    let (curve, table) = check("pchip_slatec_dpchq3.csv", 1.0, 1.0);
    for r in table.iter().filter(|r| r.len() > 4 && !r[4].is_empty()) {
        near(curve.slope(number(&r[1])), number(&r[4]), 0.6e-9);
    }
}

/// An end beside a sharp turn, where the three-point slope (6.5 and more) is cut back to three times the secant: values by SciPy
/// 1.17.1, PchipInterpolator.
#[test]
fn end_slope_is_cut_back_at_a_turn() {
    let curve = Monotone::new(&[0.0, 1.0, 2.5, 4.0], &[0.0, 1.0, -9.0, -8.0]).unwrap();
    for (x, value, slope) in [
        (0.0, 0.0, 3.0),
        (0.3, 0.6569999999999999, 1.4700000000000002),
        (2.0, -6.407407407407407, -8.88888888888889),
        (3.2, -8.89837037037037, 0.4355555555555558),
        (4.0, -8.0, 2.0000000000000004),
    ] {
        near(curve.value(x), value, 1e-13);
        near(curve.slope(x), slope, 1e-13);
    }
    // Beyond the ends straight on.
    near(curve.value(-2.0), -6.0, 1e-13);
    near(curve.value(4.5), -7.0, 1e-13);
}

fn table() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    prop::collection::vec((0.01..50.0_f64, prop_oneof![Just(0.0), 0.0..100.0_f64]), 2..12).prop_map(|steps| {
        let running = |from: f64, steps: Vec<f64>| steps.iter().scan(from, |s, d| Some(std::mem::replace(s, *s + d))).collect();
        (running(-70.0, steps.iter().map(|s| s.0).collect()), running(40.0, steps.iter().map(|s| s.1).collect()))
    })
}

proptest! {
    #![proptest_config(super::fixed_seed())]

    /// Rising (or partly level) points give a curve that never falls, inside and outside, and never leaves its piece.
    #[test]
    fn monotone_stays_monotone((x, y) in table(), at in -0.2..1.2_f64, step in 0.0..0.3_f64) {
        let curve = Monotone::new(&x, &y).unwrap();
        let span = x[x.len() - 1] - x[0];
        let (a, b) = (x[0] + at * span, x[0] + (at + step) * span);
        let size = y[y.len() - 1].abs() + 1.0;
        prop_assert!(curve.value(b) >= curve.value(a) - 1e-12 * size);
        prop_assert!(curve.slope(a) >= -1e-12 * size);
        if let Some(i) = (1..x.len()).find(|&i| (x[i - 1]..=x[i]).contains(&a)) {
            prop_assert!((y[i - 1]..=y[i]).contains(&curve.value(a)));
        }
    }

    /// The slope is the derivative of the value: central difference away from the joints.
    #[test]
    fn slope_is_the_derivative((x, y) in table(), piece in 0..11_usize, t in 0.1..0.9_f64) {
        let i = piece % (x.len() - 1);
        let (curve, line) = (Monotone::new(&x, &y).unwrap(), PiecewiseLinear::new(&x, &y).unwrap());
        let h = 1e-4 * (x[i + 1] - x[i]);
        let at = x[i] + t * (x[i + 1] - x[i]);
        // The third derivative of a cubic leaves at most 12 * rise * (1e-4)² / h of difference.
        let rise = y[i + 1] - y[i];
        let tolerance = 1e-6 * (rise + 1.0) / (x[i + 1] - x[i]);
        prop_assert!((curve.slope(at) - (curve.value(at + h) - curve.value(at - h)) / (2.0 * h)).abs() < tolerance);
        prop_assert!((line.slope(at) - (line.value(at + h) - line.value(at - h)) / (2.0 * h)).abs() < tolerance);
    }
}
