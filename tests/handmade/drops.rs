//! Simulated comparisons: how often `compare` calls a true drop real.
use super::record;
use chacha20::ChaCha8Rng;
use needleband::compare::{Elsewhere, Given, Verdict, Which, compare_knowing};
use needleband::dial::Dial;
use needleband::maths::source::Source;
use needleband::maths::units::Unit;
use needleband::reading::{Record, needle_at};
use needleband::scale::Scale;
use rand::{RngExt, SeedableRng};
use std::collections::BTreeMap;

/// A drop and the photos that are to show it, dial unit.
#[derive(Clone, Copy, Debug)]
pub struct Drop {
    /// Photos on each side.
    pub photos: usize,
    /// The temperature before.
    pub at: f64,
    /// How large it is.
    pub size: f64,
    /// What a photo says of itself, one sigma.
    pub reading: f64,
    /// What it does not say, one sigma.
    pub wander: f64,
}

/// The dial's and the gauge's terms where the dial shows `value`.
fn terms_at(dial: &Dial, value: f64) -> BTreeMap<Source, f64> {
    let scale = Scale::new(dial);
    let (mut low, mut high) = (-120.0, 120.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if scale.value(middle) < value { low = middle } else { high = middle }
    }
    let t = scale.temperature(&needle_at(dial, low));
    let t = t.estimate;
    assert!(t.interval().is_none() && (t.value() - value).abs() < 1e-6, "{value} is not read");
    t.terms().clone()
}

fn normal(rng: &mut ChaCha8Rng) -> f64 {
    let (u, v): (f64, f64) = (rng.random::<f64>().max(1e-300), rng.random());
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

/// In which share of `draws` comparisons the drop is called real: every source of the dial's terms is drawn anew and is one for both
/// sides, stiction one for each side.
pub fn found(dial: &Dial, d: &Drop, draws: u32) -> f64 {
    let mut rng = ChaCha8Rng::seed_from_u64(d.photos as u64 + (100.0 * d.wander) as u64);
    let places = [(Which::Before, d.at, terms_at(dial, d.at)), (Which::After, d.at - d.size, terms_at(dial, d.at - d.size))];
    let mut hits = 0;
    for _ in 0..draws {
        let mut drawn: BTreeMap<Source, f64> = BTreeMap::new();
        let mut side = |(which, value, terms): &(Which, f64, BTreeMap<Source, f64>)| -> Vec<Record> {
            let mut off = 0.0;
            for (k, t) in terms {
                off += t * *drawn.entry(k.on(*which)).or_insert_with(|| normal(&mut rng));
            }
            let names: Vec<(String, f64)> = terms.iter().map(|(k, t)| (k.to_string(), *t)).collect();
            let one = |k: usize| {
                let (name, own) = (which.word(), format!("photo:{}{k}/needle", which.word()));
                let all: Vec<(&str, f64)> = names.iter().map(|(k, t)| (k.as_str(), *t)).chain([(own.as_str(), d.reading)]).collect();
                let errors = d.reading * normal(&mut rng) + d.wander * normal(&mut rng);
                record(&format!("{name}{k}"), value + off + errors, &all)
            };
            (0..d.photos).map(one).collect()
        };
        let (b, a) = (side(&places[0]), side(&places[1]));
        // one photo a side shows no scatter: the one that is known from elsewhere is what it takes to call a drop real
        let known = Some(Elsewhere::told(d.wander, Unit::C));
        let c = compare_knowing(&Given::Photos(&b), &Given::Photos(&a), known).unwrap();
        hits += u32::from(matches!(c.verdict, Verdict::Drop { .. }));
    }
    f64::from(hits) / f64::from(draws)
}
