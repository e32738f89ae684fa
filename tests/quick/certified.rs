//! Published and certified numbers, read from tests/references (sources and status in its README.md).
mod holm;
mod margin;
mod measured;
mod minimise;
mod monotone;
mod robust;
mod rounding;
mod student;
mod variable_projection;

/// The rows of a reference table below its heading; quoted cells may hold commas, lines with # are remarks.
pub fn rows(file: &str) -> Vec<Vec<String>> {
    let path = format!("{}/tests/references/{file}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    text.lines().skip(1).filter(|l| !l.starts_with('#') && !l.trim().is_empty()).map(cells).collect()
}

fn cells(line: &str) -> Vec<String> {
    let (mut out, mut quoted) = (vec![String::new()], false);
    for c in line.trim_end().chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => out.push(String::new()),
            c => out.last_mut().unwrap().push(c),
        }
    }
    out
}

/// A cell as a number.
fn number(cell: &str) -> f64 {
    cell.parse().unwrap_or_else(|_| panic!("not a number: {cell:?}"))
}

/// The cells after the first of the row whose first cell is `name`.
fn named(rows: &[Vec<String>], name: &str) -> Vec<String> {
    rows.iter().find(|r| r[0] == name).unwrap_or_else(|| panic!("no row {name}"))[1..].to_vec()
}

/// Two columns of numbers.
pub fn pairs(file: &str) -> (Vec<f64>, Vec<f64>) {
    rows(file).iter().map(|r| (number(&r[0]), number(&r[1]))).unzip()
}

/// Equal within `relative` of the expected value.
#[track_caller]
fn close(got: f64, expected: f64, relative: f64) {
    assert!(
        (got - expected).abs() <= relative * expected.abs(),
        "got {got:e}, expected {expected:e}, off by {:e}",
        (got - expected) / expected
    );
}

/// Equal within `absolute`.
#[track_caller]
fn near(got: f64, expected: f64, absolute: f64) {
    assert!((got - expected).abs() <= absolute, "got {got}, expected {expected}, off by {:e}", got - expected);
}

/// Half a unit of the last digit of a printed number: the most that rounding can have taken.
fn half_last_digit(printed: &str) -> f64 {
    let decimals = printed.split_once('.').map_or(0, |(_, d)| d.len());
    0.5 * 10f64.powi(-(decimals as i32))
}

/// The same cases every run.
fn fixed_seed() -> proptest::test_runner::Config {
    proptest::test_runner::Config { rng_seed: proptest::test_runner::RngSeed::Fixed(1), failure_persistence: None, ..Default::default() }
}
