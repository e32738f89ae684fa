//! Student t and effective degrees of freedom against the GUM (JCGM 100:2008).
use super::{close, half_last_digit, named, near, number, rows};
use needleband::maths::normal::{normal_cdf, normal_quantile};
use needleband::maths::student::{coverage_factor_95, t_quantile, welch_satterthwaite};

/// GUM Table G.2 (the same as NIST TN 1297 Table B.1), every cell. Tolerance: half a unit of the last printed digit.
/// Two printed cells are off by more than rounding, and are pinned to the exact value instead: 1 degree of freedom at
/// 99.73 % (printed 235.80, exact 235.784) and 35 at 90 % (printed 1.70, exact 1.68957).
#[test]
fn gum_table_g2() {
    let levels = [0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973];
    let table = rows("gum_table_g2_t.csv");
    assert_eq!(table.len(), 28);
    let mut misprints = Vec::new();
    for row in &table {
        let nu = if row[0] == "inf" { f64::INFINITY } else { number(&row[0]) };
        for (k, level) in levels.iter().enumerate() {
            let t = t_quantile(0.5 * (1.0 + level), nu);
            // SciPy 1.17.1, printed to six decimals.
            near(t, number(&row[7 + k]), 0.5000001e-6);
            let printed = &row[1 + k];
            if (t - number(printed)).abs() > half_last_digit(printed) + 1e-9 {
                misprints.push(format!("{} {level} {printed}", row[0]));
            }
        }
    }
    assert_eq!(misprints, ["1 0.9973 235.80", "35 0.9 1.70"]);
}

/// GUM G.4.1 example: relative uncertainties 0.25, 0.57, 0.82 % from 10, 5, 15 observations (values recalled, recomputed).
#[test]
fn gum_g4_effective_degrees() {
    let table = rows("gum_g4_welch_satterthwaite.csv");
    let get = |name: &str| named(&table, name).iter().filter(|c| !c.is_empty()).map(|c| number(c)).collect::<Vec<_>>();
    let parts: Vec<(f64, f64)> = get("rel_u_percent").into_iter().zip(get("nu")).collect();
    let nu = welch_satterthwaite(&parts);
    close(nu, get("recomputed_nu_eff")[0], 1e-12);
    near(nu, get("published_nu_eff")[0], 0.05);
    near(coverage_factor_95(nu.round()), get("published_t95_19")[0], 0.005);
    close(coverage_factor_95(19.0), get("recomputed_t95_nu19")[0], 1e-12);
    let u = parts.iter().map(|(s, _)| s * s).sum::<f64>().sqrt();
    near(u * coverage_factor_95(nu), get("published_U95_percent")[0], 0.05);
}

/// GUM H.1, calibration of an end gauge. The components are printed rounded, so the published 16.7 is met within what that
/// rounding allows: recomputed from the printed digits it is 16.75.
#[test]
fn gum_h1_effective_degrees() {
    let table = rows("gum_h1_end_gauge.csv");
    let part = |name: &str| {
        let cells = named(&table, name);
        (number(&cells[0]), number(&cells[1]))
    };
    let d = [(5.8_f64, 24.0), (3.9, 5.0), (6.7, 8.0)];
    let u_d = d.iter().map(|(s, _)| s * s).sum::<f64>().sqrt();
    near(u_d, part("d_difference").0, 0.05);
    // Published 25.6; the printed digits 5.8, 3.9, 6.7 give 25.45, and 0.05 in the last of them moves it by up to 0.6.
    near(welch_satterthwaite(&d), part("d_difference").1, 0.6);
    let parts = [part("ls_standard"), (u_d, part("d_difference").1), part("delta_alpha"), part("delta_theta")];
    let u = parts.iter().map(|(s, _)| s * s).sum::<f64>().sqrt();
    // Published u² = 1002 nm²; the printed digits give 1002.7, and 0.05 in the last digit of 16.6 alone moves it by 1.7.
    near(u * u, 1002.0, 1.7);
    near(u, number(&named(&table, "published_uc_nm")[0]), 0.5);
    let nu = welch_satterthwaite(&parts);
    near(nu, 16.75, 0.005);
    near(nu, number(&named(&table, "published_nu_eff")[0]), 0.1);
    near(t_quantile(0.995, nu.floor()), number(&named(&table, "published_t99_16")[0]), 0.005);
    near(t_quantile(0.995, 16.0) * 32.0, number(&named(&table, "published_U99_nm")[0]), 0.5);
}

/// JCGM 106:2012 7.4: probability that a value known as 13.6 ± 1.8 lies between 12.5 and 16.3.
#[test]
fn jcgm106_conformity() {
    let p = normal_cdf((16.3 - 13.6) / 1.8) - normal_cdf((12.5 - 13.6) / 1.8);
    let row = rows("jcgm101_106_examples.csv").into_iter().find(|r| r[1] == "conformance_probability").unwrap();
    near(p, number(&row[2]), 0.005);
    // The error function of the library in use is good to about 1e-11.
    close(p, number(&row[3]), 1e-10);
}

/// Normal quantile: 1.959963984540054 at 97.5 % (the 1.96 of every handbook; digits by SciPy 1.17.1), and it undoes the cdf.
#[test]
fn normal_quantile_and_cdf_agree() {
    close(normal_quantile(0.975), 1.959963984540054, 1e-14);
    for p in [1e-12, 0.01, 0.3, 0.5, 0.84, 0.999] {
        // The error function of the library in use is good to about 1e-11 of the tail.
        close(normal_cdf(normal_quantile(p)), p, 1e-10);
    }
}
