//! Limits, conditions, settled levels and plans as a user types them, on the shipped samples.
use super::shapes::{Change, Line, PlanOf, Run};
use super::{Desk, command, contains, flat};
use predicates::prelude::*;
use std::fs;

const DIAL: &str = "calibration/gearbox-oil.json";
const BEFORE: &str = "samples/gearbox-oil/before";
const AFTER: &str = "samples/gearbox-oil/after";

fn printed(words: &[&str]) -> String {
    String::from_utf8(command().args(words).assert().code(0).get_output().stdout.clone()).unwrap()
}

/// A run kept as a file is a side: what it shares with the photos cancels, its unit may be typed either way, and without photos no
/// dial is needed.
#[test]
fn a_settled_run_is_a_side() {
    let desk = Desk::new();
    let run = printed(&["settle", "--dial", DIAL, BEFORE, "--every", "60s", "--json", "--limit", "212F"]);
    let shape: Run = serde_json::from_str(&run).unwrap();
    let limit = shape.limit.unwrap();
    assert!((limit.limit - 100.0).abs() < 1e-9 && limit.stands == "below" && limit.probability_high.unwrap() < 0.01, "{limit:?}");
    let file = desk.path("old.json");
    fs::write(&file, &run).unwrap();
    let file = file.to_str().unwrap();
    let change: Change =
        serde_json::from_str(&printed(&["compare", "--dial", DIAL, "--before", file, "--after", AFTER, "--json"])).unwrap();
    // samples/truth.csv: a drop of exactly 5.6
    assert!(change.low < -5.6 && -5.6 < change.high && change.verdict.starts_with("a real drop"), "{change:?}");
    assert_eq!((change.before.origin.as_str(), change.before.n, change.before.photos.len()), ("settled", 5, 1));
    // marks and plane cancel nearly whole; a fault of the pivot that is not quite ruled out does not, at another place of the scale
    assert!(change.shared.before > 0.0 && change.shared.left < change.shared.before, "{:?}", change.shared);
    let same = printed(&["compare", "--before", file, "--after", file]);
    assert!(same.contains("No change seen") && same.contains("5 photos are on both sides"), "{same}");
    let picture = ["compare", "--dial", DIAL, "--before", file, "--after", AFTER, "--picture", "x.png"];
    command().args(picture).assert().code(2).stderr(contains("a settled level without photos"));
    command().args(["compare", "--before", file, "--after", AFTER]).assert().code(2).stderr(contains("Give --dial FILE"));
    let mixed = ["compare", "--dial", DIAL, "--before", file, AFTER, "--after", AFTER];
    command().args(mixed).assert().code(2).stderr(contains("something beside it"));
    command().args(["compare", "--before", DIAL, "--after", file]).assert().code(2).stderr(contains("not what settle --json writes"));
    command()
        .args(["compare", "--before", "gone.json", "--after", file])
        .assert()
        .code(2)
        .stderr(contains("gone.json could not be opened"));
}

/// The story of the samples: 5.6 °C less, and the air 2 °C cooler. The answer is a drop either way, with the weather in the band.
#[test]
fn the_weather_is_taken_out() {
    let words = ["compare", "--dial", DIAL, "--before", BEFORE, "--after", AFTER];
    let weather = ["--ambient-before", "24C±1", "--ambient-after", "71.6F+-1.8", "--load-before", "80 km/h", "--load-after", "100 km/h"];
    let said = flat(&printed(&[&words[..], &weather[..], &["--limit", "100C"]].concat()));
    for part in [
        "Ambient 24 ± 1 °C before and 22 ± 1 °C after",
        "With the weather taken out: a real drop of 4.6 ±",
        "if the temperature followed the ambient one by 0 degrees a degree and −3.61 °C if by 1",
        "Mind: The loads of the two sides differ by more than a tenth",
        "Before: 9.05",
        "below the limit of 100 °C (212 °F)",
        "A dash gauge is no safety instrument.",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    let slope = printed(&[&words[..], &weather[..4], &["--ambient-slope", "0.5", "--json"]].concat());
    let change: Change = serde_json::from_str(&slope).unwrap();
    let a = change.adjusted.unwrap();
    assert!((a.delta - (change.delta + 1.0)).abs() < 1e-9 && a.slope_low == 0.5 && a.slope_high == 0.5, "{a:?}");
}

#[test]
fn a_reading_against_a_limit() {
    let desk = Desk::new();
    let drawn = desk.path("drawn");
    let photo = format!("{BEFORE}/1.jpg");
    let words =
        ["read", "--dial", DIAL, &photo, "samples/gearbox-oil/below-scale.jpg", "--limit", "90C", "--overlay", drawn.to_str().unwrap()];
    let out = command().args(words).assert().code(1).get_output().stdout.clone();
    let said = flat(&String::from_utf8(out).unwrap());
    assert!(said.contains("above the limit of 90 °C (194 °F); the probability of being above it is more than 99.9 %"), "{said}");
    assert!(said.contains("below the limit of 90 °C (194 °F) 1 read") && said.contains("A margin to a limit is no alarm"), "{said}");
    assert!(drawn.join("1.png").exists() && drawn.join("below-scale.png").exists());
    let line = String::from_utf8(command().args([&words[..7], &["--json"]].concat()).assert().code(1).get_output().stdout.clone()).unwrap();
    let lines: Vec<Line> = line.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    let limits: Vec<_> = lines.into_iter().map(|l| l.limit.unwrap()).collect();
    assert_eq!((limits[0].stands.as_str(), limits[1].stands.as_str()), ("above", "below"));
    assert!(limits[0].margin.unwrap() < 0.0 && limits[1].margin.is_none() && limits[1].probability_high.is_none());
}

#[test]
fn a_plan_in_words_and_json() {
    let said = flat(&printed(&["plan", "--dial", DIAL, "--drop", "5C"]));
    for part in
        ["Photos a side:", "an assumption", "time constants at a steady load", "no safety instrument", "settle tells the time constant"]
    {
        assert!(said.contains(part), "{part}: {said}");
    }
    let json = printed(&["plan", "--dial", DIAL, "--drop", "9F", "--scatter", "0.9F", "--at", "203F", "--time-constant", "8min", "--json"]);
    let p: PlanOf = serde_json::from_str(&json).unwrap();
    assert_eq!((p.unit.as_str(), p.scatter_assumed), ("C", false));
    assert!((p.drop - 5.0).abs() < 1e-12 && (p.at - 95.0).abs() < 1e-9 && (p.scatter - 0.5).abs() < 1e-12);
    assert!((p.wait_s.unwrap() - 480.0 * p.wait_time_constants).abs() < 1e-6 && p.photos.unwrap() >= 2);
    command().args(["plan", "--dial", DIAL, "--drop", "80C"]).assert().code(2).stdout("").stderr(contains("does not fit on the scale"));
    let flat = ["plan", "--dial", DIAL, "--drop", "5C", "--at", "40C"];
    command().args(flat).assert().code(2).stderr(contains("not both on the scale").and(contains("--at")));
}
