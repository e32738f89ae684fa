//! What `check` says of a dial, against numbers worked out by hand. The made dial: 40 to 120 °C over 240°, 3 degrees of needle a °C.
use super::handmade::{dial, record};
use needleband::assess::{Given, NoiseFrom, Worry, assess};
use needleband::dial::{Amount, Declared};
use needleband::dial::{Dial, Mark, MarkKind};
use needleband::reading::Record;
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use std::collections::BTreeMap;

fn told(dial: &Dial, repeated: &[Record]) -> needleband::assess::Assessment {
    assess(dial, Given { repeated, blur: None })
}

#[test]
fn a_degree_and_a_pixel_are_worth_what_geometry_says() {
    let dial = dial();
    let a = told(&dial, &[]);
    assert!((a.per_degree - 1.0 / 3.0).abs() < 1e-9, "{}", a.per_degree);
    let whole: f64 = a.stretches.iter().map(|s| s.to - s.from).sum();
    assert!((whole - 80.0).abs() < 1e-9 && a.stretches.iter().all(|s| (s.per_degree - 1.0 / 3.0).abs() < 1e-9));
    for s in &a.sizes {
        // one pixel across at the tip: an arc of 1 / (share of the radius times half the width)
        let by_hand = (1.0 / (dial.needle.span[1] * s.across / 2.0)).atan().to_degrees();
        assert!((s.degrees - by_hand).abs() < 1e-12 && (s.value - by_hand / 3.0).abs() < 1e-9);
    }
}

/// Readings with a standard uncertainty of 0.1 from their own photo.
fn readings(values: &[f64]) -> Vec<Record> {
    values.iter().enumerate().map(|(i, v)| record(&format!("p{i}"), *v, &[(&format!("photo:p{i}/needle"), 0.1)])).collect()
}

#[test]
fn the_smallest_change_is_the_detection_limit_of_what_the_photos_show() {
    let mut dial = dial();
    // marks that are known exactly leave the photos alone
    dial.marks.iter_mut().for_each(|m| m.terms = BTreeMap::new());
    // readings no further apart than they explain: 3.605 = 1.960 + 1.645 sigma, the normal quantiles of 0.975 and 0.95
    let calm = told(&dial, &readings(&[79.95, 80.0, 80.05]));
    assert_eq!(calm.noise.from, NoiseFrom::Seen);
    for s in &calm.smallest {
        let by_hand = (1.959964 + 1.644854) * 0.1 * (2.0 / s.photos as f64).sqrt();
        assert!((s.change - by_hand).abs() < 0.02 * by_hand, "{} photos: {} against {by_hand}", s.photos, s.change);
    }
    // 79, 80, 81: standard deviation 1 with 2 degrees of freedom; t(0.975) = 4.303 (GUM, table G.2)
    let wild = told(&dial, &readings(&[79.0, 80.0, 81.0]));
    let r = wild.repeats.unwrap();
    assert!((r.sd.unwrap() - 1.0).abs() < 1e-12 && (r.expected - 0.1).abs() < 1e-12 && (r.mean - 80.0).abs() < 1e-12 && r.wander());
    assert!(wild.worries.contains(&Worry::Wander) && !calm.worries.contains(&Worry::Wander));
    let three = wild.smallest.iter().find(|s| s.photos == 3).unwrap();
    // how often a change of that size is called real: its band, t(0.975) times the estimated sigma to each side, leaves out zero
    let (mut rng, sigma, n) = (ChaCha8Rng::seed_from_u64(8), (2.0f64 / 3.0).sqrt(), 40_000);
    let real = (0..n)
        .filter(|_| {
            let mut z = || (-2.0 * rng.random::<f64>().max(1e-300).ln()).sqrt() * (std::f64::consts::TAU * rng.random::<f64>()).cos();
            let (error, estimate) = (sigma * z(), sigma * ((z().powi(2) + z().powi(2)) / 2.0).sqrt());
            three.change + error > 4.302_653 * estimate
        })
        .count();
    // binomial, three sigmas of 40 000 draws
    assert!((f64::from(real as u32) / f64::from(n) - 0.95).abs() < 0.0034, "{real} of {n}");
    // nothing given: an assumption, named as one
    assert_eq!(told(&dial, &[]).noise.from, NoiseFrom::Assumed);
    assert_eq!(told(&dial, &readings(&[80.0])).noise.from, NoiseFrom::Explained);
}

#[test]
fn what_is_wrong_with_a_dial_is_named() {
    let good = dial();
    let mark = |value: f64, angle: f64| Mark { value, angle, kind: MarkKind::Labelled, ..good.marks[0].clone() };
    let codes = |d: &Dial, blur: Option<f64>| -> Vec<&'static str> {
        assess(d, Given { repeated: &[], blur }).worries.iter().map(Worry::code).collect()
    };
    let few = Dial { marks: vec![mark(40.0, -120.0), mark(120.0, 120.0)], ..good.clone() };
    assert!(codes(&few, None).contains(&"few_marks"));
    // 20 °C over 4 degrees where the rest takes 20 °C over 60
    let flat = [(40.0, -120.0), (60.0, -60.0), (80.0, 0.0), (100.0, 4.0), (120.0, 64.0), (140.0, 124.0)].map(|(v, a)| mark(v, a)).to_vec();
    assert!(codes(&Dial { marks: flat, ..good.clone() }, None).contains(&"flat_stretch"));
    let mut tilted = good.clone();
    tilted.face.tilt = 30.0;
    assert!(codes(&tilted, None).contains(&"reference_tilted") && !codes(&good, None).contains(&"reference_tilted"));
    let radius = good.face.scale;
    assert!(
        codes(&good, Some(0.02 * radius)).contains(&"reference_blurred")
            && !codes(&good, Some(0.002 * radius)).contains(&"reference_blurred")
    );
}

/// A zone over the middle of the scale: no stretch inside it is told, the change is told for a place where the needle moves, and the zone is
/// named.
#[test]
fn a_flat_zone_is_no_place_to_show_a_change() {
    let zone = |low: f64, high: f64| dial().declare(Declared { flats: vec![(low, high)], ..Declared::default() }).unwrap();
    let a = told(&zone(75.0, 90.0), &[]);
    assert!(a.stretches.iter().all(|s| s.to <= 75.0 || s.from >= 90.0), "{:?}", a.stretches);
    assert!(a.worries.contains(&Worry::FlatZone(75.0, 90.0)));
    assert_eq!(a.smallest.len(), 4);
}

/// A needle that may stick by 3 °C: on each side anew, so sqrt(2) 3/sqrt(3) is left however many photos (JCGM 100:2008, 4.3.7), and readings
/// that lie apart are no less strange for it.
#[test]
fn a_sticking_needle_is_not_averaged_out() {
    let sticky = dial().declare(Declared { stiction: Some(Amount::Value(3.0)), ..Declared::default() }).unwrap();
    let a = told(&sticky, &[]);
    let least = (1.959964 + 1.644854) * 2f64.sqrt() * 3.0 / 3f64.sqrt();
    assert!(a.smallest.iter().all(|s| s.change > 0.999 * least), "{:?} under {least}", a.smallest);
    let apart: Vec<Record> = readings(&[85.0, 85.1, 91.0, 91.1]);
    assert!(told(&sticky, &apart).worries.contains(&Worry::Wander));
}
