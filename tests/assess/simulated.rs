//! The smallest change that `check` names, put before `compare` many times.
use super::told;
use crate::handmade::{dial, record};
use needleband::compare::{Verdict, compare};
use needleband::dial::{Amount, Declared, Dial};
use needleband::reading::{Outcome, Reading, Record, needle_at};
use needleband::scale::Scale;
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::collections::BTreeMap;

const DRAWS: u32 = 2000;
/// What a photo says of itself, °C.
const READING: f64 = 0.1;

fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let (u, v): (f64, f64) = (rng.random::<f64>().max(1e-300), rng.random());
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

/// The dial's and the gauge's terms where the dial shows `value`.
fn terms_at(dial: &Dial, value: f64) -> BTreeMap<String, f64> {
    let scale = Scale::new(dial);
    let (mut low, mut high) = (-120.0, 120.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if scale.value(middle) < value { low = middle } else { high = middle }
    }
    let t = scale.temperature(&needle_at(dial, low));
    assert!(t.flat.is_none() && (t.measured.value() - value).abs() < 1e-6, "{value} is not read");
    t.measured.terms().clone()
}

/// How often a drop from `at` by `size` is called real: every source of the terms is drawn anew, stiction for each side.
fn found(dial: &Dial, n: usize, at: f64, size: f64, wander: f64) -> f64 {
    let mut rng = ChaCha8Rng::seed_from_u64(n as u64 + (100.0 * wander) as u64);
    let (before, after) = (terms_at(dial, at), terms_at(dial, at - size));
    let mut hits = 0;
    for _ in 0..DRAWS {
        let mut drawn: BTreeMap<String, f64> = BTreeMap::new();
        let mut side = |name: &str, value: f64, terms: &BTreeMap<String, f64>| -> Vec<Record> {
            let mut off = 0.0;
            for (k, t) in terms {
                let source = if k == "stiction" { format!("{name}/{k}") } else { k.clone() };
                off += t * *drawn.entry(source).or_insert_with(|| normal(&mut rng));
            }
            let one = |k: usize| {
                let own = format!("photo:{name}{k}/needle");
                let all: Vec<(&str, f64)> = terms.iter().map(|(k, t)| (k.as_str(), *t)).chain([(own.as_str(), READING)]).collect();
                record(&format!("{name}{k}"), value + off + READING * normal(&mut rng) + wander * normal(&mut rng), &all)
            };
            (0..n).map(one).collect()
        };
        let (b, a) = (side("b", at, &before), side("a", at - size, &after));
        hits += u32::from(matches!(compare(&b, &a).unwrap().verdict, Verdict::Drop { .. }));
    }
    f64::from(hits) / f64::from(DRAWS)
}

/// 2000 draws at 95 %: three standard deviations of the binomial are 1.5 %; half a per cent more for the sizes of equally likely scatters
/// (48 on each side) that the limit is worked out with. Plain, and with flat zone, stiction and gauge accuracy declared.
#[test]
fn the_smallest_change_is_called_real_95_times_of_100() {
    let all = Declared { gauge_accuracy: Some(Amount::Value(2.0)), stiction: Some(Amount::Value(0.3)), flats: vec![(70.0, 86.0)] };
    for (dial, spread) in [(dial(), 0.0), (dial(), 0.5), (dial().declare(all).unwrap(), 0.0), (dial().declare(dear()).unwrap(), 0.5)] {
        // three readings a standard deviation of `spread` apart, or all alike
        let repeated: Vec<Record> = [-spread, 0.0, spread]
            .iter()
            .enumerate()
            .map(|(k, off)| record(&format!("r{k}"), 95.0 + off, &[(&format!("photo:r{k}/needle"), READING)]))
            .collect();
        let a = told(&dial, &repeated);
        for s in &a.smallest {
            let c = s.change.unwrap();
            let share = found(&dial, s.photos, c.at, c.size, a.noise.wander);
            // with one photo a side no wander is seen and the band is too narrow: such a change is called real more often
            let most = if s.photos == 1 && a.noise.wander > 0.0 { 1.0 } else { 0.97 };
            assert!((0.93..=most).contains(&share), "{} photos, spread {spread}, {c:?}: {share}", s.photos);
            let half = found(&dial, s.photos, c.at, 0.5 * c.size, a.noise.wander);
            assert!(half < 0.85 || most == 1.0, "half of it would do as well: {half}");
        }
    }
}

/// Much stiction, little else.
fn dear() -> Declared {
    Declared { stiction: Some(Amount::Value(1.0)), flats: vec![(70.0, 86.0)], ..Declared::default() }
}

/// A reading of the simulation has the band that the chain gives: 1.96 sigma of all its terms.
#[test]
fn the_simulated_readings_are_as_the_chain_gives_them() {
    let Outcome::Reading(Reading { temperature, band, .. }) = record("x", 95.0, &[("stiction", 0.3), ("photo:x/needle", 0.4)]).outcome
    else {
        unreachable!()
    };
    assert!((temperature.sigma() - 0.5).abs() < 1e-12 && (band.1 - 95.0 - 0.98).abs() < 1e-4);
}
