//! What `check` says of a dial, against numbers worked out by hand. The made dial: 40 to 120 °C over 240°, 3 degrees of needle a °C.
use super::handmade::{dial, record};
use needleband::assess::{Given, NoiseFrom, Worry, assess};
use needleband::compare::{Elsewhere, Given as Side, compare, compare_knowing};
use needleband::dial::{Amount, Declared, Dial, Mark, MarkKind};
use needleband::maths::units::Unit;
use needleband::output::text;
use needleband::plan::{Request, plan};
use needleband::reading::Record;
use std::collections::BTreeMap;

mod simulated;

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
    // readings no further apart than they explain. One photo: (1.960 + 1.645) √2, the normal quantiles of 0.975 and 0.95; more: the 95 %
    // points of comparisons simulated with SciPy (see maths/power), sigma 1
    let calm = told(&dial, &readings(&[79.95, 80.0, 80.05]));
    assert_eq!((calm.noise.from, calm.noise.wander), (NoiseFrom::Seen, 0.0));
    for (s, by_hand) in calm.smallest.iter().zip([5.098, 5.160, 2.691, 1.748]) {
        let size = s.change.unwrap().size;
        assert!((size - 0.1 * by_hand).abs() < 0.003 * by_hand, "{} photos: {size} against {by_hand}", s.photos);
    }
    // 79, 80, 81: standard deviation 1, of which the photos explain 0.1
    let wild = told(&dial, &readings(&[79.0, 80.0, 81.0]));
    let r = wild.repeats.unwrap();
    assert!((r.sd.unwrap() - 1.0).abs() < 1e-12 && (r.expected - 0.1).abs() < 1e-12 && (r.mean - 80.0).abs() < 1e-12 && r.wander());
    assert!((wild.noise.wander - 0.99_f64.sqrt()).abs() < 1e-12);
    assert!(wild.worries.contains(&Worry::Wander) && !calm.worries.contains(&Worry::Wander));
    let three = wild.smallest.iter().find(|s| s.photos == 3).unwrap().change.unwrap().size;
    // 95 % point of comparisons simulated the same way with 0.1 explained and √0.99 between: 5.165
    assert!((three - 5.165).abs() < 0.15, "{three}");
    // compare calls nothing real for one photo a side without a known scatter, so the size stands under that condition
    let said = text::check(&dial, &wild, 3);
    let of = |words: &str| said.lines().find(|l| l.contains(words)).unwrap().to_string();
    assert!(of("1 photo a side").ends_with(", when the scatter is known (compare --scatter)"), "{said}");
    assert!(!of("3 photos a side").contains("--scatter"), "{said}");
    let alone = [readings(&[80.0]), readings(&[60.0])];
    assert!(!compare(&alone[0], &alone[1]).unwrap().verdict.is_real());
    assert!(
        compare_knowing(&Side::Photos(&alone[0]), &Side::Photos(&alone[1]), Some(Elsewhere::told(1.0, Unit::C))).unwrap().verdict.is_real()
    );
    // the made dial has a single counted tick, at 50 °C
    assert!(said.contains("and 1 tick between them, counted"), "{said}");
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

/// A zone over the mark at 80 °C, the middle of the scale: the needle runs to 70 on one side of that mark and from 86 on the other.
#[test]
fn a_declared_flat_zone_cuts_the_scale_and_is_passed_round() {
    let dial = dial().declare(Declared { flats: vec![(70.0, 86.0)], ..Declared::default() }).unwrap();
    let a = told(&dial, &readings(&[90.0]));
    assert!(a.worries.contains(&Worry::FlatZone(70.0, 86.0)));
    // 60 to 70 takes the 60 degrees from the mark at 60 to that at 80, 86 to 100 the 60 from there on
    let told: Vec<(f64, f64, f64)> = a.stretches.iter().map(|s| (s.from, s.to, s.angle)).collect();
    assert_eq!(told, [(40.0, 60.0, 60.0), (60.0, 70.0, 60.0), (86.0, 100.0, 60.0), (100.0, 120.0, 60.0)]);
    for s in &a.smallest {
        let c = s.change.unwrap();
        assert!(c.at <= 70.0 || c.at - c.size >= 86.0 || c.at >= 86.0 && c.at - c.size <= 70.0, "{c:?}");
    }
}

/// Stiction of ±3 °C is 3/√3 a side (JCGM 100:2008, 4.3.7): √6 in a difference, and 3.6048 times that is 8.83, however many photos.
#[test]
fn a_sticking_needle_is_no_error_of_the_photo() {
    let sticky = dial().declare(Declared { stiction: Some(Amount::Value(3.0)), ..Declared::default() }).unwrap();
    let sticking = |v: &f64| record(&format!("p{v}"), *v, &[(&format!("photo:p{v}/needle"), 0.1), ("stiction", 3.0_f64.sqrt())]);
    let a = told(&sticky, &[79.0, 80.0, 81.0].iter().map(sticking).collect::<Vec<_>>());
    assert!((a.repeats.unwrap().expected - 0.1).abs() < 1e-12 && a.worries.contains(&Worry::Wander));
    let calm = told(&sticky, &[80.0, 80.02, 80.04].iter().map(sticking).collect::<Vec<_>>());
    for s in &calm.smallest {
        let c = s.change.unwrap();
        assert!((c.fixed - 6.0_f64.sqrt()).abs() < 0.02 && c.size >= 8.83 && c.size < 9.0, "{c:?}");
    }
}

/// What the dial leaves in a change is the same number that `plan` counts with, and no change below its smallest is promised.
#[test]
fn check_and_plan_agree_on_one_dial() {
    let declared = Declared { gauge_accuracy: Some(Amount::Value(2.0)), stiction: Some(Amount::Value(0.5)), flats: vec![(70.0, 86.0)] };
    for dial in [dial(), dial().declare(declared).unwrap()] {
        for s in told(&dial, &readings(&[90.0, 90.3, 90.6])).smallest {
            let c = s.change.unwrap();
            let p = plan(&dial, &Request { drop: c.size, scatter: Some(0.3), at: Some(c.at) }).unwrap();
            assert!((p.fixed - c.fixed).abs() < 0.01 * c.fixed && c.size >= p.smallest * 0.999, "{c:?} {p:?}");
        }
    }
    // far too much in doubt: no change that fits on the scale is shown, and no number is made up
    let hopeless = dial().declare(Declared { stiction: Some(Amount::Value(39.0)), ..Declared::default() }).unwrap();
    assert!(told(&hopeless, &[]).smallest.iter().all(|s| s.change.is_none()));
}
