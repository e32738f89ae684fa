//! Calibrate, read and compare one after the other, as a user does.
use super::shapes::{Change, Run};
use super::{Desk, contains};
use crate::handmade::printed;
use crate::support::pictures;
use predicates::prelude::*;

/// The words that calibrate ref.png, drawn with its pivot and radius in px.
fn calibration(pivot: [f64; 2], radius: f64) -> Vec<String> {
    let mut words: Vec<String> = "calibrate ref.png --unit C --name drawn --out drawn.json".split(' ').map(String::from).collect();
    for value in [40.0, 60.0, 80.0, 100.0, 120.0_f64] {
        let (s, c) = (3.0 * (value - 80.0)).to_radians().sin_cos();
        // On the command line the picture's corner is 0,0: half a pixel more than in the library.
        let at = [pivot[0] + radius * s + 0.5, pivot[1] - radius * c + 0.5];
        words.extend(["--mark".to_string(), format!("{value}@{:.2},{:.2}", at[0], at[1])]);
    }
    words.extend(["--pivot".to_string(), format!("{},{}", pivot[0] + 0.5, pivot[1] + 0.5)]);
    words
}

/// The whole way with drawn photos of known temperature: calibrate, read, compare, and every file they write.
#[test]
fn from_a_reference_photo_to_a_change_with_its_picture() {
    let desk = Desk::new();
    let save = |name: &str, p: needleband::photo::Photo| {
        pictures::save(&pictures::of(&p), desk.path(name));
    };
    let (pivot, radius) = ([480.0, 400.0], 300.0);
    save("ref.png", printed(66.0, pivot, radius, 0.0, 1.0));
    save("hot1.png", printed(92.0, [520.3, 390.8], 260.0, 8.0, 0.9));
    save("hot2.png", printed(92.0, [470.6, 420.1], 285.0, -5.0, 0.8));
    save("cold1.png", printed(85.0, [500.2, 410.4], 270.0, 3.0, 0.95));
    save("cold2.png", printed(85.0, [490.9, 380.7], 250.0, -11.0, 0.85));
    let words = calibration(pivot, radius);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    desk.run(&words).code(0).stdout(contains("Dial \"drawn\"").and(contains("tick, counted")).and(contains("drawn-check.png")));
    assert_eq!(pictures::size(desk.path("drawn-check.png")).0, 1400);
    let lines = desk.lines(&["read", "--dial", "drawn.json", "--json", "hot1.png", "cold1.png"], 0);
    for (line, true_value) in lines.iter().zip([92.0, 85.0]) {
        // A tenth of a °C is 0.3 degrees of needle: an order above what the drawing allows, far below a wrong tick or sign.
        assert!((line.value.unwrap() - true_value).abs() < 0.1, "{line:?}");
        assert!(line.sigma.unwrap() > 0.0 && line.low < line.value && line.value < line.high);
    }
    let sides = ["--before", "hot1.png", "hot2.png", "--after", "cold1.png", "cold2.png"];
    let words = [&["compare", "--dial", "drawn.json", "--json", "--picture", "change.jpg"], &sides[..]].concat();
    let done = desk.run(&words).code(0);
    let change: Change = serde_json::from_slice(&done.get_output().stdout).unwrap();
    assert!((change.delta + 7.0).abs() < 0.1 && change.high < 0.0 && change.verdict.starts_with("a real drop of"), "{change:?}");
    assert_eq!(pictures::size(desk.path("change.jpg")), (1600, 1000));
}

/// A drawn warm-up to 93.6 °C with a time constant of 340 s, a photo each two minutes: text, JSON, times from a table, plots.
#[test]
fn from_photos_over_time_to_a_settled_temperature() {
    let desk = Desk::new();
    let (pivot, radius) = ([480.0, 400.0], 300.0);
    let save = |name: &str, value: f64, k: f64| {
        let p = printed(value, [pivot[0] + 7.3 * k.sin(), pivot[1] + 5.1 * k.cos()], radius - k, 2.0 * k.sin(), 0.9);
        pictures::save(&pictures::of(&p), desk.path(name));
    };
    let p = printed(66.0, pivot, radius, 0.0, 1.0);
    pictures::save(&pictures::of(&p), desk.path("ref.png"));
    std::fs::create_dir(desk.path("run")).unwrap();
    let mut table = "photo,seconds\n".to_string();
    for k in 0..13 {
        save(&format!("run/{k:02}.png"), 93.6 - 49.6 * (-120.0 * f64::from(k) / 340.0).exp(), f64::from(k));
        table += &format!("{k:02}.png,{}\n", 120 * k + 5000);
    }
    std::fs::write(desk.path("times.csv"), table).unwrap();
    let words = calibration(pivot, radius);
    desk.run(&words.iter().map(String::as_str).collect::<Vec<_>>()).code(0);
    let words = ["settle", "--dial", "drawn.json", "run"];
    let done = desk.run(&[&words[..], &["--every", "2min", "--json", "--plot", "run.svg"]].concat()).code(0);
    let run: Run = serde_json::from_slice(&done.get_output().stdout).unwrap();
    // a tenth of a °C is 0.3 degrees of needle: an order above what the drawing allows
    assert!((run.level.unwrap() - 93.6).abs() < 0.1 && run.low < run.level && run.level < run.high, "{run:?}");
    let tau = run.time_constant_s.unwrap();
    assert!((tau.value - 340.0).abs() < 3.0 && tau.low.unwrap() < tau.value && tau.value < tau.high.unwrap(), "{tau:?}");
    assert_eq!((run.verdict.as_str(), run.span_s, run.readings.len(), run.left_out.len()), ("settled", 1440.0, 13, 0));
    assert!((run.readings[1].fitted.unwrap() - run.readings[1].value).abs() < 0.1 && !run.readings[1].bad);
    let svg = std::fs::read_to_string(desk.path("run.svg")).unwrap();
    assert!(svg.starts_with("<svg") && !svg.contains("<text"), "letters must be outlines");
    // the same times from a table; a photo that it does not name is left out and told, with status 1
    std::fs::copy(desk.path("run/00.png"), desk.path("run/zz.png")).unwrap();
    let more = ["--times", "times.csv", "--plot", "run.png"];
    let said = desk.run(&[&words[..], &more].concat()).code(1);
    said.stdout(
        contains("13 of 14 photos over 24.0 min").and(contains("Settled at 93.")).and(contains("run/zz.png: read, but nothing says when")),
    );
    assert_eq!(pictures::size(desk.path("run.png")), (1400, 900));
    // without any times nothing is said, and it says what to do
    desk.run(&words).code(1).stdout("").stderr(contains("read, but without a time").and(contains("--every or --times")));
}
