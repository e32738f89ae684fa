//! What `check` says of a dial, against numbers worked out by hand. The made dial: 40 to 120 °C over 240°, 3 degrees of needle a °C.
use super::handmade::{dial, record};
use needleband::assess::{Given, NoiseFrom, Worry, assess};
use needleband::dial::{Dial, Mark, MarkKind};
use needleband::reading::Record;
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
    // 79, 80, 81: standard deviation 1 with 2 degrees of freedom; t(0.975) = 4.303, t(0.95) = 2.920 (GUM, table G.2)
    let wild = told(&dial, &readings(&[79.0, 80.0, 81.0]));
    let r = wild.repeats.unwrap();
    assert!((r.sd.unwrap() - 1.0).abs() < 1e-12 && (r.expected - 0.1).abs() < 1e-12 && (r.mean - 80.0).abs() < 1e-12 && r.wander());
    assert!(wild.worries.contains(&Worry::Wander) && !calm.worries.contains(&Worry::Wander));
    let three = wild.smallest.iter().find(|s| s.photos == 3).unwrap();
    let by_hand = (4.303 + 2.920) * (2.0f64 / 3.0).sqrt();
    assert!((three.change - by_hand).abs() < 0.02 * by_hand, "{} against {by_hand}", three.change);
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
