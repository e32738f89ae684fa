//! A settled level as a side: what cancels, what its scatter adds, how often the band holds, and files that are none.
use super::{Draw, side};
use crate::handmade::{dial, record};
use crate::support::stats::share_sigma;
use crate::support::sweep::cases;
use needleband::compare::{CompareError, Given, Note, Origin, SettledLevel, Which, compare_given};
use needleband::maths::estimate::Estimate;
use needleband::maths::measured::Measured;
use needleband::maths::units::Unit;
use needleband::output::json::{LevelError, settled_level, settling};
use needleband::reading::Record;
use needleband::settle::{Answer, settle};

/// A level of 92 °C: 0.8 of the dial, 0.3 of scatter with 8 degrees of freedom.
fn level() -> SettledLevel {
    let measured = Measured::new(92.0, [("dial:d/mark/1", 0.8), ("photo:x0/needle", 0.1)]);
    let half = 1.959_964 * 0.8_f64.hypot(0.3);
    SettledLevel {
        unit: Unit::C,
        level: Estimate::within(measured, 0.8_f64.hypot(0.3), f64::INFINITY, (92.0 - half, 92.0 + half)),
        scatter: 0.3,
        scatter_dof: 8.0,
        wander: 0.5,
        wander_dof: 8.0,
        readings: 12,
        moving: false,
        dial: "d".to_string(),
        at_scale_end: false,
        taken: None,
    }
}

/// The dial's 0.8 is on both sides and cancels; left are 0.3 of scatter with 8 degrees of freedom and, of two photos that differ by nothing,
/// 0.4/√2: by hand sqrt(0.09 + 0.08), and Welch–Satterthwaite (JCGM 100:2008, G.2b) 0.17²/(0.09²/8).
#[test]
fn the_dial_cancels_and_the_scatter_counts_with_its_degrees_of_freedom() {
    let after = side("a", &[85.0, 85.0], 0.4);
    let c = compare_given(&Given::Level(&level()), &Given::Photos(&after)).unwrap();
    assert_eq!((c.delta.value(), c.delta.measured().term("dial:d/mark/1").unwrap()), (-7.0, 0.0));
    assert!(
        (c.delta.sigma() - 0.17_f64.sqrt()).abs() < 1e-12 && (c.delta.dof() - 0.0289 / (0.0081 / 8.0)).abs() < 1e-9,
        "{} {}",
        c.delta.sigma(),
        c.delta.dof()
    );
    assert_eq!(c.before.origin, Origin::Settled { readings: 12 });
    assert!(c.notes.is_empty(), "{:?}", c.notes);
    assert_eq!((c.shared.before, c.shared.left), (0.8, 0.0));
}

/// One photo after: the level's wander of 0.5 stands for it. sigma² = 0.3² + 0.4² + 0.5².
#[test]
fn a_single_photo_takes_the_wander_of_the_level() {
    let c = compare_given(&Given::Level(&level()), &Given::Photos(&side("a", &[85.0], 0.4))).unwrap();
    assert!((c.delta.sigma() - 0.5_f64.sqrt()).abs() < 1e-12);
    assert!(c.notes.contains(&Note::ScatterLent(Which::After)));
}

#[test]
fn units_dials_shared_photos_and_odd_numbers() {
    // 197.6 °F is 92 °C (NIST SP 811, B.8), and sigmas convert by 9/5 alone
    let mut f = level();
    f.unit = Unit::F;
    (f.scatter, f.wander, f.level) = (0.54, 0.9, level().level.converted(Unit::C, Unit::F));
    let (b, a) = (level(), f);
    let c = compare_given(&Given::Level(&b), &Given::Level(&a)).unwrap();
    assert!(c.delta.value().abs() < 1e-9 && (c.delta.sigma() - 0.18_f64.sqrt()).abs() < 1e-9, "{} {}", c.delta.value(), c.delta.sigma());
    assert_eq!(c.notes, [Note::Converted(Unit::C), Note::OnBothSides(1)]);
    let other = SettledLevel { dial: "e".to_string(), ..level() };
    assert!(compare_given(&Given::Level(&b), &Given::Level(&other)).unwrap().notes.contains(&Note::DifferentDials));
    let bad = SettledLevel { scatter: f64::NAN, ..level() };
    let error = compare_given(&Given::Level(&b), &Given::Level(&bad)).unwrap_err();
    assert!(matches!(error, CompareError::NotFinite(Which::After)) && error.to_string().contains("not finite"));
}

/// A run knows when it was taken, also through its file: a level taken after the photos that are called later is remarked.
#[test]
fn a_level_of_the_wrong_day_is_remarked() {
    let mut draw = Draw::new(7);
    let (mut records, times) = run("b", 92.0, 0.0, &mut draw);
    records.iter_mut().enumerate().for_each(|(k, r)| r.taken_at = Some(format!("2026-07-09 10:{k:02}:00")));
    let before = back(&settle(&records, &times).unwrap());
    assert_eq!(before.taken, Some(("2026-07-09 10:00:00".to_string(), "2026-07-09 10:25:00".to_string())));
    for (day, remarked) in [("2026-07-03", true), ("2026-07-14", false)] {
        let mut after = side("a", &[85.0, 85.2], 0.4);
        after.iter_mut().for_each(|r| r.taken_at = Some(format!("{day} 10:00:00")));
        let notes = |b: &Given, a: &Given| compare_given(b, a).unwrap().notes.contains(&Note::WrongWayRound);
        assert_eq!(notes(&Given::Level(&before), &Given::Photos(&after)), remarked, "{day}");
        assert_eq!(notes(&Given::Photos(&after), &Given::Level(&before)), !remarked, "{day}");
    }
}

/// A band that reaches further than its scatter explains (a slow approach that cannot be excluded) widens the change in full.
#[test]
fn an_open_side_of_the_level_stays_open() {
    let mut wide = level();
    wide.level = wide.level.widened((0.0, 3.0));
    let (near, far) = (level(), wide);
    let photos = side("a", &[85.0, 85.0], 0.4);
    let [narrow, wide] = [near, far].map(|l| compare_given(&Given::Level(&l), &Given::Photos(&photos)).unwrap().delta.band());
    // the level may be higher by 3 less than what is explained, so the drop may be larger by that
    assert!((narrow.1 - wide.1).abs() < 1e-9 && narrow.0 - wide.0 > 2.5, "{narrow:?} {wide:?}");
}

/// A warm-up to `level` by 50 exp(-t/170 s), 26 photos a minute apart, all shifted by the dial's `shift`: long enough to exclude a slower
/// approach.
fn run(name: &str, level: f64, shift: f64, draw: &mut Draw) -> (Vec<Record>, Vec<Option<f64>>) {
    let one = |k: usize| {
        let id = format!("{name}{k}");
        let value = level - 50.0 * (-60.0 * k as f64 / 170.0).exp() + shift + 0.3 * draw.normal();
        record(&id, value, &[("dial:d/mark/1", 0.8), (&format!("photo:{id}/needle"), 0.2)])
    };
    ((0..26).map(one).collect(), (0..26).map(|k| Some(60.0 * f64::from(k))).collect())
}

fn answered(name: &str, level: f64, shift: f64, draw: &mut Draw) -> Option<Answer> {
    let (records, times) = run(name, level, shift, draw);
    settle(&records, &times).ok().filter(|a| a.level.is_some())
}

fn back(answer: &Answer) -> SettledLevel {
    let names: Vec<String> = (0..26).map(|k| format!("{k}.jpg")).collect();
    settled_level(settling(answer, &dial(), &names).unwrap().as_bytes()).unwrap()
}

/// Through the file and back nothing is lost, and two runs of one dial share its error: the change is known far better than either.
#[test]
fn through_the_file_and_back() {
    let mut draw = Draw::new(3);
    let (b, a) = (answered("b", 92.0, 0.9, &mut draw).unwrap(), answered("a", 86.0, 0.9, &mut draw).unwrap());
    let (before, after) = (back(&b), back(&a));
    let l = b.level.as_ref().unwrap();
    assert_eq!((before.level.clone(), before.scatter, before.scatter_dof), (l.temperature.clone(), l.scatter, l.scatter_dof));
    assert_eq!((before.wander, before.wander_dof, before.readings, before.dial), (b.wander, b.wander_dof, 26, dial().id));
    let c = compare_given(&Given::Level(&back(&b)), &Given::Level(&after)).unwrap();
    assert!((c.delta.value() - (a.level.unwrap().temperature.value() - l.temperature.value())).abs() < 1e-12);
    // left are the scatters of the two runs, which the levels count too
    let scatters = l.scatter.hypot(after.scatter);
    assert!(
        l.temperature.sigma() > 0.8 && (c.delta.sigma() - scatters).abs() < 0.01 && c.delta.sigma() < 0.5 * l.temperature.sigma(),
        "{} {} {scatters}",
        l.temperature.sigma(),
        c.delta.sigma()
    );
}

/// Pairs of a run and three photos whose dial is off by the same.
#[test]
fn the_band_against_photos_holds() {
    let (mut draw, mut all, mut hits) = (Draw::new(11), 0, 0u32);
    let most = cases(150u32, 400);
    while all < most {
        let shift = 0.8 * draw.normal();
        let Some(answer) = answered("b", 92.0, shift, &mut draw) else { continue };
        let values: Vec<f64> = (0..3).map(|_| 86.0 + shift + 0.3 * draw.normal()).collect();
        let c = compare_given(&Given::Level(&back(&answer)), &Given::Photos(&side("a", &values, 0.2))).unwrap();
        all += 1;
        hits += u32::from((c.delta.band().0..=c.delta.band().1).contains(&-6.0));
    }
    let share = f64::from(hits) / f64::from(most);
    // 95 % less three sigmas of a binomial share
    assert!(share >= 0.95 - 3.0 * share_sigma(0.95, f64::from(most)), "{share}");
    assert!(share < 1.0, "a band that never fails says too little");
}

/// The object with the check sum of what it says now: SHA-256 of the rest as compact JSON.
fn sealed(mut object: serde_json::Value) -> String {
    object.as_object_mut().unwrap().remove("check");
    let check: String = needleband::photo::sha256_hex(object.to_string().as_bytes()).chars().take(12).collect();
    object["check"] = check.into();
    object.to_string()
}

#[test]
fn a_file_that_is_no_settled_level_says_why() {
    let mut draw = Draw::new(5);
    let answer = answered("b", 92.0, 0.0, &mut draw).unwrap();
    let names: Vec<String> = (0..26).map(|k| format!("{k}.jpg")).collect();
    let good: serde_json::Value = serde_json::from_str(&settling(&answer, &dial(), &names).unwrap()).unwrap();
    let with = |field: &str, value: serde_json::Value| {
        let mut all = good.clone();
        all[field] = value;
        settled_level(sealed(all).as_bytes()).unwrap_err()
    };
    // whatever is changed by hand; spaces and the order of fields are no change
    let by_hand = |field: &str, value: serde_json::Value| {
        let mut all = good.clone();
        all[field] = value;
        settled_level(all.to_string().as_bytes()).unwrap_err()
    };
    let level = settled_level(good.to_string().as_bytes()).unwrap();
    assert_eq!(settled_level(serde_json::to_string_pretty(&good).unwrap().as_bytes()).unwrap(), level);
    assert_eq!(by_hand("unit", "F".into()), LevelError::Changed, "a level of 92 °F would be a drop of 94 °F to one of 86 °C");
    assert_eq!(by_hand("level", 91.0.into()), LevelError::Changed);
    assert_eq!(by_hand("check", serde_json::Value::Null), LevelError::Lacks("check"));
    let mut beyond = good["dial"].clone();
    beyond["high"] = 80.0.into();
    assert_eq!(with("dial", beyond), LevelError::OffScale);
    assert!(matches!(settled_level(b"{}").unwrap_err(), LevelError::NotASettling(_)));
    assert!(matches!(settled_level(b"\xff\xd8\xff").unwrap_err(), LevelError::NotASettling(_)));
    assert_eq!(with("format_version", 9.into()), LevelError::Version(9));
    assert_eq!(with("unit", "kelvin per minute".into()), LevelError::Wrong("unit"));
    assert_eq!(with("sigma", 1e-3.into()), LevelError::Wrong("sigma"), "a sigma that is not the sum of its terms");
    assert_eq!(with("high", 0.0.into()), LevelError::Wrong("band"));
    assert_eq!(with("wander", (-1.0).into()), LevelError::Wrong("wander"));
    let nothing = with("level", serde_json::Value::Null);
    assert!(
        matches!(&nothing, LevelError::NoLevel(s) if s.contains("settled at 9")) && nothing.to_string().contains("Go on taking photos"),
        "{nothing}"
    );
    let mut old = good.clone();
    old.as_object_mut().unwrap().remove("dof_scatter");
    assert_eq!(settled_level(sealed(old).as_bytes()).unwrap_err(), LevelError::Lacks("dof_scatter"));
}
