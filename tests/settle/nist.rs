//! The same curve through `settle`: NIST StRD data sets of the form b1 (1 - exp(-b2 x)) free at their start, and one that is no first-order approach.
use super::{run, settle};
use crate::certified::{pairs, rows};
use needleband::settle::{Answer, Verdict};

/// The set with x as seconds and y times a factor as temperature, no sigma of its own.
fn of(name: &str, factor: f64) -> Answer {
    let (x, y) = pairs(&format!("nist_{name}.csv"));
    let scaled: Vec<f64> = y.iter().map(|y| factor * y).collect();
    let (records, _) = run(&scaled, 0.0, 1.0);
    settle(&records, &x.iter().map(|x| Some(*x)).collect::<Vec<_>>()).unwrap()
}

/// Misra1a ends at 0.42 time constants (1/b2 = 1818, x from 77.6 to 760): it must not be extrapolated as if it were known. The
/// certified 238.9 that it tends to lies between the limits, of which the upper is wide: fourteen readings are taken as correlated.
#[test]
fn misra1a_is_not_settled() {
    let a = of("misra1a", 1.0);
    let Verdict::NotSettled { low, high } = a.verdict else { panic!("{:?}", a.verdict) };
    assert!(79.0 < low && low < 82.0 && high > 238.94 && high < 2000.0, "{low} {high}");
}

/// Two time constants of opposite sign (MGH17, y = b1 + b2 exp(-b4 x) + b3 exp(-b5 x), up and then down): no first-order approach,
/// and no level is named though a curve of one time constant can be drawn through it.
#[test]
fn mgh17_is_no_first_order_approach() {
    let a = of("mgh17", 100.0);
    assert_eq!(a.verdict, Verdict::NotFirstOrder);
    assert!(a.level.is_none() && a.curve.is_none());
}

/// Michelso: one quantity measured a hundred times, neighbours alike (certified lag-1 correlation 0.535). Steady, at the certified mean;
/// its sigma is more than 1.5 times s/√n, which would be that of independent readings (by hand √(1.535/0.465) = 1.82).
#[test]
fn michelso_has_a_mean_that_is_known_less_well_than_its_number_says() {
    let table = rows("nist_univariate_certified.csv");
    let certified = table.iter().find(|r| r[0] == "Michelso").unwrap();
    let y: Vec<f64> = rows("nist_michelso.csv").iter().map(|r| r[0].parse().unwrap()).collect();
    // a minute apart: within two minutes nothing is called steady
    let (records, times) = run(&y, 0.0, 60.0);
    let a = settle(&records, &times).unwrap();
    let level = a.level.unwrap();
    let (mean, sd): (f64, f64) = (certified[2].parse().unwrap(), certified[3].parse().unwrap());
    assert!((level.temperature.value() - mean).abs() < 0.005, "{}", level.temperature.value());
    let ratio = level.scatter / (sd / 10.0);
    assert!(1.5 < ratio && ratio < 2.3, "{ratio}");
}
