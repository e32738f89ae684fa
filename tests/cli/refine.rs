//! What is declared of a gauge, typed: in `calibrate` and in `refine`, through to readings and comparisons.
use super::shapes::{Change, Line};
use super::{Desk, command, contains};
use crate::handmade::{dial, printed};
use crate::support::pictures;
use needleband::dial::{Amount, Dial, from_bytes, to_bytes};
use predicates::prelude::*;
use std::fs;

fn load(desk: &Desk, name: &str) -> Dial {
    from_bytes(&fs::read(desk.path(name)).unwrap()).unwrap()
}

/// The made dial of 40 to 120 °C: span 80 °C, 3 degrees of needle a °C.
#[test]
fn refine_writes_a_changed_copy_with_an_identity_of_its_own() {
    let desk = Desk::new();
    let before = fs::read(desk.path("oil.json")).unwrap();
    let made = desk.run(&["refine", "--dial", "oil.json", "--gauge-accuracy", "2%span", "--out", "a.json"]).code(0);
    made.stdout(contains("±2 % of the span (±1.6 °C)").and(contains("share none of its error terms")).and(contains("Dial file: a.json")));
    let (old, a) = (load(&desk, "oil.json"), load(&desk, "a.json"));
    assert_eq!(a.declared.gauge_accuracy, Some(Amount::PercentOfSpan(2.0)));
    assert!(a.id != old.id && a.marks == old.marks && a.name == old.name);
    assert_eq!(fs::read(desk.path("oil.json")).unwrap(), before);
    // what is given takes the place of what was there, the rest stays; 2.7 °F of difference is 1.5 °C (NIST SP 811, B.9)
    let words = ["refine", "--dial", "a.json", "--stiction", "2.7F", "--flat", "45..55", "--flat", "75..90", "--out", "b.json"];
    desk.run(&words).code(0).stdout(contains("may stick within ±1.5 °C").and(contains("stands still from 75 to 90 °C")));
    let b = load(&desk, "b.json");
    assert_eq!((b.declared.gauge_accuracy, b.declared.stiction), (a.declared.gauge_accuracy, Some(Amount::Value(1.5))));
    assert_eq!(b.declared.flats, [(45.0, 55.0), (75.0, 90.0)]);
    desk.run(&["refine", "--dial", "b.json", "--flat", "75..85", "--gauge-accuracy", "3deg", "--out", "b.json", "--force"]).code(0);
    let c = load(&desk, "b.json");
    assert_eq!((c.declared.gauge_accuracy, c.declared.flats), (Some(Amount::Degrees(3.0)), vec![(75.0, 85.0)]));
}

#[test]
fn a_file_of_the_first_version_can_be_refined() {
    let desk = Desk::new();
    fs::copy(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/dial_v1.json"), desk.path("old.json")).unwrap();
    desk.run(&["refine", "--dial", "old.json", "--stiction", "2deg", "--out", "new.json"])
        .code(0)
        .stdout(contains("made from e410e2664fd4"));
    let (old, new) = (load(&desk, "old.json"), load(&desk, "new.json"));
    assert_eq!((old.version, new.version, new.declared.stiction), (1, needleband::dial::FORMAT_VERSION, Some(Amount::Degrees(2.0))));
    assert_ne!(old.id, new.id);
}

#[test]
fn wrong_declarations_are_one_clear_sentence_and_status_2() {
    let desk = Desk::new();
    let base = ["refine", "--dial", "oil.json", "--out", "n.json"];
    let calibrate = ["calibrate", "photos/b.png", "--unit", "C", "--mark", "40@10,10", "--mark", "80@50,10", "--out", "n.json"];
    for (words, said) in [
        (["--gauge-accuracy", "2"], "it ends in none of %span, deg, C, F and the dial's own unit; write it like 2%span"),
        (["--gauge-accuracy", "hotC"], "\"hot\" is not a number"),
        (["--gauge-accuracy", "-2%span"], "-2 is not above 0, so it limits nothing"),
        (["--stiction", "0deg"], "0 is not above 0, so it limits nothing"),
        (["--stiction", "infC"], "is not a number"),
        (["--flat", "75"], "there is no .. between the two values; write the zone like 75..90"),
        (["--flat", "90..75"], "90 is not below 75, so the zone holds nothing"),
        (["--flat", "a..75"], "\"a\" is not a number"),
    ] {
        desk.run(&[&base[..], &words].concat()).code(2).stdout("").stderr(contains(said));
        desk.run(&[&calibrate[..], &words].concat()).code(2).stdout("").stderr(contains(said));
    }
    for (words, said) in [
        (
            vec!["--gauge-accuracy", "300F"],
            "more than the whole scale (80 in the dial's unit), so a reading would say nothing. Check the number",
        ),
        (vec!["--flat", "30..50"], "leaves the scale, whose marks run from 40 to 120, so part of it can never be read. Give the part"),
        (
            vec!["--flat", "61..79"],
            "No mark lies in the flat zone 61..79, so it is not known where the needle stands still. Calibrate with",
        ),
        (
            vec!["--flat", "50..60", "--flat", "60..70"],
            "touch or overlap, so it is not clear where the needle moves. Give them as one: 50..70",
        ),
        (vec!["--flat", "40..120"], "is the whole scale, so no temperature could be told. Give only the part"),
        (vec![], "Nothing to change was given, so no dial file is written. Give photos, or one of --gauge-accuracy"),
    ] {
        desk.run(&[&base[..], &words].concat()).code(2).stdout("").stderr(contains(said));
    }
    assert!(!desk.path("n.json").exists());
    fs::write(desk.path("mine.json"), "mine").unwrap();
    desk.run(&["refine", "--dial", "oil.json", "--stiction", "1C", "--out", "mine.json"])
        .code(2)
        .stderr(contains("mine.json exists already"));
    assert_eq!(fs::read(desk.path("mine.json")).unwrap(), b"mine");
    desk.run(&["refine", "--dial", "no.json", "--stiction", "1C", "--out", "n.json"])
        .code(2)
        .stderr(contains("no.json could not be opened"));
    let same = needleband::dial::Declared { stiction: Some(Amount::Value(1.0)), ..Default::default() };
    fs::write(desk.path("s.json"), to_bytes(&dial().declare(same).unwrap()).unwrap()).unwrap();
    desk.run(&["refine", "--dial", "s.json", "--stiction", "1C", "--out", "n.json"]).code(2).stderr(contains("declares just this already"));
    command().args(["refine", "--dial", "x"]).assert().code(2).stderr(contains("--out"));
}

/// Calibrated with everything declared, then read and compared: photos of 92 and 85 °C on the printed dial of `handmade`.
#[test]
fn declared_at_calibration_and_met_in_every_answer() {
    let desk = Desk::new();
    let save = |name: &str, p: needleband::photo::Photo| {
        pictures::save(&pictures::of(&p), desk.path(name));
    };
    let (pivot, radius) = ([480.0, 400.0], 300.0);
    save("ref.png", printed(66.0, pivot, radius, 0.0, 1.0));
    save("hot.png", printed(92.0, [520.3, 390.8], 260.0, 8.0, 0.9));
    save("cold.png", printed(85.0, [500.2, 410.4], 270.0, 3.0, 0.95));
    let mut words: Vec<String> = "calibrate ref.png --unit C --gauge-accuracy 2.7F --stiction 3deg --flat 62..68 --out plain.json"
        .split(' ')
        .map(String::from)
        .collect();
    for value in [40.0, 60.0, 80.0, 100.0, 120.0_f64] {
        let (s, c) = (3.0 * (value - 80.0)).to_radians().sin_cos();
        words.extend(["--mark".to_string(), format!("{value}@{:.2},{:.2}", pivot[0] + radius * s + 0.5, pivot[1] - radius * c + 0.5)]);
    }
    words.extend(["--pivot".to_string(), format!("{},{}", pivot[0] + 0.5, pivot[1] + 0.5)]);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let wrong: Vec<&str> = words.iter().map(|w| if *w == "62..68" { "30..68" } else { *w }).collect();
    desk.run(&wrong)
        .code(2)
        .stdout("")
        .stderr(contains("The flat zone 30..68 leaves the scale").and(contains("Give the part that lies on the scale.")));
    assert!(!desk.path("plain.json").exists());
    let told = contains("right to within ±1.5 °C").and(contains("may stick within ±3° of needle")).and(contains("still from 62 to 68 °C"));
    desk.run(&words).code(0).stdout(told);
    let lines: Vec<Line> = desk.lines(&["read", "--dial", "plain.json", "--json", "--budget", "hot.png", "ref.png"], 0);
    let (hot, reference) = (&lines[0], &lines[1]);
    assert_eq!(hot.dial.declared, ["gauge_accuracy", "stiction", "flats"]);
    assert!((hot.value.unwrap() - 92.0).abs() < 0.1, "{hot:?}");
    // by hand: 1.5/√3 of the gauge and (3 degrees = 1 °C)/√3 of stiction; the reading itself adds some hundredths
    let by_hand = (1.5_f64.powi(2) / 3.0 + 1.0 / 3.0).sqrt();
    assert!((hot.sigma.unwrap() - by_hand).abs() < 0.02, "{hot:?}");
    let budget = hot.budget.as_ref().unwrap();
    assert!((budget.iter().find(|t| t.source == "stiction").unwrap().contribution - 1.0 / 3f64.sqrt()).abs() < 0.01);
    assert_eq!(budget.iter().filter(|t| t.source.contains("/gauge/")).count(), 2);
    // the reference's needle stands at 66 °C: in the zone
    assert!(reference.flags.contains(&"flat_zone".to_string()) && reference.low.unwrap() <= 62.0 && reference.high.unwrap() >= 68.0);
    desk.run(&["read", "--dial", "plain.json", "hot.png"]).code(0).stdout(contains("how right the gauge is, declared as ±1.5 °C"));
    // the same dial with another zone: 92 and 85 °C both in it
    desk.run(&["refine", "--dial", "plain.json", "--flat", "80..95", "--out", "flat.json"]).code(0);
    let compare = |dial: &str| -> Change {
        let done = desk.run(&[
            "compare",
            "--dial",
            dial,
            "--before",
            "hot.png",
            "--after",
            "cold.png",
            "--scatter",
            "0C",
            "--json",
            "--picture",
            "c.png",
            "--force",
        ]);
        serde_json::from_slice(&done.code(0).get_output().stdout).unwrap()
    };
    let (shown, hidden) = (compare("plain.json"), compare("flat.json"));
    assert!(shown.high < 0.0 && shown.verdict.starts_with("a real drop"), "{shown:?}");
    // 21 of 240 degrees apart: 2 (1.5²/3) (1 - cos 7.9°) of the gauge is left, and stiction on each side
    let left = (2.0 * 0.75 * (1.0 - (90.0 * 21.0 / 240.0_f64).to_radians().cos()) + 2.0 / 3.0).sqrt();
    assert!((shown.sigma - left).abs() < 0.02, "{} for {left}", shown.sigma);
    assert!(hidden.verdict.starts_with("not shown:") && hidden.low <= -15.0 && hidden.high >= 15.0, "{hidden:?}");
    assert!(hidden.notes.iter().any(|n| n.contains("The needle before stands in a flat zone")), "{hidden:?}");
}
