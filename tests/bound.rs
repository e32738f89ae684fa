//! The needle's fit against the least possible error (Cramér–Rao) in white noise: no other way of measuring can be better, and a
//! fit that also has to find blur, width and levels should lose little.
//!
//! The needle stage is called by itself: exact registration, no lossy compression, a face without print below the needle.
use crate::support::bar::Bar;
use crate::support::stats::{rms, rms_interval};
use crate::support::sweep::cases;

/// Pictures a corner.
fn pictures() -> u64 {
    cases(10, 25)
}
/// Most of the bound that the fit may take: levels that differ from block to block and on either side, blur and width cost 5 to
/// 20 % (the flanks' levels share information with the place), robust weights some 4 %.
const LOSS: f64 = 1.3;
/// Chance that a sound corner (or pool) fails.
const MISS: f64 = 0.002;

struct Corner {
    bar: Bar,
    /// Errors of the angle over the bound.
    errors: Vec<f64>,
    /// Errors of the angle over the predicted standard uncertainty (the needle term of a reading).
    z: Vec<f64>,
}

impl Corner {
    fn new(length: f64, blur: f64, contrast: f64) -> Self {
        // the outline of a dash needle is some 0.025 radii to each side, not below a bar three pixels wide
        let bar = Bar { length, half: f64::max(1.5, 0.028 * length), blur, contrast };
        let (bound, fits) = (bar.bound(), bar.fits(pictures()));
        let errors = fits.iter().map(|f| f.1 / bound).collect();
        let z = fits.iter().map(|f| f.1 / f.0.covariance[(1, 1)].sqrt()).collect();
        Self { bar, errors, z }
    }
    fn check(&self) {
        let (low, high) = rms_interval(pictures() as f64, MISS);
        let (error, z) = (rms(self.errors.clone()), rms(self.z.clone()));
        println!("{:?}: error {error:.2} of the bound, rms z {z:.2}", self.bar);
        // high is the sampling error: 1.45 for 25 pictures, 1.72 for 10
        assert!(error < LOSS * high, "{:?}: {error:.2} times the bound", self.bar);
        assert!((low..high).contains(&z), "{:?}: errors are {z:.2} of what is predicted, {low:.2} to {high:.2} is chance", self.bar);
    }
}

fn corners(length: f64, blurs: &[f64]) -> Vec<Corner> {
    blurs.iter().flat_map(|s| [5.0, 15.0, 50.0].map(|contrast| Corner::new(length, *s, contrast))).collect()
}

/// All corners together: 1.3 and the predicted sigma with hardly any sampling error.
fn pooled(all: &[Corner]) {
    let pool = |of: fn(&Corner) -> &Vec<f64>| rms(all.iter().flat_map(|c| of(c).iter().copied()));
    let (error, z) = (pool(|c| &c.errors), pool(|c| &c.z));
    let (low, high) = rms_interval(all.len() as f64 * pictures() as f64, MISS);
    println!("together: error {error:.3} of the bound, rms z {z:.3} ({low:.3} to {high:.3})");
    assert!(error < LOSS * high, "{error:.3} times the bound, together");
    assert!((low..high).contains(&z), "errors are {z:.3} of what is predicted, {low:.3} to {high:.3} is chance");
}

#[test]
fn the_bound_is_that_of_the_reference_table() {
    let path = format!("{}/tests/references/crb_edge_line.csv", env!("CARGO_MANIFEST_DIR"));
    let table = std::fs::read_to_string(path).unwrap();
    for line in table.lines().skip(1) {
        let c: Vec<f64> = line.split(',').map(|v| v.parse().unwrap_or(f64::NAN)).collect();
        let far = Bar { length: c[0], half: 100.0, blur: c[1], contrast: c[2] / c[3] };
        // one edge has half the information of two
        let one = c[4].is_nan();
        let bar = Bar { half: if one { far.half } else { 0.5 * c[4] }, ..far };
        let bound = bar.free_bound().to_degrees() * if one { 2f64.sqrt() } else { 1.0 };
        // the table sums over whole rows: L³ there is L (L² - 1), 0.06 % at 30 rows
        assert!((bound / c[7] - 1.0).abs() < 0.001, "{line}: {bound}");
        // its Monte Carlo over 1500 runs has a sampling error of 1.8 %
        assert!((c[8] / bound - 1.0).abs() < 0.055, "{line}: {bound}");
        // a prior can only help, and helps little on a long bar
        assert!(bar.bound() <= bar.free_bound());
    }
}

#[test]
fn whole_needles_come_within_a_third_of_the_least_possible_error() {
    let all: Vec<Corner> = [100.0, 400.0].iter().flat_map(|l| corners(*l, &[0.5, 1.0, 3.0])).collect();
    all.iter().for_each(Corner::check);
    pooled(&all);
}

#[test]
fn thirty_pixels_of_needle_come_within_a_third_of_the_least_possible_error() {
    // half a needle beside a wide hub on a dial of 60 px radius
    let all = corners(30.0, &[0.5, 1.0]);
    all.iter().for_each(Corner::check);
    pooled(&all);
}

#[test]
fn thirty_pixels_of_needle_in_a_blur_as_wide_as_itself() {
    let all = corners(30.0, &[3.0]);
    all.iter().for_each(Corner::check);
    pooled(&all);
}
