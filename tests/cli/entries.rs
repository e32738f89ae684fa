//! Questioned entries, units by any name, and `calibrate` and `read` on one photo, as a user meets them.
use super::{Desk, contains};
use predicates::prelude::*;
use serde_json::Value;
use std::fs;

/// Half of the sample's size, on the desk.
const BOX: &str = "reference.jpg";
const EASY: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples/transfer-box/easy.jpg");
const GLARE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples/transfer-box/tilted-glare.jpg");

/// Three of its ticks: 20, 80 and 140 are printed there.
fn ticks<'a>(unit: &'a str, middle: &'a str, out: &'a str) -> Vec<&'a str> {
    vec!["calibrate", BOX, "--unit", unit, "--name", "box", "--tick", "1=20", "--tick", middle, "--tick", "25=140", "--out", out]
}

fn json(desk: &Desk, words: &[&str], status: i32) -> Value {
    serde_json::from_slice(&desk.run(words).code(status).get_output().stdout).unwrap()
}

#[test]
fn a_questioned_file_is_written_only_when_the_person_says_so_and_tells_of_it() {
    let desk = Desk::new().halved("transfer-box/reference.jpg");
    let wrong = ticks("C", "13=90", "a.json");
    let asked = "90 is odd, and 80 would fit there";
    desk.run(&wrong).code(2).stderr(contains(asked).and(contains("No dial file was written")).and(contains("--anyway")));
    assert!(!desk.path("a.json").exists());
    desk.run(&[&wrong[..], &["--anyway"]].concat()).code(0).stdout(contains("Questioned:").and(contains(asked)));
    let file: Value = serde_json::from_slice(&fs::read(desk.path("a.json")).unwrap()).unwrap();
    assert!(file["questions"][0].as_str().unwrap().contains(asked));
    desk.run(&["check", "a.json"]).code(0).stdout(contains("its entries were questioned").and(contains(asked)));
    let checked = json(&desk, &["check", "a.json", "--json"], 0);
    assert!(checked["warnings"].as_array().unwrap().contains(&Value::from("entries_questioned")));
    // a file changed so that it tells of nothing is no longer what was written
    let mut silent = file.clone();
    silent.as_object_mut().unwrap().remove("questions");
    fs::write(desk.path("b.json"), silent.to_string()).unwrap();
    desk.run(&["check", "b.json"]).code(2).stderr(contains("changed by hand"));
    // right entries tell of nothing, whether or not they are written all the same
    desk.run(&[&ticks("C", "13=80", "c.json")[..], &["--anyway"]].concat()).code(0);
    assert!(!fs::read_to_string(desk.path("c.json")).unwrap().contains("\"questions\""));
}

#[test]
fn a_place_on_no_dial_is_not_taken_for_the_nearest() {
    let desk = Desk::new().halved("transfer-box/reference.jpg");
    desk.run(&[&ticks("C", "13=80", "a.json")[..], &["--dial-at", "5,5"]].concat()).code(2).stderr(contains("--dial-at 39"));
    assert!(!desk.path("a.json").exists());
}

#[test]
fn calibrate_says_of_its_photo_what_read_says_of_it() {
    let desk = Desk::new().halved("transfer-box/reference.jpg");
    let said = desk.run(&ticks("C", "13=80", "a.json")).code(0).get_output().stdout.clone();
    let read = json(&desk, &["read", "--dial", "a.json", "--json", BOX], 0);
    let value = format!("Its needle reads {:.1} °C", read["value"].as_f64().unwrap());
    assert!(String::from_utf8(said).unwrap().contains(&value), "{value}");
}

#[test]
fn a_dial_of_another_unit_shows_it_everywhere_and_is_mixed_with_none() {
    let desk = Desk::new().halved("transfer-box/reference.jpg");
    desk.run(&ticks("bar", "13=80", "p.json")).code(0).stdout(contains("mark bar").and(contains(" bar. Does that agree")));
    let read = json(&desk, &["read", "--dial", "p.json", "--json", EASY], 0);
    assert_eq!((&read["unit"], &read["value_c"], &read["value_f"]), (&Value::from("bar"), &Value::Null, &Value::Null));
    let bare = contains("°C").or(contains("°F")).not();
    desk.run(&["read", "--dial", "p.json", "--explain", EASY]).code(0).stdout(contains(" bar").and(bare));
    let sides = ["compare", "--dial", "p.json", "--before", EASY, "--after", GLARE];
    let bare = contains("°C").or(contains("°F")).not();
    desk.run(&[&sides[..], &["--explain", "--picture", "c.png"]].concat()).code(0).stdout(contains(" bar").and(bare));
    assert_eq!(json(&desk, &[&sides[..], &["--json"]].concat(), 0)["unit"], "bar");
    for (words, code, said) in [
        (&["--limit", "120C"][..], 2, "the dial shows bar"),
        (&["--scatter", "1C"], 1, "One side is in bar"),
        (&["--ambient-before", "20C", "--ambient-after", "20C"], 2, "Ambient temperatures go with"),
    ] {
        desk.run(&[&sides[..], words].concat()).code(code).stderr(contains(said));
    }
    let bare = contains("°C").or(contains("°F")).not();
    desk.run(&["plan", "--dial", "p.json", "--drop", "9bar", "--at", "100 bar"]).code(0).stdout(contains("9 bar").and(bare));
    desk.run(&["plan", "--dial", "p.json", "--drop", "9C"]).code(2).stderr(contains("the dial shows bar"));
    desk.run(&[&ticks("bar", "13=80", "q.json")[..], &["--gauge-accuracy", "2C"]].concat()).code(2).stderr(contains("the dial shows bar"));
    for (stage, photo) in [("one", EASY), ("two", GLARE)] {
        desk.run(&["note", "--dial", "p.json", "--diary", "d.jsonl", "--stage", stage, photo]).code(0).stdout(contains(" bar"));
    }
    let bare = contains("°C").or(contains("°F")).not();
    desk.run(&["stages", "--diary", "d.jsonl", "--explain"]).code(0).stdout(contains(" bar").and(bare));
    desk.run(&["report", "--diary", "d.jsonl", "--out", "d.html"]).code(0);
    let page = fs::read_to_string(desk.path("d.html")).unwrap();
    assert!(page.contains(" bar") && !page.contains("°C") && !page.contains("°F"));
    desk.run(&ticks("7bar", "13=80", "r.json")).code(2).stderr(contains("is no name for a unit"));
}
