//! The command as a user or a script meets it: help, wrong usage, files, exit statuses, and JSON read by a second, strict type.
use super::handmade::{dial, photo};
use crate::support::pictures;
use assert_cmd::Command;
use needleband::dial::to_bytes;
use predicates::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

#[cfg(not(feature = "video"))]
mod clip_left_out;
mod diary;
mod entries;
mod limits;
mod ordinary;
mod refine;
pub mod shapes;
mod start;
mod ticks;
mod view;
mod whole_way;
pub mod words;
use shapes::{Change, Line};

/// With one space in place of every break, however the lines are wrapped.
pub fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether these words are said, however the lines are wrapped.
pub fn contains(words: impl Into<String>) -> impl Predicate<str> {
    let words = flat(&words.into());
    predicates::function::function(move |said: &str| flat(said).contains(&words))
}

pub fn command() -> Command {
    Command::cargo_bin("needleband").unwrap()
}

/// A folder with a dial file, a grey picture and a text that only claims to be a picture.
pub struct Desk {
    pub dir: TempDir,
}

impl Desk {
    pub fn new() -> Self {
        let desk = Self { dir: TempDir::new().unwrap() };
        fs::write(desk.path("oil.json"), to_bytes(&dial()).unwrap()).unwrap();
        fs::create_dir(desk.path("photos")).unwrap();
        let grey = image::RgbImage::from_pixel(320, 240, image::Rgb([90, 90, 90]));
        pictures::save(&grey, desk.path("photos/b.png"));
        fs::write(desk.path("photos/a.jpg"), "this is no picture").unwrap();
        desk
    }
    pub fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }
    /// One of the sample photos at half its size, under the same name: read and calibrated in a part of the time.
    pub fn halved(self, sample: &str) -> Self {
        let whole = pictures::opened(Path::new(env!("CARGO_MANIFEST_DIR")).join("samples").join(sample));
        let half = image::imageops::thumbnail(&whole, whole.width() / 2, whole.height() / 2);
        pictures::save(&half, self.path(Path::new(sample).file_name().unwrap().to_str().unwrap()));
        self
    }
    pub fn run(&self, words: &[&str]) -> assert_cmd::assert::Assert {
        command().current_dir(self.dir.path()).args(words).assert()
    }
    pub fn lines(&self, words: &[&str], status: i32) -> Vec<Line> {
        let done = self.run(words).code(status);
        let out = String::from_utf8(done.get_output().stdout.clone()).unwrap();
        out.lines().map(|l| serde_json::from_str(l).unwrap_or_else(|e| panic!("{e}: {l}"))).collect()
    }
}

#[test]
fn help_of_every_command_shows_an_example() {
    for (words, example) in [
        (vec!["--help"], "needleband start dial.jpg"),
        (vec!["calibrate", "--help"], "needleband calibrate dial.jpg --unit C"),
        (vec!["refine", "--help"], "needleband refine --dial oil.json --gauge-accuracy 2%span"),
        (vec!["refine", "--help"], "--flat 75..90"),
        (vec!["calibrate", "--help"], "--gauge-accuracy 3deg"),
        (vec!["read", "--help"], "needleband read --dial oil.json"),
        (vec!["compare", "--help"], "needleband compare --dial oil.json"),
        (vec!["settle", "--help"], "needleband settle --dial oil.json frames/ --every 10s"),
        (vec!["settle", "--help"], "ffmpeg -i clip.mp4 -vf fps=1/10 frames/%04d.jpg"),
        (vec!["compare", "--help"], "--ambient-before 24C±2 --ambient-after 21C±2"),
        (vec!["plan", "--help"], "needleband plan --dial oil.json --drop 5C --scatter 0.8C"),
        (vec!["ticks", "--help"], "needleband ticks dial.jpg --picture ticks.png"),
        (vec!["check", "--help"], "needleband check --dial oil.json"),
        (vec!["calibrate", "--help"], "needleband calibrate dial.jpg --page --open --out oil.json"),
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
        (vec!["guess"], "Unrecognized subcommand"),
        (with(&["--unit", "kelvin per minute", "--mark", "1@2,3"]), "no name for a unit"),
        (with(&["--unit", "C"]), "--mark"),
        (with(&["--unit", "C", "--mark", "80"]), "write it like 80@846,311"),
        (with(&["--unit", "C", "--mark", "80@1"]), "no comma"),
        (with(&["--unit", "C", "--mark", "hot@1,2"]), "\"hot\" is not a number"),
        (with(&["--unit", "C", "--mark", "nan@1,2"]), "is not a number"),
        (with(&["--unit", "C", "--angle", "80@up"]), "angle in degrees"),
        (vec!["compare", "--dial", "d", "--before", "x.jpg"], "--after"),
        (vec!["settle", "--dial", "d", "x.jpg", "--every", "10"], "no unit of time"),
        (vec!["settle", "--dial", "d", "x.jpg", "--limit", "120"], "write it like 120C or 248F"),
        (vec!["read", "--dial", "d", "x.jpg", "--limit", "-300C"], "absolute zero"),
        (vec!["compare", "--before", "x.jpg", "--after", "y.jpg", "--ambient-before", "24C"], "--ambient-after"),
        (
            vec!["compare", "--before", "x.jpg", "--after", "y.jpg", "--ambient-before", "24", "--ambient-after", "2C"],
            "its unit is not known",
        ),
        (vec!["compare", "--before", "x.jpg", "--after", "y.jpg", "--ambient-slope", "0.5"], "--ambient-before"),
        (vec!["compare", "--before", "x.jpg", "--after", "y.jpg", "--ambient-slope", "1.5"], "reaches outside 0..1"),
        (vec!["plan", "--dial", "d"], "--drop"),
        (vec!["plan", "--dial", "d", "--drop", "0C"], "is not above 0"),
        (vec!["plan", "--dial", "d", "--drop", "5C", "--time-constant", "8"], "no unit of time"),
        (vec!["settle", "--dial", "d", "x.jpg", "--every", "10s", "--times", "t.csv"], "cannot be used with"),
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
    desk.run(&with(&["--out", "new.json", "--picture", "new-check.png"])).code(2).stderr(contains("new-check.png exists already"));
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
    let picture = pictures::of(&shot);
    fs::create_dir(desk.path("more")).unwrap();
    pictures::save(&picture, desk.path("more/b.jpg"));
    let words = ["read", "--dial", "oil.json", "photos/b.png", "more/b.jpg", "photos/a.jpg", "--overlay", "drawn"];
    desk.run(&words).code(1);
    let size = |name: &str| pictures::size(desk.path(name));
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
fn settle_says_what_is_wrong_with_its_files() {
    let desk = Desk::new();
    let with = |more: &[&'static str]| [&["settle", "--dial", "oil.json", "photos/b.png"], more].concat();
    desk.run(&with(&["--times", "no.csv"])).code(2).stdout("").stderr(contains("no.csv could not be read"));
    fs::write(desk.path("t.csv"), "photo,seconds\nb.png,0\nb.png,soon\n").unwrap();
    desk.run(&with(&["--times", "t.csv"])).code(2).stderr(contains("line 3 (\"b.png,soon\")").and(contains("0001.jpg,120")));
    desk.run(&with(&["--every", "1s", "--plot", "x.gif"])).code(2).stderr(contains("neither .svg nor .png"));
    desk.run(&with(&["--every", "1s", "--plot", "photos/b.png"])).code(2).stderr(contains("over a file that is being read"));
    desk.run(&with(&["--every", "1s"])).code(1).stdout("").stderr(contains("The only photo gave no reading"));
}

#[test]
fn the_json_of_a_comparison_passes_a_strict_reader() {
    use super::handmade::{record, without};
    use needleband::diagnostics::Refusal;
    use needleband::reading::Outcome;
    let before = [
        record("a", 92.0, &[("dial:d/x", 0.5), ("photo:a/needle", 0.3)]),
        without("b", Outcome::Refused(Refusal::NeedleNotFound, "a hand".into())),
    ];
    let after = [record("c", 85.0, &[("dial:d/x", 0.5), ("photo:c/needle", 0.4)])];
    let c = needleband::compare::compare(&before, &after).unwrap();
    let line = needleband::output::json::comparison(&c, &["a.jpg".into(), "b.jpg".into()], &["c.jpg".into()]).unwrap();
    let read: Change = serde_json::from_str(&line).unwrap();
    assert_eq!((read.format_version, read.delta, read.unit.as_str(), read.dof), (1, -7.0, "C", None));
    assert!((read.sigma - 0.5).abs() < 1e-12 && read.low < -7.0 && read.high > -7.0 && read.high < 0.0);
    assert_eq!(read.verdict, "a difference of 7.0 °C (lower), seen in one photo a side: may be scatter");
    assert_eq!((read.before.n, read.before.photos, read.after.n), (1, vec!["a.jpg".to_string()], 1));
    let left = &read.before.left_out[0];
    assert_eq!((left.photo.as_str(), left.outcome.as_str(), left.reason.as_deref()), ("b.jpg", "refused", Some("needle_not_found")));
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
