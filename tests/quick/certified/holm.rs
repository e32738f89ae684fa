//! Holm's adjustment against published results of R's p.adjust, and tail probabilities against the GUM's table.
use super::{near, number, rows};
use needleband::maths::holm::holm;
use needleband::maths::student::two_sided;

/// Sets "ten" and "ties": the reference values of the test suite of MultipleTesting.jl, made with R. "five": the example in the
/// documentation of stdlib's padjust, which states 0.957, 0.804, ..., 0.957, 0.565 to three decimals; the fourth, left out there,
/// follows by hand: 2 x 0.374 lies below 3 x 0.319, so it takes that.
#[test]
fn published_adjusted_probabilities() {
    let table = rows("holm_p_adjust.csv");
    for set in ["ten", "ties", "five"] {
        let mine: Vec<_> = table.iter().filter(|r| r[0] == set).collect();
        let adjusted = holm(&mine.iter().map(|r| number(&r[1])).collect::<Vec<_>>());
        assert_eq!(adjusted.len(), if set == "five" { 5 } else { 10 });
        // the printed values are exact to the digits shown
        mine.iter().zip(adjusted).for_each(|(r, a)| near(a, number(&r[2]), 1e-12));
    }
}

/// The example in the encyclopaedia's article on the Holm–Bonferroni method (values from memory): 0.01, 0.04, 0.03, 0.005 at 5 %,
/// of which the first and the last are rejected; by hand 4 x 0.005, 3 x 0.01, 2 x 0.03, then 0.04 held up to that.
#[test]
fn the_usual_worked_example() {
    let adjusted = holm(&[0.01, 0.04, 0.03, 0.005]);
    for (a, expected) in adjusted.iter().zip([0.03, 0.06, 0.06, 0.02]) {
        near(*a, expected, 1e-15);
    }
    assert!(holm(&[]).is_empty());
    let odd = holm(&[0.01, f64::NAN, 0.02]);
    assert!(odd[1].is_nan() && (odd[0] - 0.03).abs() < 1e-15 && (odd[2] - 0.04).abs() < 1e-15, "{odd:?}");
}

/// GUM Table G.2, every cell by SciPy to six decimals: t is passed with probability 1 - p. The sixth decimal of t moves the
/// probability by less than a millionth.
#[test]
fn tail_probabilities_of_the_gum_table() {
    let levels = [0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973];
    for row in rows("gum_table_g2_t.csv") {
        let nu = if row[0] == "inf" { f64::INFINITY } else { number(&row[0]) };
        for (k, level) in levels.iter().enumerate() {
            near(two_sided(number(&row[7 + k]), nu), 1.0 - level, 1e-6);
        }
    }
}
