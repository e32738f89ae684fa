//! How often the bands hold: random photos of the four looks, their truth known.
//!
//! A calibration is one draw of the errors that all its readings share, so that fifty readings of one calibration say little about
//! their band. Every look is therefore calibrated anew many times (its own reference photo, clicks, light and noise), and each
//! calibration reads four photos only. What the readings of one calibration still share is counted by the design effect (Kish 1965):
//! n readings in groups of m with a correlation c are worth n / (1 + (m - 1) c); c is taken from the terms themselves.
use crate::support::case::{Clicks, Known};
use crate::support::light::Light;
use crate::support::looks;
use crate::support::plan::Plan;
use crate::support::stats::{count_interval, rms, rms_interval};
use crate::support::view::View;
use needleband::compare::compare;
use needleband::reading::{Outcome, Reader, Record};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use rayon::prelude::*;

/// Calibrations a look, and photos each.
const CALIBRATIONS: u64 = 15;
const PHOTOS: usize = 4;
/// Chance that a sound look fails one check.
const MISS: f64 = 0.01;

/// A photo as somebody may take it: any roll, tilt to 30 degrees, radius 110 to 200 px, noise 2 to 8 levels, blur, light.
fn any_shot(rng: &mut ChaCha8Rng, tilt: f64) -> (View, Light) {
    let radius = rng.random_range(110.0..200.0);
    let side = (2.9 * radius) as usize;
    let view = View::straight(side + 60, side, radius)
        .tilted(rng.random_range(0.0..tilt), rng.random_range(0.0..360.0))
        .at(rng.random_range(-12.0..12.0), rng.random_range(-9.0..9.0));
    let light = Light {
        gain: rng.random_range(0.55..1.08),
        offset: rng.random_range(0.0..14.0),
        slope: (rng.random_range(-0.3..0.3), rng.random_range(-0.3..0.3)),
        noise: rng.random_range(2.0..8.0),
        blur: rng.random_range(0.6..2.0),
        seed: rng.random(),
        ..Light::default()
    };
    (view, light)
}

/// One calibration and what it read: true values, records.
struct Group {
    truth: Vec<f64>,
    records: Vec<Record>,
}

fn group(plan: &Plan, seed: u64) -> Group {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let value = |u: f64| plan.labels[0] + plan.span() * u;
    // a reference photo is taken with some care: some degrees off straight, upright, in fair light
    let radius = rng.random_range(140.0..185.0);
    let reference = View::straight(580, 500, radius)
        .tilted(rng.random_range(0.0..9.0), rng.random_range(0.0..360.0))
        .rolled(rng.random_range(-4.0..4.0))
        .at(rng.random_range(-9.0..9.0), rng.random_range(-9.0..9.0));
    let light = Light { noise: rng.random_range(1.0..3.0), blur: rng.random_range(0.6..1.0), seed: rng.random(), ..Light::default() };
    let clicks = Clicks { noise: 1.0, pivot: true, seed };
    let known = Known::with(plan.clone(), value(rng.random_range(0.1..0.9)), &reference, &light, clicks);
    let (mut truth, mut records) = (Vec::new(), Vec::new());
    for _ in 0..PHOTOS {
        let (view, light) = any_shot(&mut rng, 30.0);
        truth.push(value(rng.random_range(0.02..0.98)));
        let view = view.rolled(rng.random_range(0.0..360.0));
        let reader: &Reader = &known.reader;
        records.push(reader.read(&known.drawn.at(truth[truth.len() - 1], &view, &light).photo));
    }
    Group { truth, records }
}

/// What a look gave.
#[derive(Debug)]
struct Found {
    name: &'static str,
    z: Vec<f64>,
    /// Readings that count as independent.
    worth: f64,
    deltas: Vec<f64>,
    refused: usize,
    /// Mean sigma, percent of span.
    sigma: f64,
}

fn measure(plan: &Plan, first: u64) -> Found {
    let groups: Vec<Group> = (0..CALIBRATIONS).into_par_iter().map(|i| group(plan, first + i)).collect();
    let mut found = Found { name: plan.name, z: Vec::new(), worth: 0.0, deltas: Vec::new(), refused: 0, sigma: 0.0 };
    let (mut shared, mut all) = (0.0, 0.0);
    for g in &groups {
        for (truth, record) in g.truth.iter().zip(&g.records) {
            let Outcome::Reading(r) = &record.outcome else {
                println!("{} at {truth:.1}: {:?}", plan.name, record.outcome);
                found.refused += 1;
                continue;
            };
            let t = &r.temperature;
            found.z.push((t.value() - truth) / t.sigma());
            found.sigma += t.sigma() / plan.span() * 100.0;
            shared += t.variance_of(|k| k.starts_with("dial:")) / t.sigma().powi(2);
            all += 1.0;
        }
        for k in 0..PHOTOS / 2 {
            let pair = &g.records[2 * k..2 * k + 2];
            if let Ok(c) = compare(&pair[..1], &pair[1..]) {
                found.deltas.push((c.delta.value() - (g.truth[2 * k + 1] - g.truth[2 * k])) / c.sigma);
            }
        }
    }
    found.sigma /= all;
    found.worth = all / (1.0 + (PHOTOS as f64 - 1.0) * shared / all);
    found
}

fn within(z: &[f64], limit: f64) -> u64 {
    z.iter().filter(|v| v.abs() < limit).count() as u64
}

#[test]
fn dev() {
    for (i, plan) in [looks::night(), looks::day(), looks::few(), looks::back()].iter().enumerate() {
        let f = measure(plan, 1000 * (i as u64 + 1));
        let n = f.z.len() as u64;
        println!(
            "{}: n {n} worth {:.0} refused {} sigma {:.3} % rms z {:.2} {:?} 68: {} 95: {} of {n} {:?} {:?}; deltas {} rms {:.2} 68: {} 95: {}",
            f.name, f.worth, f.refused, f.sigma, rms(f.z.clone()), rms_interval(f.worth, MISS), within(&f.z, 1.0), within(&f.z, 1.96),
            count_interval(n, 0.6827, MISS), count_interval(n, 0.95, MISS),
            f.deltas.len(), rms(f.deltas.clone()), within(&f.deltas, 1.0), within(&f.deltas, 1.96)
        );
        println!("{:?}", f.z.iter().map(|v| (v * 10.0).round() / 10.0).collect::<Vec<_>>());
        println!("{:?}", f.deltas.iter().map(|v| (v * 10.0).round() / 10.0).collect::<Vec<_>>());
    }
}
