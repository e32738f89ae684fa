//! `ticks`, `calibrate --tick` and `check` as a user meets them.
use super::{Desk, contains};
use crate::support::pictures;
use predicates::prelude::*;
use serde_json::Value;
use std::fs;

const ONE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples/transfer-box/reference.jpg");
const CLUSTER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples/cluster-coolant/reference.jpg");

#[test]
fn ticks_are_numbered_drawn_and_taken_by_their_numbers() {
    let desk = Desk::new();
    desk.run(&["ticks", ONE, "--picture", "ticks.png"])
        .code(0)
        .stdout(contains("1 dial").and(contains("25 ticks")).and(contains("calibrate")).and(contains("drawn in ticks.png")));
    assert_eq!(pictures::size(desk.path("ticks.png")).0, 1600);
    let base = ["calibrate", ONE, "--unit", "C", "--name", "box"];
    let with = |words: &[&str], out: &str| -> Vec<u8> {
        desk.run(&[&base[..], words, &["--out", out]].concat()).code(0);
        fs::read(desk.path(out)).unwrap()
    };
    let by_number = with(&["--tick", "1=20", "--tick", "13=80", "--tick", "25=140"], "a.json");
    // the places that are shown, typed, mean the same to the last bit
    let told = desk.run(&["ticks", ONE, "--json"]).code(0).get_output().stdout.clone();
    let told: Value = serde_json::from_slice(&told).unwrap();
    let dial = &told["dials"][0];
    let mark =
        |number: usize, value: u32| format!("{value}@{},{}", dial["ticks"][number - 1]["place"][0], dial["ticks"][number - 1]["place"][1]);
    let pivot = format!("{},{}", dial["pivot"][0], dial["pivot"][1]);
    let (a, b, c) = (mark(1, 20), mark(13, 80), mark(25, 140));
    let by_place = with(&["--mark", &a, "--mark", &b, "--mark", &c, "--pivot", &pivot], "b.json");
    assert!(by_number == by_place, "ticks by number and by place give different files");
    desk.run(&[&base[..], &["--tick", "1=20", "--tick", "26=140", "--out", "c.json"]].concat())
        .code(2)
        .stderr(contains("There is no tick 26").and(contains("numbers 1 to 25")).and(contains("--picture")));
    assert!(!desk.path("c.json").exists());
}

#[test]
fn several_dials_are_told_apart() {
    let desk = Desk::new();
    let both = contains("2 dials").and(contains("Dial A")).and(contains("Dial B")).and(contains("--dial-at"));
    let told = String::from_utf8(desk.run(&["ticks", CLUSTER]).code(0).stdout(both).get_output().stdout.clone()).unwrap();
    // each dial has its place
    assert!(told.contains("That is dial A; the other: B --dial-at ") && told.matches("--dial-at").count() == 2, "{told}");
    desk.run(&["ticks", CLUSTER, "--dial-at", "1500,600"]).code(0).stdout(contains("1 dial").and(contains("17 ticks")));
    desk.run(&["ticks", CLUSTER, "--within", "1500,600"]).code(2).stderr(contains("like 846,620,330"));
    desk.run(&["ticks", CLUSTER, "--within", "1500,600,0"]).code(2).stderr(contains("the radius must be above 0"));
    let base = ["calibrate", CLUSTER, "--unit", "C", "--tick", "1=50", "--tick", "3=90", "--tick", "5=130", "--out", "a.json"];
    desk.run(&base).code(2).stderr(contains("2 dials were found").and(contains("--dial-at 7")));
    // the truth of this photo is 103.62 °C (the renderer's)
    desk.run(&[&base[..], &["--dial-at", "700,700"]].concat()).code(0).stdout(contains("Its needle reads 103."));
}

/// The truth of the photo is 103.62 °C (the renderer's, samples/truth.csv has the others); a mistyped value moves the reading.
#[test]
fn what_the_person_sees_the_needle_read_is_held_against_the_dial() {
    let desk = Desk::new().halved("cluster-coolant/reference.jpg");
    let with = |seen: &str, last: &str, out: &str| {
        let tick = format!("5={last}");
        let base =
            ["calibrate", "reference.jpg", "--unit", "C", "--tick", "1=50", "--tick", "3=90", "--tick", &tick, "--dial-at", "350,350"];
        desk.run(&[&base[..], &["--needle-reads", seen, "--out", out]].concat())
    };
    with("103", "130", "a.json").code(0).stdout(contains("Its needle reads 103."));
    // half of a step is allowed where nothing is said, and a comma is a point
    with("101,5+-3", "130", "b.json").code(0);
    // 150 for 130: the ticks question it before the needle is asked
    with("103±2", "150", "c.json").code(2).stderr(contains("150 is odd, and 130 would fit").and(contains("No dial file was written")));
    with("60", "130", "d.json").code(2).stderr(contains("reads 103.").and(contains("--needle-reads")));
    with("103±0", "130", "e.json").code(2).stderr(contains("must be above 0"));
    for (out, there) in [("a.json", true), ("b.json", true), ("c.json", false), ("d.json", false), ("e.json", false)] {
        assert_eq!(desk.path(out).exists(), there, "{out}");
    }
}

/// A reference photo without its needle: the file is made, and it is said that later photos may often not be read either.
#[test]
fn a_reference_that_its_own_dial_file_does_not_read_is_told() {
    let desk = Desk::new().halved("gearbox-oil/no-needle.jpg");
    let ticks = ["--tick", "1=40", "--tick", "11=60", "--tick", "21=80"];
    desk.run(&[&["calibrate", "no-needle.jpg", "--unit", "C", "--out", "a.json"], &ticks[..]].concat())
        .code(0)
        .stdout(contains("does not read its own reference photo").and(contains("Its needle gave no value")));
}

#[test]
fn a_photo_without_a_dial_is_said_so_with_advice() {
    let desk = Desk::new();
    desk.run(&["ticks", "photos/b.png"]).code(1).stderr(
        contains("no dial was found").and(contains("Use a sharp photo")).and(contains("ticks --within X,Y,RADIUS")).and(contains("--page")),
    );
    desk.run(&["calibrate", "photos/b.png", "--unit", "C", "--tick", "1=40", "--tick", "2=50", "--out", "a.json"])
        .code(1)
        .stderr(contains("no dial was found"));
    for (word, said) in [("1:40", "there is no = between"), ("x=40", "\"x\" is no tick number"), ("1=hot", "\"hot\" is not a number")] {
        desk.run(&["calibrate", "photos/b.png", "--unit", "C", "--tick", word, "--out", "a.json"]).code(2).stderr(contains(said));
    }
}

#[test]
fn check_says_how_good_a_dial_file_is() {
    let desk = Desk::new();
    let whole = desk.run(&["check", "--dial", "oil.json", "--picture", "scale.png"]).code(0);
    whole.stdout(contains("A degree of needle is 0.33 °C").and(contains("The smallest change")).and(contains("drawn in scale.png")));
    assert_eq!(pictures::size(desk.path("scale.png")).0, 1400);
    // a photo that is not read is told, and in the status
    desk.run(&["check", "--dial", "oil.json", "photos/b.png"]).code(1).stdout(contains("The photo gave no number"));
    desk.run(&["check", "--dial", "none.json"]).code(2).stderr(contains("could not be opened"));
    // the dial file may stand first, too
    let said = |words: &[&str], status: i32| desk.run(words).code(status).get_output().stdout.clone();
    assert!(said(&["check", "oil.json"], 0) == said(&["check", "--dial", "oil.json"], 0));
    assert!(said(&["check", "oil.json", "photos", "--json"], 1) == said(&["check", "photos", "--dial", "oil.json", "--json"], 1));
    // the only dial file of the folder is taken where none is named, and that is said
    desk.run(&["check"]).code(0).stderr(contains("dial file oil.json, the only one in this folder"));
}

#[test]
fn check_never_draws_over_a_file_that_it_reads() {
    let desk = Desk::new();
    let photo = fs::read(desk.path("photos/b.png")).unwrap();
    let dial = fs::read(desk.path("oil.json")).unwrap();
    fs::write(desk.path("dial.png"), &dial).unwrap();
    for words in [
        &["oil.json", "photos/b.png", "--picture", "photos/b.png"][..],
        &["oil.json", "photos", "--picture", "photos/../photos/b.png"],
        &["dial.png", "--picture", "dial.png"],
    ] {
        desk.run(&[&["check"], words].concat()).code(2).stdout("").stderr(contains("would be written over a file that is being read"));
    }
    assert!(fs::read(desk.path("photos/b.png")).unwrap() == photo && fs::read(desk.path("dial.png")).unwrap() == dial);
}
