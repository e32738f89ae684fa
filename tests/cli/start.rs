//! The guided road from a photo to the first reading, the dial where none is named, tables for a spreadsheet, and the width of what is said.
use super::{Desk, command, contains};
use assert_cmd::assert::Assert;
use predicates::prelude::*;
use std::fs;

fn shipped(path: &str) -> String {
    format!("{}/samples/{path}", env!("CARGO_MANIFEST_DIR"))
}

/// `start` with what a person answers, on a photo of half the sample's size.
fn answered(desk: &Desk, answers: &[&str]) -> Assert {
    let words = ["start", "reference.jpg", "--terminal"];
    command().current_dir(desk.path("")).args(words).write_stdin(answers.join("\n") + "\n").assert()
}

#[test]
fn from_a_photo_to_the_first_reading() {
    let desk = Desk::new().halved("gearbox-oil/reference.jpg");
    let second = format!("'{}'", shipped("gearbox-oil/before/1.jpg"));
    let done = answered(&desk, &["many", "5", "C", "1=40 11=60 21=80 31=100 41=120", "84", "y", &second]).code(0);
    // samples/truth.csv: 90.945 °C; this reference has a quarter of the sample's pixels, and its marks turn the reading by 0.05 °C
    done.stdout(
        contains("That is no number of degrees")
            .and(contains("dial-ticks.png"))
            .and(contains("91.0 ± "))
            .and(contains("how right the gauge is, declared as ±5° of needle"))
            .and(contains("needleband compare --dial dial.json")),
    );
    for file in ["dial.json", "dial-check.png", "dial-ticks.png"] {
        assert!(desk.path(file).exists(), "{file}");
    }
    // what the person does not see is not called right, and a file that is there stays
    answered(&desk, &["", "C", "1=40 21=80 41=120", "", "n"]).code(1).stdout(contains("do not use dial-2.json"));
    // nobody says that the needle reads right: it is not taken for a yes; a picture that is there stays
    fs::write(desk.path("dial-3-ticks.png"), "mine").unwrap();
    answered(&desk, &["", "C", "1=40 21=80 41=120"]).code(1).stdout(contains("Nobody has said so").and(contains("dial-4.json")));
    assert_eq!(fs::read(desk.path("dial-3-ticks.png")).unwrap(), b"mine");
    // the person's eye against the values: 40 at the wrong tick
    answered(&desk, &["", "C", "1=40 11=80 21=120", "84"])
        .code(2)
        .stderr(contains("You see the needle at 84.0").and(contains("No dial file")));
    // a typo is asked again, and so are values that make no scale; what was right is kept
    let typos = ["", "?", "C", "1=40 21=eighty 41=120", "1=40 99=80 41=120", "", "1=40 21=80 41=120", "84", "y", ""];
    answered(&desk, &typos)
        .code(0)
        .stdout(
            contains("\"?\" is no name for a unit")
                .and(contains("\"eighty\" is not a number"))
                .and(contains("The printed values once more")),
        )
        .stderr(contains("There is no tick 99"));
    // nobody there to answer: nothing is made up
    answered(&desk, &["", ""]).code(1).stderr(contains("Without an answer there is no dial file"));
    assert!(!desk.path("dial-3.json").exists() && !desk.path("dial-5.json").exists() && !desk.path("dial-7.json").exists());
    command().current_dir(desk.path("")).args(["start", "gone.jpg"]).write_stdin("").assert().code(2).stderr(contains("gone.jpg"));
    command().current_dir(desk.path("")).arg("start").write_stdin("").assert().code(2).stderr(contains("No photo was named"));
    let bare = ["calibrate", "photos/b.png", "--out", "x.json"];
    desk.run(&bare).code(2).stdout("").stderr(contains("needleband start photos/b.png"));
}

#[test]
fn the_dial_where_none_is_named() {
    let desk = Desk::new();
    let home = desk.path("home");
    let with = |words: &[&str], variable: Option<&str>| {
        let mut c = command();
        c.current_dir(desk.path("")).args(words).env_remove("NEEDLEBAND_DIAL");
        for name in ["XDG_CONFIG_HOME", "HOME", "APPDATA"] {
            c.env(name, &home);
        }
        if let Some(value) = variable {
            c.env("NEEDLEBAND_DIAL", value);
        }
        c.assert()
    };
    let check = ["check"];
    // one in the folder; JSON of another kind does not count
    fs::write(desk.path("other.json"), "{\"format\":\"other\"}").unwrap();
    with(&check, None).code(0).stderr(contains("dial file oil.json, the only one in this folder"));
    with(&["check", "photos/b.png"], None).code(1).stderr(contains("oil.json"));
    // two: not guessed
    fs::copy(desk.path("oil.json"), desk.path("more.json")).unwrap();
    with(&check, None).code(2).stdout("").stderr(contains("holds 2: more.json, oil.json").and(contains("--dial")));
    with(&["use"], None).code(0).stdout(contains("No dial file is set"));
    with(&["use", "other.json"], None).code(2).stderr(contains("other.json"));
    with(&["use", "oil.json"], None).code(0).stdout(contains("is used from now on"));
    with(&check, None).code(0).stderr(contains("as set with needleband use"));
    // the environment comes first, and what is typed before all
    with(&check, Some("gone.json")).code(2).stderr(contains("gone.json, from NEEDLEBAND_DIAL"));
    with(&["check", "--dial", "more.json"], Some("gone.json")).code(0).stderr("");
    for file in ["oil.json", "more.json"] {
        fs::rename(desk.path(file), home.join(file)).unwrap();
    }
    with(&check, None).code(2).stderr(contains("oil.json could not be opened"));
    fs::remove_dir_all(&home).unwrap();
    with(&check, None).code(2).stderr(contains("this folder holds none"));
}

const DIAL: [&str; 2] = ["--dial", concat!(env!("CARGO_MANIFEST_DIR"), "/calibration/gearbox-oil.json")];

#[test]
fn tables_hold_what_the_json_holds() {
    let desk = Desk::new();
    let (before, after) = (shipped("gearbox-oil/before"), shipped("gearbox-oil/after"));
    let told = |words: &[&str]| String::from_utf8(desk.run(words).get_output().stdout.clone()).unwrap();
    let compare = ["compare", DIAL[0], DIAL[1], "--before", &before, "--after", &after];
    let table = told(&[&compare[..], &["--csv"]].concat());
    let json: serde_json::Value = serde_json::from_str(&told(&[&compare[..], &["--json"]].concat())).unwrap();
    let rows: Vec<Vec<&str>> = table.split_terminator("\r\n").map(|l| l.split(',').collect()).collect();
    assert_eq!((rows.len(), rows[3][0], rows[3][1]), (4, "change", json["delta"].to_string().as_str()), "{table}");
    assert!(rows.iter().all(|r| r.len() == 8), "{table}");
    let photo = shipped("gearbox-oil/before/1.jpg");
    let table = told(&["read", DIAL[0], DIAL[1], "--csv", &photo, "photos/a.jpg"]);
    assert!(table.starts_with("photo,outcome,value,") && table.split_terminator("\r\n").count() == 3, "{table}");
    assert!(table.contains("photos/a.jpg,refused,,,,,C,"), "{table}");
    let against = desk
        .run(&["read", DIAL[0], DIAL[1], "--csv", "--explain", "--limit", "95C", &photo])
        .stderr(contains("--explain is for words alone"));
    let table = String::from_utf8(against.get_output().stdout.clone()).unwrap();
    assert!(table.ends_with(",95.0,below\r\n"), "{table}");
    let table = told(&["settle", DIAL[0], DIAL[1], &before, "--every", "60s", "--csv"]);
    assert!(table.starts_with("photo,seconds,value,sigma,fitted,bad\r\n") && table.split_terminator("\r\n").count() == 6, "{table}");
}

/// One rule for every command: without --force nothing is written over.
#[test]
fn what_is_there_stays_without_force() {
    let desk = Desk::new();
    let photo = shipped("gearbox-oil/before/1.jpg");
    let words = |first: &[&'static str], last: &[&'static str]| -> Vec<String> {
        [first, &DIAL, last].concat().iter().map(|w| w.replace("PHOTO", &photo)).collect()
    };
    fs::create_dir(desk.path("drawn")).unwrap();
    for (target, words) in [
        ("drawn/1.png", words(&["read", "PHOTO"], &["--overlay", "drawn"])),
        ("c.png", words(&["compare", "--before", "PHOTO", "--after", "PHOTO"], &["--picture", "c.png", "--scatter", "1C"])),
        ("s.png", words(&["check"], &["--picture", "s.png"])),
        ("t.png", ["ticks", &photo, "--picture", "t.png"].map(String::from).to_vec()),
        ("v.html", words(&["view", "PHOTO"], &["--out", "v.html"])),
    ] {
        fs::write(desk.path(target), "mine").unwrap();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        desk.run(&words).code(2).stdout("").stderr(contains(format!("{target} exists already")).and(contains("add --force")));
        assert_eq!(fs::read(desk.path(target)).unwrap(), b"mine");
        desk.run(&[&words[..], &["--force"]].concat());
        assert_ne!(fs::read(desk.path(target)).unwrap(), b"mine", "{target}");
    }
}

/// A suggested command is one that a shell takes as it stands.
#[test]
fn names_in_suggested_commands_are_quoted() {
    let desk = Desk::new();
    desk.run(&["calibrate", "it's my dial.jpg", "--out", "x.json"]).code(2).stderr(contains("needleband start 'it'\\''s my dial.jpg'"));
}

/// A terminal as it opens has 80 columns (words that cannot be broken, such as long paths, aside).
#[test]
fn nothing_is_wider_than_a_terminal() {
    let desk = Desk::new();
    fs::create_dir(desk.path("b")).unwrap();
    fs::create_dir(desk.path("a")).unwrap();
    fs::copy(DIAL[1], desk.path("oil.json")).unwrap();
    for (from, to) in [("before/1.jpg", "b/1.jpg"), ("no-needle.jpg", "b/2.jpg"), ("after/1.jpg", "a/1.jpg"), ("after/2.jpg", "a/2.jpg")] {
        fs::copy(shipped(&format!("gearbox-oil/{from}")), desk.path(to)).unwrap();
    }
    let note = |stage: &'static str, folder: &'static str| ["note", "--diary", "d.jsonl", "--stage", stage, folder];
    for words in [
        &["read", "b", "--limit", "120C"][..],
        &["read", "b", "--explain", "--budget"],
        &["compare", "--before", "b", "--after", "a", "--limit", "120C", "--ambient-before", "24C", "--ambient-after", "20C"],
        &["compare", "--before", "b", "--after", "a", "--explain"],
        &["check", "a"],
        &["plan", "--drop", "5C"],
        &note("stock", "b"),
        &note("a much larger gearbox-oil cooler with its own fan", "a"),
        &["stages", "--diary", "d.jsonl", "--explain", "--limit", "120C"],
    ] {
        let done = desk.run(words);
        let said = String::from_utf8(done.get_output().stdout.clone()).unwrap();
        assert!(!said.is_empty(), "{words:?}");
        let wide: Vec<&str> = said.lines().filter(|l| l.chars().count() > 80).collect();
        assert!(wide.is_empty(), "{words:?}: {wide:#?}");
    }
}
