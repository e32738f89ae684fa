//! Photos that are gone: before a run, while it lasts, and after it. Said in one sentence, the others are read, nothing is half written.
use super::super::handmade::printed;
use super::*;
use crate::support::pictures;
use serde_json::Value;

/// A folder with the dial of the samples, three photos before the change and two after it.
fn desk() -> Desk {
    let desk = Desk::new();
    fs::copy("calibration/gearbox-oil.json", desk.path("gear.json")).unwrap();
    for (side, n) in [("before", 3), ("after", 2)] {
        fs::create_dir(desk.path(side)).unwrap();
        (1..=n).for_each(|k| take(&desk, &format!("{side}/{k}.jpg")));
    }
    desk
}

/// A sample photo, to the same place on the desk.
fn take(desk: &Desk, photo: &str) {
    fs::copy(format!("samples/gearbox-oil/{photo}"), desk.path(photo)).unwrap();
}

/// What a run says on both streams, and its status.
fn ran(desk: &Desk, words: &[&str]) -> (String, String, Option<i32>) {
    let done = desk.run(words);
    let output = done.get_output();
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    (text(&output.stdout), text(&output.stderr), output.status.code())
}

fn gone(name: &str) -> String {
    format!(
        "needleband: {name} could not be opened (No such file or directory), so it is not read. \
         Check the path and that the file may be read.\n"
    )
}

#[test]
fn compare_goes_on_without_it_names_it_and_draws_the_others() {
    let desk = desk();
    let words = |before: &[&'static str]| {
        let sides = [&["compare", "--dial", "gear.json", "--json", "--before"], before, &["--after", "after"]].concat();
        [&sides[..], &["--picture", "change.jpg", "--force"]].concat()
    };
    let whole = ran(&desk, &words(&["before"]));
    assert_eq!((whole.1.as_str(), whole.2), ("", Some(0)));
    let picture = fs::read(desk.path("change.jpg")).unwrap();
    let (out, said, status) = ran(&desk, &words(&["before/1.jpg", "gone.jpg", "before/2.jpg", "before/3.jpg"]));
    assert_eq!((said, status), (gone("gone.jpg"), Some(2)));
    let [mut with, without]: [Value; 2] = [&out, &whole.0].map(|t| serde_json::from_str(t).unwrap());
    let left_out = &mut with["before"]["left_out"];
    assert_eq!((left_out.as_array().unwrap().len(), left_out[0]["photo"].as_str()), (1, Some("gone.jpg")));
    assert_eq!(left_out[0]["reason"], "not_opened");
    *left_out = Value::Array(Vec::new());
    assert_eq!(with, without);
    assert!(fs::read(desk.path("change.jpg")).unwrap() == picture);
    // nothing is left of a side: no number and no picture
    fs::remove_file(desk.path("change.jpg")).unwrap();
    let (out, said, status) = ran(&desk, &words(&["gone.jpg"]));
    assert_eq!((out.as_str(), status), ("", Some(2)));
    assert!(said.starts_with(&gone("gone.jpg")) && said.contains("The only photo of the side \"before\" gave no reading"), "{said}");
    assert!(said.lines().count() == 2 && !desk.path("change.jpg").exists(), "{said}");
}

#[test]
fn settle_goes_on_without_it() {
    let desk = desk();
    ["before/4.jpg", "before/5.jpg"].iter().for_each(|photo| take(&desk, photo));
    let all = ["before/1.jpg", "before/2.jpg", "before/3.jpg", "before/4.jpg", "before/5.jpg"];
    let words = |photos: &[&'static str]| {
        let every = ["settle", "--dial", "gear.json", "--json", "--every", "60s", "--plot", "run.svg", "--force"];
        [&every[..], photos].concat()
    };
    let (whole, _, status) = ran(&desk, &words(&all));
    assert_eq!(status, Some(0));
    let plot = fs::read(desk.path("run.svg")).unwrap();
    // the last one, so that the others keep their times
    let (out, said, status) = ran(&desk, &words(&[&all[..], &["gone.jpg"]].concat()));
    assert_eq!((said, status), (gone("gone.jpg"), Some(2)));
    let [with, without]: [Value; 2] = [&out, &whole].map(|t| serde_json::from_str(t).unwrap());
    assert_eq!((&with["level"], &with["readings"]), (&without["level"], &without["readings"]));
    assert_eq!(with["left_out"][0]["photo"], "gone.jpg");
    assert!(fs::read(desk.path("run.svg")).unwrap() == plot);
    // four photos are too few: said, and no plot
    fs::remove_file(desk.path("run.svg")).unwrap();
    let (out, said, status) = ran(&desk, &words(&[&all[..4], &["gone.jpg"]].concat()));
    assert_eq!((out.as_str(), status), ("", Some(2)));
    assert!(said.lines().count() == 2 && said.contains("Only 4 of 5 photos gave a reading") && !desk.path("run.svg").exists(), "{said}");
}

#[test]
fn a_note_that_lacks_a_photo_is_not_made() {
    let desk = desk();
    let words = |stage: &'static str, photos: &[&'static str]| {
        [&["note", "--diary", "oil.jsonl", "--dial", "gear.json", "--stage", stage][..], photos].concat()
    };
    let refused = |photos: &[&'static str]| {
        let (out, said, status) = ran(&desk, &words("stock", photos));
        assert_eq!((out.as_str(), status), ("", Some(2)));
        let second = "needleband: Not every photo could be opened, so nothing was noted. Check the paths and note them again.\n";
        assert_eq!(said, gone("gone.jpg") + second);
    };
    refused(&["before/1.jpg", "gone.jpg", "before/2.jpg"]);
    assert!(!desk.path("oil.jsonl").exists());
    desk.run(&words("stock", &["before"])).code(0);
    let diary = fs::read(desk.path("oil.jsonl")).unwrap();
    refused(&["before/1.jpg", "gone.jpg"]);
    assert!(fs::read(desk.path("oil.jsonl")).unwrap() == diary);
}

/// A diary needs no photo: what is told and drawn from it is the same to the last byte when they are gone.
#[test]
fn stages_and_report_need_no_photo_and_no_half_page_is_left_without_the_diary() {
    let desk = desk();
    for (stage, side) in [("stock", "before"), ("larger cooler", "after")] {
        desk.run(&["note", "--diary", "oil.jsonl", "--stage", stage, "--dial", "gear.json", side]).code(0);
    }
    let told = |page: &str| {
        desk.run(&["report", "--diary", "oil.jsonl", "--out", page]).code(0);
        (ran(&desk, &["stages", "--diary", "oil.jsonl"]), fs::read(desk.path(page)).unwrap())
    };
    let first = told("one.html");
    ["before", "after"].iter().for_each(|side| fs::remove_dir_all(desk.path(side)).unwrap());
    fs::remove_file(desk.path("gear.json")).unwrap();
    assert!(told("two.html") == first && first.0.2 == Some(0));
    fs::remove_file(desk.path("oil.jsonl")).unwrap();
    let said = "needleband: The diary oil.jsonl could not be opened (No such file or directory), so there is nothing to tell. \
                Give the file that `needleband note` wrote.\n";
    for words in [&["stages"][..], &["report", "--out", "new.html"], &["report", "--out", "new.md", "--markdown"]] {
        let (out, error, status) = ran(&desk, &[words, &["--diary", "oil.jsonl"]].concat());
        assert_eq!((out.as_str(), error.as_str(), status), ("", said, Some(2)), "{words:?}");
    }
    let left = fs::read_dir(desk.dir.path()).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned());
    assert_eq!(left.filter(|n| n.starts_with("new") || n.starts_with(".needleband")).collect::<Vec<_>>(), Vec::<String>::new());
}

#[test]
fn a_dial_file_is_not_made_or_changed_without_one_of_its_photos() {
    let desk = desk();
    let mark = ["--unit", "C", "--mark", "40@598,751", "--mark", "120@1097,749", "--mark", "80@846,311"];
    for words in [
        [&["calibrate", "gone.jpg", "--out", "new.json"], &mark[..]].concat(),
        [&["calibrate", "before/1.jpg", "--out", "new.json"], &mark[..], &["--also", "gone.jpg"]].concat(),
        vec!["refine", "--dial", "gear.json", "before", "gone.jpg", "--out", "new.json"],
    ] {
        assert_eq!(ran(&desk, &words), (String::new(), gone("gone.jpg"), Some(2)), "{words:?}");
        assert!(!desk.path("new.json").exists() && !desk.path("new-check.png").exists());
    }
}

/// The name is still in the folder when it is listed, and there is nothing behind it.
#[cfg(unix)]
#[test]
fn a_link_in_a_folder_that_leads_nowhere_is_said_and_not_passed_over() {
    let desk = desk();
    std::os::unix::fs::symlink("moved-away.jpg", desk.path("after/3.jpg")).unwrap();
    let (out, said, status) = ran(&desk, &["read", "--dial", "gear.json", "--json", "after"]);
    assert_eq!((out.lines().count(), said, status), (3, gone("after/3.jpg"), Some(2)));
    let (out, said, status) = ran(&desk, &["compare", "--dial", "gear.json", "--before", "before", "--after", "after"]);
    assert!(out.contains("2 of 3 photos read"), "{out}");
    assert_eq!((said, status), (gone("after/3.jpg"), Some(2)));
    let (_, said, status) = ran(&desk, &["note", "--diary", "oil.jsonl", "--stage", "s", "--dial", "gear.json", "after"]);
    assert!(said.starts_with(&gone("after/3.jpg")) && status == Some(2) && !desk.path("oil.jsonl").exists(), "{said}");
}

/// With one thread the photos are opened one after the other, so the last is still to come when the first has its line.
#[test]
fn a_photo_that_vanishes_in_the_middle_of_a_run_is_said_and_the_others_are_read() {
    use std::io::{BufRead, BufReader};
    use std::process::{Command, Stdio};
    let desk = Desk::new();
    fs::remove_file(desk.path("photos/a.jpg")).unwrap();
    let shot = printed(90.0, [500.0, 400.0], 300.0, 0.0, 1.0);
    let picture = pictures::of(&shot);
    (0..20).for_each(|k| pictures::save(&picture, desk.path(&format!("photos/{k:02}.png"))));
    let mut child = Command::new(assert_cmd::cargo::cargo_bin("needleband"))
        .current_dir(desk.dir.path())
        .env("RAYON_NUM_THREADS", "1")
        .args(["read", "--dial", "oil.json", "--json", "photos"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let first = lines.next().unwrap().unwrap();
    fs::remove_file(desk.path("photos/19.png")).unwrap();
    let rest: Vec<String> = lines.map(|l| l.unwrap()).collect();
    let done = child.wait_with_output().unwrap();
    assert_eq!((rest.len(), done.status.code()), (20, Some(2)), "{first}");
    let lost: serde_json::Value = serde_json::from_str(&rest[18]).unwrap();
    assert_eq!((lost["photo"].as_str(), lost["reason"].as_str()), (Some("photos/19.png"), Some("not_opened")));
    let said = String::from_utf8(done.stderr).unwrap();
    assert_eq!(said.lines().count(), 1);
    assert!(said.starts_with("needleband: photos/19.png could not be opened (No such file or directory), so it is not read."), "{said}");
}
