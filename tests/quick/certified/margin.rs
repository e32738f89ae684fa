//! Probability of being above a limit, against the worked example of JCGM 106 and the risks that ILAC-G8 states.
use super::{near, number, rows};
use needleband::maths::estimate::Estimate;
use needleband::maths::measured::Measured;
use needleband::maths::student::coverage_factor_95;

fn above(limit: f64, value: f64, sigma: f64) -> f64 {
    let half = coverage_factor_95(f64::INFINITY) * sigma;
    let known = Estimate::within(Measured::exact(value), sigma, f64::INFINITY, (value - half, value + half));
    known.margin(limit).unwrap().above.0
}

/// JCGM 106:2012, 7.4: result, standard uncertainty and two limits as printed; conformance probability 0.66.
#[test]
fn jcgm_106_7_4() {
    let table = rows("jcgm101_106_examples.csv");
    let row = |quantity: &str| table.iter().find(|r| r[0] == "JCGM106_7.4" && r[1] == quantity).unwrap();
    let given = row("result_u_TL_TU")[2].split(" (").next().unwrap().to_string();
    let n: Vec<f64> = given.split(';').map(number).collect();
    let conforms = above(n[2], n[0], n[1]) - above(n[3], n[0], n[1]);
    near(conforms, number(&row("conformance_probability")[2]), 0.005);
    near(conforms, number(&row("conformance_probability")[3]), 1e-9);
}

/// ILAC-G8: a result that keeps a guard band of U from the limit is beyond it with less than 2.5 %, without one with less than 50 %.
#[test]
fn ilac_g8_risks() {
    near(above(100.0 + 1.96 * 3.0, 100.0, 3.0), 0.024_997_9, 1e-6);
    near(above(100.0, 100.0, 3.0), 0.5, 1e-15);
}
