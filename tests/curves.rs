//! Instrument curves, drawn: dials whose scale is not what a few entries suggest. The truth lies in the band, and no reading is grossly
//! off. The dials are like those on which bands were once too narrow, with other numbers: closer at both ends with a tick that cannot be
//! seen, three values and dots between, three values on a bent scale, two values with ticks closer at the ends, a middle tick below the
//! reference photo's needle.
use crate::support::case::{Clicks, Known};
use crate::support::light::Light;
use crate::support::looks;
use crate::support::plan::Plan;
use crate::support::stats::count_interval;
use crate::support::sweep::cases;
use crate::support::view::View;
use chacha20::ChaCha8Rng;
use needleband::reading::Outcome;
use rand::{RngExt, SeedableRng};
use rayon::prelude::*;

/// Calibrations a dial, and photos each.
fn calibrations() -> u64 {
    cases(1, 4)
}
fn photos() -> usize {
    cases(4, 8)
}
/// Share of the scale's span from which an error is gross.
const GROSS: f64 = 0.03;

/// A dial and where its needle stands in the reference photo.
fn dials() -> Vec<(&'static str, Plan, f64)> {
    let own = |labels: &[f64]| (labels.to_vec(), labels.to_vec());
    let plan = |labels: &[f64], parts: usize| {
        let (labels, printed) = own(labels);
        Plan { labels, printed, parts, bend: 0.0, zone: None, minor: true, ..looks::day() }
    };
    vec![
        (
            "closer at both ends, the tick at 100 not to be seen",
            Plan { squeeze: 0.3, bare: Some(100.0), ..plan(&[50.0, 75.0, 100.0, 125.0, 150.0], 5) },
            63.0,
        ),
        ("three values and dots between", Plan { bend: 0.12, dots: true, ..plan(&[60.0, 110.0, 160.0], 2) }, 95.0),
        ("three values on a bent scale", Plan { bend: -0.15, ..plan(&[40.0, 90.0, 140.0], 2) }, 100.0),
        ("two values, ticks closer at the ends", Plan { squeeze: 0.3, ends: [-60.0, 60.0], ..plan(&[40.0, 120.0], 4) }, 95.0),
        ("a middle tick below the reference's needle", Plan { bend: 0.3, ..plan(&[30.0, 60.0, 90.0, 120.0, 150.0], 2) }, 45.0),
    ]
}

/// Of one calibration: errors and half bands as shares of the span; none for a photo that is refused.
fn errors(plan: &Plan, reference: f64, seed: u64) -> Vec<Option<(f64, f64)>> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let view = View::straight(560, 480, rng.random_range(140.0..170.0)).tilted(rng.random_range(0.0..8.0), rng.random_range(0.0..360.0));
    let clicks = Clicks { noise: 1.0, pivot: true, seed };
    let known = Known::with(plan.clone(), reference, &view, &Light { seed, ..Light::default() }, clicks);
    let read = |i: usize| {
        let value = plan.labels[0] + plan.span() * (i as f64 + rng.random_range(0.1..0.9)) / photos() as f64;
        let view = View::straight(560, 480, rng.random_range(125.0..170.0))
            .tilted(rng.random_range(0.0..20.0), rng.random_range(0.0..360.0))
            .rolled(rng.random_range(-20.0..20.0));
        match known.read_at(value, &view, &Light { noise: 3.0, seed: 10 * seed + i as u64, ..Light::default() }) {
            Outcome::Reading(r) => {
                Some(((r.temperature.value() - value) / plan.span(), 0.5 * (r.temperature.band().1 - r.temperature.band().0) / plan.span()))
            }
            _ => None,
        }
    };
    (0..photos()).map(read).collect()
}

#[test]
fn the_truth_lies_in_the_band_whatever_the_curve() {
    let (mut read, mut out) = (0, 0);
    for (i, (name, plan, reference)) in dials().into_iter().enumerate() {
        let of = |c: u64| errors(&plan, reference, 100 * (i as u64 + 1) + c);
        let all: Vec<(f64, f64)> = (0..calibrations()).into_par_iter().flat_map_iter(of).flatten().collect();
        let n = all.len();
        let outside = all.iter().filter(|(e, half)| e.abs() > *half).count();
        let gross = all.iter().filter(|(e, _)| e.abs() > GROSS).count();
        let mut half: Vec<f64> = all.iter().map(|a| a.1).collect();
        half.sort_by(f64::total_cmp);
        let rms = (all.iter().map(|a| a.0 * a.0).sum::<f64>() / n as f64).sqrt();
        println!("{name}: {n} read, {outside} outside, {gross} gross, rms {:.2} %, half band {:.2} %", 100.0 * rms, 100.0 * half[n / 2]);
        assert!(gross == 0, "{name}: {gross} of {n} gross");
        // a wide band may hold more than 95 %
        assert!(outside as u64 <= count_interval(n as u64, 0.05, 0.01).1, "{name}: {outside} of {n} outside");
        (read, out) = (read + n as u64, out + outside as u64);
    }
    assert!(read >= dials().len() as u64 * calibrations() * photos() as u64 * 9 / 10, "{read} read");
    assert!(out <= count_interval(read, 0.05, 0.01).1, "{out} of {read} outside");
}
