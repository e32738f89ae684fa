//! `settle` on a clip, as a user types it.
use super::{data, open};
use crate::cli::shapes::Run;
use crate::support::pictures;
use assert_cmd::Command;
use predicates::str::contains;
use std::fs;
use tempfile::TempDir;

const DIAL: &str = "calibration/gearbox-oil.json";
/// samples/truth.csv: where the needle of the sample stands from which the frames were made.
const TRUTH: f64 = 90.9449;
/// Half the band with which that sample itself is read (`read`): all frames were made from it, so their scatter does not show its error.
const SHARED: f64 = 0.026;

fn command() -> Command {
    Command::cargo_bin("needleband").unwrap()
}

fn settled(words: &[&str]) -> Run {
    let done = command().args(["settle", "--dial", DIAL, "--json"]).args(words).assert().code(0);
    serde_json::from_slice(&done.get_output().stdout).unwrap()
}

#[test]
fn a_clip_settles_as_its_frames_do_as_stills() {
    for name in ["avc.mp4", "hevc.mov"] {
        let path = format!("tests/data/clips/{name}");
        let of_clip = settled(&[&path]);
        let folder = TempDir::new().unwrap();
        let mut clip = open(data(name)).unwrap();
        for k in 0..5 {
            pictures::save(&pictures::of(&clip.photo(k).unwrap()), folder.path().join(format!("{k}.png")));
        }
        let of_stills = settled(&[folder.path().to_str().unwrap(), "--every", "2s"]);
        assert_eq!(of_clip.sentence, of_stills.sentence, "{name}");
        // eight seconds do not tell rest from a second, slower approach: no run so short is called steady
        assert_eq!((of_clip.verdict.as_str(), of_stills.verdict.as_str()), ("not_settled", "not_settled"));
        for (r, still) in of_clip.readings.iter().zip(&of_stills.readings) {
            println!("{name}: {} ± {}", r.value, r.sigma);
            assert_eq!((r.value, r.sigma), (still.value, still.sigma), "{name}");
            assert!((r.value - TRUTH).abs() < 1.96 * r.sigma + SHARED && r.sigma < 0.1, "{name}: {} ± {}", r.value, r.sigma);
        }
        let seen: Vec<(String, f64)> = of_clip.readings.into_iter().map(|r| (r.photo, r.seconds)).collect();
        let expected = [0.0, 2.0, 4.0, 6.0, 8.0].map(|t| (format!("{path}@{t:.1}s"), t));
        assert_eq!(seen, expected, "{name}");
    }
}

#[test]
fn a_clip_is_thinned_and_stands_alone() {
    // at 0, 4 and 8 s: three readings are fewer than the five that are the least
    let path = "tests/data/clips/hevc.mov";
    command().args(["settle", "--dial", DIAL, path, "--every", "3s"]).assert().code(1).stderr(contains("3"));
    let beside = ["settle", "--dial", DIAL, path, "samples/gearbox-oil/before"];
    command().args(beside).assert().code(2).stderr(contains("Give one clip alone"));
    let times = ["settle", "--dial", DIAL, path, "--times", "times.csv"];
    command().args(times).assert().code(2).stderr(contains("Leave --times out"));
    command().args(["read", "--dial", DIAL, path]).assert().code(1).stdout(contains("ffmpeg -i"));
    let folder = TempDir::new().unwrap();
    let broken = folder.path().join("broken.mp4");
    fs::write(&broken, &data("avc.mp4")[..20_000]).unwrap();
    let words = ["settle", "--dial", DIAL, broken.to_str().unwrap()];
    command().args(words).assert().code(1).stderr(contains("cut short")).stderr(contains("Copy it again"));
}
