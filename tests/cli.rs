//! The command as a user or a script meets it: help, wrong usage, files, exit statuses, and JSON read by a second, strict type.
use super::handmade::{dial, photo};
use assert_cmd::Command;
use needleband::dial::to_bytes;
use predicates::prelude::*;
use predicates::str::contains;
use serde::Deserialize;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// A line of `read --json`, written down anew: a field too many or too few is an error.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
#[allow(dead_code)]
struct Line {
    format_version: u32,
    photo: String,
    outcome: String,
    value: Option<f64>,
    sigma: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    unit: String,
    value_c: Option<f64>,
    value_f: Option<f64>,
    angle_deg: Option<f64>,
    sigma_angle_deg: Option<f64>,
    dial: Name,
    flags: Vec<String>,
    reason: Option<String>,
    sentence: String,
    advice: Option<String>,
    taken_at: Option<String>,
    tilt_deg: Option<f64>,
    dial_px: Option<f64>,
    budget: Option<Vec<Term>>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
struct Name {
    name: String,
    id: String,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
struct Term {
    source: String,
    contribution: f64,
}

/// The object of `compare --json`.
#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
#[allow(dead_code)]
struct Change {
    format_version: u32,
    delta: f64,
    sigma: f64,
    low: f64,
    high: f64,
    unit: String,
    dof: Option<f64>,
    verdict: String,
    detectable: f64,
    before: SideOf,
    after: SideOf,
    shared: SharedPart,
    notes: Vec<String>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
#[allow(dead_code)]
struct SideOf {
    mean: f64,
    low: f64,
    high: f64,
    n: usize,
    scatter: Option<f64>,
    scatter_extra: Option<f64>,
    photos: Vec<String>,
    left_out: Vec<Left>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
struct Left {
    photo: String,
    outcome: String,
    reason: Option<String>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
#[allow(dead_code)]
struct SharedPart {
    before: f64,
    after: f64,
    left: f64,
}

fn command() -> Command {
    Command::cargo_bin("needleband").unwrap()
}

/// A folder with a dial file, a grey picture and a text that only claims to be a picture.
struct Desk {
    dir: TempDir,
}

impl Desk {
    fn new() -> Self {
        let desk = Self { dir: TempDir::new().unwrap() };
        fs::write(desk.path("oil.json"), to_bytes(&dial()).unwrap()).unwrap();
        fs::create_dir(desk.path("photos")).unwrap();
        let grey = image::RgbImage::from_pixel(320, 240, image::Rgb([90, 90, 90]));
        grey.save(desk.path("photos/b.png")).unwrap();
        fs::write(desk.path("photos/a.jpg"), "this is no picture").unwrap();
        desk
    }
    fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }
    fn run(&self, words: &[&str]) -> assert_cmd::assert::Assert {
        command().current_dir(self.dir.path()).args(words).assert()
    }
    fn lines(&self, words: &[&str], status: i32) -> Vec<Line> {
        let done = self.run(words).code(status);
        let out = String::from_utf8(done.get_output().stdout.clone()).unwrap();
        out.lines().map(|l| serde_json::from_str(l).unwrap_or_else(|e| panic!("{e}: {l}"))).collect()
    }
}

#[test]
fn help_of_every_command_shows_an_example() {
    for (words, example) in [
        (vec!["--help"], "needleband calibrate dial.jpg --unit C"),
        (vec!["calibrate", "--help"], "needleband calibrate dial.jpg --unit C"),
        (vec!["read", "--help"], "needleband read --dial oil.json"),
        (vec!["compare", "--help"], "needleband compare --dial oil.json"),
        (vec!["read", "-h"], "needleband read --dial oil.json"),
    ] {
        command().args(&words).assert().code(0).stdout(contains("Example").and(contains(example)));
    }
    command().args(["calibrate", "--help"]).assert().stdout(contains("top-left").and(contains("CORNER")).and(contains("0.5,0.5")));
    command().arg("--help").assert().stdout(contains("Exit status: 0").and(contains("no safety instrument")));
}

#[test]
fn wrong_words_are_usage_errors_that_show_the_right_ones() {
    let base = ["calibrate", "x.jpg", "--out", "o.json"];
    let with = |more: &[&'static str]| [&base[..], more].concat();
    for (words, said) in [
        (vec!["read", "x.jpg"], "--dial"),
        (vec!["guess"], "unrecognized subcommand"),
        (with(&["--unit", "K", "--mark", "1@2,3"]), "possible values: C, F"),
        (with(&["--unit", "C"]), "--mark"),
        (with(&["--unit", "C", "--mark", "80"]), "write it like 80@846,311"),
        (with(&["--unit", "C", "--mark", "80@1"]), "no comma"),
        (with(&["--unit", "C", "--mark", "hot@1,2"]), "\"hot\" is not a number"),
        (with(&["--unit", "C", "--mark", "nan@1,2"]), "is not a number"),
        (with(&["--unit", "C", "--angle", "80@up"]), "angle in degrees"),
        (vec!["compare", "--dial", "d", "--before", "x.jpg"], "--after"),
    ] {
        command().args(&words).assert().code(2).stdout("").stderr(contains(said));
    }
}

#[test]
fn a_mark_may_be_negative() {
    let desk = Desk::new();
    let words = ["calibrate", "none.jpg", "--unit", "f", "--mark", "-40@-1.5,20", "--mark", "0@5,6", "--out", "o.json"];
    desk.run(&words).code(2).stderr(contains("none.jpg could not be opened").and(contains("Check the path")));
}

#[test]
fn a_missing_dial_file_ends_the_run_and_says_what_to_do() {
    let desk = Desk::new();
    desk.run(&["read", "--dial", "no.json", "photos"]).code(2).stdout("").stderr(contains("no.json").and(contains("that calibrate wrote")));
    desk.run(&["read", "--dial", "photos/a.jpg", "photos"]).code(2).stderr(contains("photos/a.jpg"));
}

#[test]
fn a_file_that_is_no_picture_is_refused_with_status_1() {
    let desk = Desk::new();
    let lines = desk.lines(&["read", "--dial", "oil.json", "--json", "photos/a.jpg"], 1);
    assert_eq!(lines.len(), 1);
    let l = &lines[0];
    assert_eq!((l.format_version, l.photo.as_str(), l.outcome.as_str(), l.unit.as_str()), (1, "photos/a.jpg", "refused", "C"));
    assert_eq!(l.reason.as_deref(), Some("undecodable"));
    assert!(l.value.is_none() && l.low.is_none() && l.value_f.is_none());
    assert!(l.sentence.contains("does not begin like") && l.advice.as_deref().is_some_and(|a| a.contains("Copy the photo again")));
    assert_eq!((l.dial.name.as_str(), l.dial.id.is_empty()), ("gearbox oil", false));
    let text = desk.run(&["read", "--dial", "oil.json", "photos/a.jpg"]).code(1);
    text.stdout(contains("not read: The file does not begin like").and(contains("1 not read.")).and(contains("no safety instrument")));
}

#[test]
fn a_photo_that_cannot_be_opened_is_said_and_the_run_goes_on() {
    let desk = Desk::new();
    let words = ["read", "--dial", "oil.json", "--json", "gone.jpg", "photos/b.png"];
    let lines = desk.lines(&words, 2);
    assert_eq!(lines.iter().map(|l| l.photo.as_str()).collect::<Vec<_>>(), ["gone.jpg", "photos/b.png"]);
    assert_eq!((lines[0].outcome.as_str(), lines[0].reason.as_deref()), ("refused", Some("not_opened")));
    assert_eq!(lines[1].outcome, "refused");
    desk.run(&words).stderr(contains("gone.jpg could not be opened (No such file or directory), so it is not read. Check the path"));
}

#[test]
fn every_photo_has_its_line_in_the_order_given() {
    let desk = Desk::new();
    let mut given: Vec<String> = Vec::new();
    for k in 0..40 {
        let name = format!("photos/{}{k}.png", if k % 3 == 0 { "z" } else { "m" });
        fs::copy(desk.path("photos/b.png"), desk.path(&name)).unwrap();
        given.push(name);
    }
    given.reverse();
    let words: Vec<&str> = ["read", "--dial", "oil.json", "--json"].into_iter().chain(given.iter().map(String::as_str)).collect();
    let lines = desk.lines(&words, 1);
    assert_eq!(lines.into_iter().map(|l| l.photo).collect::<Vec<_>>(), given);
}

#[test]
fn a_folder_stands_for_its_pictures_in_the_order_of_their_names() {
    let desk = Desk::new();
    for other in ["notes.txt", ".hidden.jpg", "c.HEIC"] {
        fs::write(desk.path("photos").join(other), "x").unwrap();
    }
    fs::create_dir(desk.path("photos/inner.jpg")).unwrap();
    let lines = desk.lines(&["read", "--dial", "oil.json", "--json", "photos"], 1);
    assert_eq!(lines.iter().map(|l| l.photo.as_str()).collect::<Vec<_>>(), ["photos/a.jpg", "photos/b.png", "photos/c.HEIC"]);
    fs::create_dir(desk.path("empty")).unwrap();
    desk.run(&["read", "--dial", "oil.json", "photos", "empty"]).code(2).stdout("").stderr(contains("The folder empty holds no picture"));
}

#[test]
fn a_file_that_exists_is_never_written_over_without_force() {
    let desk = Desk::new();
    let before = fs::read(desk.path("oil.json")).unwrap();
    let marks = ["--unit", "C", "--mark", "40@10,10", "--mark", "80@50,10"];
    let with = |more: &[&'static str]| [&["calibrate", "photos/b.png"], &marks[..], more].concat();
    desk.run(&with(&["--out", "oil.json"])).code(2).stderr(contains("oil.json exists already").and(contains("--force")));
    fs::write(desk.path("new-check.png"), "mine").unwrap();
    desk.run(&with(&["--out", "new.json"])).code(2).stderr(contains("new-check.png exists already"));
    desk.run(&with(&["--out", "photos/b.png", "--force"])).code(2).stderr(contains("reference photo itself"));
    desk.run(&with(&["--out", "x.json", "--picture", "x.gif"])).code(2).stderr(contains("neither .png nor .jpg"));
    assert_eq!(fs::read(desk.path("oil.json")).unwrap(), before);
    assert_eq!(fs::read(desk.path("new-check.png")).unwrap(), b"mine");
    assert!(!desk.path("new.json").exists() && !desk.path("x.json").exists());
}

#[test]
fn a_reference_photo_that_cannot_be_decoded_is_status_1() {
    let desk = Desk::new();
    let words = ["calibrate", "photos/a.jpg", "--unit", "C", "--mark", "40@10,10", "--mark", "80@50,10", "--out", "n.json"];
    desk.run(&words).code(1).stdout("").stderr(contains("photos/a.jpg: The file does not begin like"));
    assert!(!desk.path("n.json").exists());
}

#[test]
fn overlays_go_into_a_folder_of_their_own() {
    let desk = Desk::new();
    let shot = photo(36.0);
    let picture = image::RgbImage::from_raw(800, 600, shot.rgb).unwrap();
    fs::create_dir(desk.path("more")).unwrap();
    picture.save(desk.path("more/b.jpg")).unwrap();
    let words = ["read", "--dial", "oil.json", "photos/b.png", "more/b.jpg", "photos/a.jpg", "--overlay", "drawn"];
    desk.run(&words).code(1);
    let size = |name: &str| image::image_dimensions(desk.path(name)).unwrap();
    assert_eq!(size("drawn/b.png").0, 1200);
    assert_eq!(size("drawn/b-2.png").0, 1200);
    assert!(!desk.path("drawn/a.png").exists(), "nothing can be drawn over a file that is no picture");
    let words = ["read", "--dial", "oil.json", "photos/b.png", "--overlay", "photos"];
    desk.run(&words).code(2).stderr(contains("could be taken for photos"));
    assert_eq!(size("photos/b.png"), (320, 240));
}

#[test]
fn compare_without_a_reading_says_why_and_never_writes_over_a_photo() {
    let desk = Desk::new();
    let words = ["compare", "--dial", "oil.json", "--before", "photos", "--after", "photos/b.png", "--json"];
    desk.run(&words).code(1).stdout("").stderr(contains("None of the 2 photos of the side \"before\"").and(contains("2 not read")));
    let words = ["compare", "--dial", "oil.json", "--before", "photos", "--after", "photos/b.png", "--picture", "photos/b.png"];
    desk.run(&words).code(2).stderr(contains("over a file that is being read"));
    desk.run(&["compare", "--dial", "oil.json", "--before", "gone.jpg", "--after", "photos"]).code(2).stderr(contains("gone.jpg"));
}

#[test]
fn the_json_of_a_comparison_passes_a_strict_reader() {
    use super::handmade::{record, without};
    use needleband::reading::Outcome;
    let before = [record("a", 92.0, &[("dial:d/x", 0.5), ("photo:a/needle", 0.3)]), without("b", Outcome::AboveScale)];
    let after = [record("c", 85.0, &[("dial:d/x", 0.5), ("photo:c/needle", 0.4)])];
    let c = needleband::compare::compare(&before, &after).unwrap();
    let line = needleband::output::json::comparison(&c, &["a.jpg".into(), "b.jpg".into()], &["c.jpg".into()]).unwrap();
    let read: Change = serde_json::from_str(&line).unwrap();
    assert_eq!((read.format_version, read.delta, read.unit.as_str(), read.dof), (1, -7.0, "C", None));
    assert!((read.sigma - 0.5).abs() < 1e-12 && read.low < -7.0 && read.high > -7.0 && read.high < 0.0);
    assert!(read.verdict.starts_with("a real drop of 7.0"));
    assert_eq!((read.before.n, read.before.photos, read.after.n), (1, vec!["a.jpg".to_string()], 1));
    let left = &read.before.left_out[0];
    assert_eq!((left.photo.as_str(), left.outcome.as_str(), left.reason.as_deref()), ("b.jpg", "above_scale", None));
    assert_eq!((read.shared.before, read.shared.left), (0.5, 0.0));
}

#[test]
fn the_json_of_a_reading_passes_a_strict_reader() {
    use super::handmade::record;
    let r = record("a", 92.0, &[("dial:d/x", 0.3), ("photo:a/needle", -0.4)]);
    let line: Line = serde_json::from_str(&needleband::output::json::photo_line("p.jpg", &dial(), &r, true).unwrap()).unwrap();
    assert_eq!((line.value, line.sigma, line.value_c), (Some(92.0), Some(0.5), Some(92.0)));
    assert!((line.value_f.unwrap() - 197.6).abs() < 1e-12, "NIST SP 811: 92 x 1.8 + 32");
    assert_eq!((line.angle_deg, line.dial_px, line.reason), (Some(36.0), Some(320.0), None));
    let budget = line.budget.unwrap();
    assert_eq!((budget[1].source.as_str(), budget[1].contribution), ("photo:a/needle", -0.4));
}

/// A reader that has seen enough (`| head -1`) is no error and leaves no message.
#[cfg(unix)]
#[test]
fn a_closed_pipe_is_quiet() {
    use std::process::{Command, Stdio};
    let desk = Desk::new();
    let bin = assert_cmd::cargo::cargo_bin("needleband");
    let many = std::iter::repeat_n("photos/b.png", 300);
    let mut child = Command::new(bin)
        .current_dir(desk.dir.path())
        .args(["read", "--dial", "oil.json", "--json"])
        .args(many)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let done = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&done.stderr), "");
    assert_eq!(done.status.code(), Some(0));
    assert!(Path::new(&desk.path("oil.json")).exists());
}

/// The whole way with drawn photos of known temperature: calibrate, read, compare, and every file they write.
#[test]
fn from_a_reference_photo_to_a_change_with_its_picture() {
    use super::handmade::printed;
    let desk = Desk::new();
    let save = |name: &str, p: needleband::photo::Photo| {
        image::RgbImage::from_raw(1000, 800, p.rgb).unwrap().save(desk.path(name)).unwrap();
    };
    let (pivot, radius) = ([480.0, 400.0], 300.0);
    save("ref.png", printed(66.0, pivot, radius, 0.0, 1.0));
    save("hot1.png", printed(92.0, [520.3, 390.8], 260.0, 8.0, 0.9));
    save("hot2.png", printed(92.0, [470.6, 420.1], 285.0, -5.0, 0.8));
    save("cold1.png", printed(85.0, [500.2, 410.4], 270.0, 3.0, 0.95));
    save("cold2.png", printed(85.0, [490.9, 380.7], 250.0, -11.0, 0.85));
    let mut words: Vec<String> = "calibrate ref.png --unit C --name drawn --out drawn.json".split(' ').map(String::from).collect();
    for value in [40.0, 60.0, 80.0, 100.0, 120.0_f64] {
        let (s, c) = (3.0 * (value - 80.0)).to_radians().sin_cos();
        // On the command line the picture's corner is 0,0: half a pixel more than in the library.
        let at = [pivot[0] + radius * s + 0.5, pivot[1] - radius * c + 0.5];
        words.extend(["--mark".to_string(), format!("{value}@{:.2},{:.2}", at[0], at[1])]);
    }
    words.extend(["--pivot".to_string(), format!("{},{}", pivot[0] + 0.5, pivot[1] + 0.5)]);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    desk.run(&words).code(0).stdout(contains("Dial \"drawn\"").and(contains("tick, counted")).and(contains("drawn-check.png")));
    assert_eq!(image::image_dimensions(desk.path("drawn-check.png")).unwrap().0, 1400);
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
    assert_eq!(image::image_dimensions(desk.path("change.jpg")).unwrap(), (1600, 1000));
}
