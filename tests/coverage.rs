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
use crate::support::sweep::cases;
use crate::support::view::View;
use chacha20::ChaCha8Rng;
use needleband::compare::compare;
use needleband::maths::source::Source;
use needleband::reading::{Outcome, Record};
use rand::{RngExt, SeedableRng};
use rayon::prelude::*;
use std::sync::LazyLock;

/// Calibrations a look, and photos each.
fn calibrations() -> u64 {
    cases(3, 10)
}
const PHOTOS: usize = 4;
/// Chance that a sound look fails one check.
const MISS: f64 = 0.01;

/// A photo as somebody may take it: any roll, tilt to 30 degrees, radius 110 to 200 px, noise 2 to 8 levels, blur, light.
fn any_shot(rng: &mut ChaCha8Rng) -> (View, Light) {
    let radius = rng.random_range(110.0..200.0);
    let side = (2.9 * radius) as usize;
    let view = View::straight(side + 60, side, radius)
        .tilted(rng.random_range(0.0..30.0), rng.random_range(0.0..360.0))
        .rolled(rng.random_range(0.0..360.0))
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
        let (view, light) = any_shot(&mut rng);
        truth.push(value(rng.random_range(0.02..0.98)));
        records.push(known.reader.read(&known.drawn.at(truth[truth.len() - 1], &view, &light).photo));
    }
    Group { truth, records }
}

/// Errors over their sigma, and how many of them count as independent.
#[derive(Debug, Default)]
struct Sample {
    z: Vec<f64>,
    /// Share of the variance that comes from the dial, summed.
    shared: f64,
}

impl Sample {
    fn push(&mut self, error: f64, sigma: f64, shared: f64) {
        self.z.push(error / sigma);
        self.shared += shared / (sigma * sigma);
    }
    /// Independent errors that tell as much, in groups of `m` (Kish 1965).
    fn worth(&self, m: usize) -> f64 {
        let n = self.z.len() as f64;
        n / (1.0 + (m as f64 - 1.0) * self.shared / n)
    }
    fn within(&self, limit: f64) -> f64 {
        self.z.iter().filter(|z| z.abs() < limit).count() as f64 / self.z.len() as f64
    }
    /// What is wrong with the sample: bands too narrow, bands too wide.
    fn faults(&self, name: &str, m: usize) -> [Vec<String>; 2] {
        let worth = self.worth(m);
        let n = worth.round() as u64;
        let (low, high) = rms_interval(worth, MISS);
        let size = rms(self.z.clone());
        let mut out = [Vec::new(), Vec::new()];
        let mut note = |side: usize, bad: bool, text: String| bad.then(|| out[side].push(format!("{name}: {text}")));
        note(0, size > high, format!("rms z {size:.2} above {high:.2}"));
        note(1, size < low, format!("rms z {size:.2} below {low:.2}"));
        for (limit, p) in [(1.0, 0.682_689), (1.959_964, 0.95)] {
            let (few, many) = count_interval(n, p, MISS);
            let (held, few, many) = (self.within(limit), few as f64 / n as f64, many as f64 / n as f64);
            note(0, held < few, format!("{held:.2} of the {p:.2} bands hold, {few:.2} at least is chance"));
            note(1, held > many, format!("{held:.2} of the {p:.2} bands hold, {many:.2} at most is chance"));
        }
        println!(
            "{name}: {} ({worth:.0}), rms z {size:.2}, 68 %: {:.2}, 95 %: {:.2}",
            self.z.len(),
            self.within(1.0),
            self.within(1.959_964)
        );
        out
    }
}

/// What a look gave.
struct Found {
    name: &'static str,
    readings: Sample,
    deltas: Sample,
    refused: Vec<String>,
}

fn measure(plan: &Plan, first: u64) -> Found {
    let groups: Vec<Group> = (0..calibrations()).into_par_iter().map(|i| group(plan, first + i)).collect();
    let mut found = Found { name: plan.name, readings: Sample::default(), deltas: Sample::default(), refused: Vec::new() };
    for g in &groups {
        for (truth, record) in g.truth.iter().zip(&g.records) {
            let Outcome::Reading(r) = &record.outcome else {
                found.refused.push(format!("{} at {truth:.1}: {:?}", plan.name, record.outcome));
                continue;
            };
            let t = &r.temperature;
            found.readings.push(t.value() - truth, t.sigma(), t.measured().variance_of(Source::is_dial));
        }
        for k in (0..PHOTOS).step_by(2) {
            if let Ok(c) = compare(&g.records[k..k + 1], &g.records[k + 1..k + 2]) {
                let truth = g.truth[k + 1] - g.truth[k];
                found.deltas.push(c.delta.value() - truth, c.delta.sigma(), c.delta.measured().variance_of(Source::is_dial));
            }
        }
    }
    found
}

static ALL: LazyLock<Vec<Found>> = LazyLock::new(|| {
    let plans = [looks::night(), looks::day(), looks::few(), looks::back()];
    plans.iter().zip(1..).map(|(plan, i)| measure(plan, 1000 * i)).collect()
});

/// The faults of one side, of each look and of all together: the part of the cases that the README's command runs leaves a look some ten
/// readings, of which only bands twice too narrow show, and all of them forty.
fn faults(side: usize, of: impl Fn(&Found) -> &Sample, (what, m): (&str, usize)) -> Vec<String> {
    let each = ALL.iter().flat_map(|f| of(f).faults(&format!("{what} of {}", f.name), m)[side].clone());
    let mut all = Sample::default();
    for sample in ALL.iter().map(&of) {
        all.z.extend(&sample.z);
        all.shared += sample.shared;
    }
    each.chain(all.faults(&format!("{what} of all looks"), m)[side].clone()).collect()
}

fn readings(side: usize) -> Vec<String> {
    faults(side, |f| &f.readings, ("readings", PHOTOS))
}

fn deltas(side: usize) -> Vec<String> {
    faults(side, |f| &f.deltas, ("changes", PHOTOS / 2))
}

#[test]
fn bands_of_readings_hold_as_often_as_they_say() {
    assert_eq!(readings(0), Vec::<String>::new());
}

#[test]
#[ignore = "not met yet: rms z of the look night is 0.56, 0.66 at least is chance"]
fn bands_of_readings_are_no_wider_than_they_need_to_be() {
    assert_eq!(readings(1), Vec::<String>::new());
}

#[test]
fn bands_of_changes_hold_as_often_as_they_say() {
    assert_eq!(deltas(0), Vec::<String>::new());
}

#[test]
#[ignore = "not met yet: rms z of the look few is 0.46, 0.64 at least is chance"]
fn bands_of_changes_are_no_wider_than_they_need_to_be() {
    assert_eq!(deltas(1), Vec::<String>::new());
}

#[test]
fn hardly_any_photo_of_these_is_refused() {
    // one in twenty of all looks together: a needle that stands in a reflection's place or over like print may be refused, no more
    let count = ALL.len() * calibrations() as usize * PHOTOS;
    let refused: Vec<&String> = ALL.iter().flat_map(|f| &f.refused).collect();
    assert!(refused.len() <= count / 20, "{} of {count}: {refused:#?}", refused.len());
}
