//! The diary as a user meets it: notes one after the other and at once, what is not noted, and the files made from it.
use super::{Desk, command, contains};
use crate::support::pictures;
use needleband::diary::parse;
use predicates::prelude::*;
use std::fs::{File, OpenOptions, copy, read, write};
use std::io::Write;
use std::process::{Command, Stdio};

/// A sample photo or dial file, wherever the command runs.
fn shipped(path: &str) -> String {
    format!("{}/{path}", env!("CARGO_MANIFEST_DIR"))
}

/// The words that note one photo of the gearbox dial in a stage.
fn note(stage: &str, photo: &str) -> Vec<String> {
    let dial = shipped("calibration/gearbox-oil.json");
    let words = ["note", "--diary", "oil.jsonl", "--stage", stage, "--dial", &dial, &shipped(&format!("samples/gearbox-oil/{photo}"))];
    words.map(String::from).to_vec()
}

fn run(desk: &Desk, words: &[String]) -> assert_cmd::assert::Assert {
    desk.run(&words.iter().map(String::as_str).collect::<Vec<_>>())
}

/// What is put right is a line more; no line is changed or lost, and every result tells what was taken back.
#[test]
fn a_note_is_taken_back_and_a_stage_renamed_by_new_lines() {
    let desk = Desk::new();
    let (list, undo) = (["note", "--diary", "oil.jsonl", "--list"], ["note", "--diary", "oil.jsonl", "--undo"]);
    desk.run(&undo).code(2).stderr(contains("oil.jsonl could not be opened"));
    run(&desk, &note("stok", "before/1.jpg")).code(0);
    run(&desk, &note("larger cooler", "after/1.jpg")).code(0);
    run(&desk, &note("larger cooler", "before/2.jpg")).code(0);
    let before = read(desk.path("oil.jsonl")).unwrap();
    desk.run(&undo)
        .code(0)
        .stdout(contains("Line 3 no longer counts: 1 photo of stage \"larger cooler\"").and(contains("line 4 takes it back")));
    let rename = |from: &str, to: &str| desk.run(&["note", "--diary", "oil.jsonl", "--rename", from, to]);
    rename("stock", "new").code(2).stderr(contains("no stage \"stock\"").and(contains("\"stok\", \"larger cooler\"")));
    rename("stok", "stock").code(0).stdout(contains("Stage \"stok\" is now \"stock\". Line 5 of oil.jsonl says so."));
    let after = read(desk.path("oil.jsonl")).unwrap();
    assert!(after.starts_with(&before) && after.iter().filter(|b| **b == b'\n').count() == 5, "lines are only added");
    let d = parse(&after).unwrap();
    let stages: Vec<&str> = d.notes.iter().map(|n| n.stage.as_str()).collect();
    assert_eq!((stages, d.taken_back[0].line, d.taken_back[0].by, d.damaged.len()), (["stock", "larger cooler"].to_vec(), 3, 4, 0));
    desk.run(&list).code(0).stdout(contains("1 photo, taken back in line 4").and(contains("\"stok\" is called \"stock\" from here on")));
    // exact truth of the samples: 5.600 °C
    desk.run(&["stages", "--diary", "oil.jsonl"]).code(0).stdout(
        contains("a difference of 5.6 °C (lower)")
            .and(contains("Line 3 of the diary, 1 photo of “larger cooler”, was taken back in line 4")),
    );
    // a note made in the old words afterwards is the old stage again, and can be joined
    run(&desk, &[note("stok", "before/3.jpg"), vec!["--new-stage".into()]].concat()).code(0);
    rename("stok", "stock").code(0).stdout(contains("together with the notes that it has already"));
    assert!(parse(&read(desk.path("oil.jsonl")).unwrap()).unwrap().notes.iter().all(|n| n.stage != "stok"));
    // a correction that was changed by hand corrects nothing
    let forged = String::from_utf8(after).unwrap().replace("\"line\":3", "\"line\":1");
    let d = parse(forged.as_bytes()).unwrap();
    assert_eq!((d.notes.len(), d.taken_back.len(), d.damaged[0].line), (3, 0, 4));
    desk.run(&["note", "--diary", "oil.jsonl", "--undo", "--stage", "x", "p.jpg"]).code(2);
    desk.run(&["note", "--diary", "oil.jsonl"]).code(2).stderr(contains("--stage"));
}

#[test]
fn notes_stages_and_both_reports() {
    let desk = Desk::new();
    let more = ["--ambient", "24C", "--speed", "90 km/h", "--load", "two people", "--text", "a rendering"].map(String::from);
    let said = run(&desk, &[note("stock", "before/2.jpg"), more.to_vec()].concat()).code(0);
    said.stdout(contains("2.jpg  90.9").and(contains("Noted as line 1 of oil.jsonl")));
    run(&desk, &note("larger cooler", "after/2.jpg")).code(0).stdout(contains("Noted as line 2"));
    let d = parse(&read(desk.path("oil.jsonl")).unwrap()).unwrap();
    assert_eq!((d.notes.len(), d.notes[0].photos[0].file.as_str(), d.notes[0].dial.name.as_str()), (2, "2.jpg", "gearbox oil"));
    let first = &d.notes[0];
    assert!(first.written_at.len() == 20 && first.written_at.ends_with('Z') && first.conditions.ambient.is_some_and(|a| a.value == 24.0));
    let size = first.sketch.as_ref().unwrap().jpeg.len();
    assert!((10_000..60_000).contains(&size), "a small picture is part of the note: {size} bytes");
    assert_eq!(first.photos[0].sha256, needleband::photo::sha256_hex(&read(shipped("samples/gearbox-oil/before/2.jpg")).unwrap()));
    let text = desk.run(&["stages", "--diary", "oil.jsonl"]).code(0);
    text.stdout(
        contains("a difference of 5.6 °C (lower), seen in one photo a side: may be scatter")
            .and(contains("stock → larger cooler"))
            .and(contains("One photo was read in each of the two")),
    );
    let out = desk.run(&["stages", "--diary", "oil.jsonl", "--json"]).code(0).get_output().stdout.clone();
    let all: serde_json::Value = serde_json::from_slice(&out).unwrap();
    // exact truth of the samples: 5.600 °C
    assert!((all["changes"][0]["delta"].as_f64().unwrap() + 5.6).abs() < 0.1 && all["changes"][0]["standing"] == "one_photo");
    assert_eq!((&all["stages"][0]["stage"], all["stages"][0]["ambient"].as_f64()), (&"stock".into(), Some(24.0)));
    desk.run(&["report", "--diary", "oil.jsonl", "--out", "oil.html"]).code(0).stdout(contains("Page: oil.html"));
    let page = std::fs::read_to_string(desk.path("oil.html")).unwrap();
    assert!(page.contains("a difference of 5.6 °C (lower)") && page.contains("a rendering"));
    desk.run(&["report", "--diary", "oil.jsonl", "--out", "oil.md", "--markdown"])
        .code(0)
        .stdout(contains("with 3 pictures in oil.pictures"));
    assert_eq!(pictures::size(desk.path("oil.pictures/stages.png")).0, 1080);
    assert_eq!(pictures::size(desk.path("oil.pictures/2.jpg")), (560, 440));
    earlier_files_stay(&desk);
    copy(desk.path("oil.jsonl"), desk.path("diary.html")).unwrap();
    desk.run(&["report", "--diary", "diary.html", "--out", "diary.html"]).code(2).stderr(contains("over the diary itself"));
    desk.run(&["report", "--diary", "oil.jsonl", "--out", "oil.txt"]).code(2).stderr(contains("does not end in .html"));
}

/// What is there already stays without --force; with it only files of a report's own names change.
fn earlier_files_stay(desk: &Desk) {
    let report = |more: &[&str]| desk.run(&[&["report", "--diary", "oil.jsonl", "--out"], more].concat());
    let exists = || contains("exists already").and(contains("--force"));
    for out in [&["oil.html"][..], &["oil.md", "--markdown"]] {
        report(out).code(2).stdout("").stderr(exists());
        report(&[out, &["--force"]].concat()).code(0);
    }
    // a photo in the pictures' folder, though the text is gone
    std::fs::remove_file(desk.path("oil.md")).unwrap();
    write(desk.path("oil.pictures/1.jpg"), "mine").unwrap();
    write(desk.path("oil-1.jpg"), "mine").unwrap();
    report(&["oil.md", "--markdown"]).code(2).stderr(contains("oil.pictures exists already"));
    assert!(!desk.path("oil.md").exists() && read(desk.path("oil.pictures/1.jpg")).unwrap() == b"mine");
    // no target is written when one cannot be
    std::fs::remove_file(desk.path("oil.pictures/2.jpg")).unwrap();
    std::fs::create_dir(desk.path("oil.pictures/2.jpg")).unwrap();
    report(&["oil.md", "--markdown", "--force"]).code(2).stderr(contains("nothing is written"));
    assert!(!desk.path("oil.md").exists() && read(desk.path("oil.pictures/1.jpg")).unwrap() == b"mine");
    assert_eq!(read(desk.path("oil-1.jpg")).unwrap(), b"mine");
    write(desk.path("more.pictures"), "mine").unwrap();
    report(&["more.md", "--markdown", "--force"]).code(2).stderr(contains("is no folder"));
}

#[test]
fn what_was_cut_off_is_told_and_the_next_note_stands_on_its_own_line() {
    let desk = Desk::new();
    run(&desk, &note("stock", "before/2.jpg")).code(0);
    run(&desk, &note("larger cooler", "after/2.jpg")).code(0);
    let whole = read(desk.path("oil.jsonl")).unwrap();
    let cut = &whole[..whole.len() - 20_000];
    write(desk.path("oil.jsonl"), cut).unwrap();
    let told = || contains("Line 2 of the diary is cut off, so its note is lost; every other line is read.");
    desk.run(&["stages", "--diary", "oil.jsonl"]).code(1).stderr(told()).stdout(contains("stock").and(contains("Line 2 of the diary")));
    run(&desk, &note("larger cooler", "after/2.jpg")).code(0).stderr(told()).stdout(contains("Noted as line 3"));
    let bytes = read(desk.path("oil.jsonl")).unwrap();
    assert!(bytes.starts_with(cut) && bytes[cut.len()] == b'\n', "nothing that was there is touched");
    let d = parse(&bytes).unwrap();
    assert_eq!((d.notes.len(), d.damaged.len(), d.ends_whole), (2, 1, true));
    desk.run(&["stages", "--diary", "oil.jsonl"]).code(1).stderr(told()).stdout(contains("a difference of 5.6 °C (lower)"));
}

#[test]
fn writers_at_once_do_not_mix_lines() {
    let desk = Desk::new();
    let spawn = |k: usize| {
        let words = note(&format!("stage {k}"), "thermostat/1.jpg");
        let mut c = Command::new(assert_cmd::cargo::cargo_bin!("needleband"));
        c.current_dir(desk.path("")).args(words).stdout(Stdio::null()).spawn().unwrap()
    };
    let all: Vec<_> = (0..6).map(spawn).collect();
    all.into_iter().for_each(|mut c| assert!(c.wait().unwrap().success()));
    let d = parse(&read(desk.path("oil.jsonl")).unwrap()).unwrap();
    assert_eq!((d.notes.len(), d.damaged.len(), d.lines, d.ends_whole), (6, 0, 6, true));
    let mut names: Vec<&str> = d.notes.iter().map(|n| n.stage.as_str()).collect();
    names.sort_unstable();
    assert_eq!(names, (0..6).map(|k| format!("stage {k}")).collect::<Vec<_>>());
}

/// A writer that is in the middle of a line holds the lock; another waits until it is done.
#[test]
fn a_writer_waits_for_another_that_is_not_done() {
    let desk = Desk::new();
    let start = std::time::Instant::now();
    run(&desk, &note("stock", "before/2.jpg")).code(0);
    let alone = start.elapsed();
    let line = read(desk.path("oil.jsonl")).unwrap();
    let (head, tail) = line.split_at(line.len() / 2);
    let mut slow: File = OpenOptions::new().append(true).open(desk.path("oil.jsonl")).unwrap();
    slow.lock().unwrap();
    slow.write_all(head).unwrap();
    let mut c = Command::new(assert_cmd::cargo::cargo_bin!("needleband"));
    let mut other = c.current_dir(desk.path("")).args(note("larger cooler", "after/2.jpg")).stdout(Stdio::null()).spawn().unwrap();
    // long enough for it to be done, were it not waiting; what slows it meanwhile makes the test weaker, never wrong
    std::thread::sleep(3 * alone);
    assert!(other.try_wait().unwrap().is_none(), "it did not wait");
    slow.write_all(tail).unwrap();
    slow.unlock().unwrap();
    assert!(other.wait().unwrap().success());
    let d = parse(&read(desk.path("oil.jsonl")).unwrap()).unwrap();
    assert_eq!((d.notes.len(), d.damaged.len()), (3, 0));
}

#[test]
fn the_same_photo_again_is_said() {
    let desk = Desk::new();
    run(&desk, &note("stock", "before/2.jpg")).code(0);
    run(&desk, &note("stock", "before/2.jpg")).code(0).stdout(contains("2.jpg is in this stage already; it counts once"));
    // nearly the same name: asked about, and nothing is noted before it is meant
    for slip in ["Stock", "stok"] {
        run(&desk, &note(slip, "before/2.jpg")).code(2).stdout("").stderr(contains("has a stage \"stock\"").and(contains("--new-stage")));
    }
    assert_eq!(parse(&read(desk.path("oil.jsonl")).unwrap()).unwrap().notes.len(), 2);
    let other = run(&desk, &[note("Stock", "before/2.jpg"), vec!["--new-stage".to_string()]].concat()).code(0);
    other.stdout(contains("2.jpg is also in the stage \"stock\"").and(contains("there is one called \"stock\"")));
    let text = desk.run(&["stages", "--diary", "oil.jsonl"]).code(0);
    text.stdout(contains("1 of 2 photos").and(contains("2.jpg: the same file as an earlier one; counted once")));
}

#[test]
fn nothing_is_noted_of_what_cannot_be_used() {
    let desk = Desk::new();
    let no_diary = || assert!(!desk.path("oil.jsonl").exists());
    let with = |more: &str| [note("stock", "before/2.jpg"), vec![more.to_string()]].concat();
    run(&desk, &with("missing.jpg"))
        .code(2)
        .stdout("")
        .stderr(contains("missing.jpg could not be opened").and(contains("nothing was noted")));
    no_diary();
    run(&desk, &note("stock", "no-needle.jpg")).code(1).stdout("").stderr(contains("None of the photos gave a reading"));
    no_diary();
    // one of two read: noted, with the reason of the other
    run(&desk, &with(&shipped("samples/gearbox-oil/no-needle.jpg")))
        .code(1)
        .stdout(contains("no-needle.jpg  not read: ").and(contains("Noted as line 1")));
    let before = read(desk.path("oil.jsonl")).unwrap();
    // another gauge, a file that is no diary, a line of the future
    let coolant = [
        note("stock", "x")[..6].to_vec(),
        [shipped("calibration/cluster-coolant.json"), shipped("samples/cluster-coolant/easy.jpg")].to_vec(),
    ]
    .concat();
    run(&desk, &coolant).code(2).stderr(contains("is the diary of the dial \"gearbox oil\"").and(contains("Begin another diary")));
    assert_eq!(read(desk.path("oil.jsonl")).unwrap(), before);
    for (content, said) in [
        ("# my notes\n".as_bytes(), "is not a diary"),
        (&String::from_utf8(before.clone()).unwrap().replacen("_version\":1", "_version\":9", 1).into_bytes(), "format version 9"),
    ] {
        write(desk.path("oil.jsonl"), content).unwrap();
        for words in [note("stock", "before/2.jpg"), ["stages", "--diary", "oil.jsonl"].map(String::from).to_vec()] {
            run(&desk, &words).code(2).stdout("").stderr(contains(said));
        }
        assert_eq!(read(desk.path("oil.jsonl")).unwrap(), content);
    }
    desk.run(&["stages", "--diary", "none.jsonl"]).code(2).stderr(contains("none.jsonl could not be opened"));
    write(desk.path("empty.jsonl"), "").unwrap();
    desk.run(&["stages", "--diary", "empty.jsonl"]).code(2).stderr(contains("holds no note"));
}

#[test]
fn wrong_words_of_a_note_are_told() {
    for (more, said) in [
        (["--ambient", "24"], "has no unit; write it like 24C or 75F"),
        (["--ambient", "900C"], "is no temperature outside"),
        (["--stage", " "], "there is nothing in it"),
        (["--every", "10s"], "--warm-up"),
        (["--times", "t.csv"], "--warm-up"),
        (["--text", "--warm-up"], "is an option, and the words before it are missing"),
    ] {
        let words = ["note", "--diary", "d", "--dial", "d", "x.jpg"];
        let stage: &[&str] = if more[0] == "--stage" { &[] } else { &["--stage", "s"] };
        command().args(words).args(stage).args(more).assert().code(2).stdout("").stderr(contains(said));
    }
    for name in ["note", "stages", "report"] {
        command().args([name, "--help"]).assert().code(0).stdout(contains("Example").and(contains(format!("needleband {name} --diary"))));
    }
}

#[test]
fn words_may_begin_with_a_hyphen() {
    let desk = Desk::new();
    let more = ["--speed", "-5 km/h of wind", "--load", "- two people", "--text", "- a"].map(String::from);
    run(&desk, &[note("-10 mm fan", "before/2.jpg"), more.to_vec()].concat()).code(0);
    let n = &parse(&read(desk.path("oil.jsonl")).unwrap()).unwrap().notes[0];
    assert_eq!((n.stage.as_str(), n.conditions.text.as_deref()), ("-10 mm fan", Some("- a")));
    assert_eq!((n.conditions.speed.as_deref(), n.conditions.load.as_deref()), (Some("-5 km/h of wind"), Some("- two people")));
}

/// The times of a run come from a table too; a photo that it does not name has none, and that is said. A clip is no photo.
#[test]
fn a_run_is_noted_with_its_times() {
    let desk = Desk::new();
    write(desk.path("times.csv"), "photo,seconds\n1.jpg,0\n2.jpg,90\n4.jpg,200.5\n").unwrap();
    let more = ["--warm-up".to_string(), "--times".to_string(), "times.csv".to_string()];
    let said = run(&desk, &[note("stock", "before"), more.to_vec()].concat()).code(0);
    said.stdout(contains("photos without a time do not count in a run over time; give --every or --times"));
    let n = &parse(&read(desk.path("oil.jsonl")).unwrap()).unwrap().notes[0];
    let times: Vec<Option<f64>> = n.photos.iter().map(|p| p.seconds).collect();
    assert_eq!((n.warm_up, times), (true, vec![Some(0.0), Some(90.0), None, Some(200.5), None]));
    run(&desk, &[note("stock", "before"), ["--warm-up", "--times", "none.csv"].map(String::from).to_vec()].concat())
        .code(2)
        .stderr(contains("none.csv could not be read"));
    let clip = shipped("tests/data/clips/avc.mp4");
    desk.run(&["note", "--diary", "d.jsonl", "--stage", "s", "--dial", &shipped("calibration/gearbox-oil.json"), &clip])
        .code(2)
        .stderr(contains("is a video clip").and(contains("ffmpeg -i")));
}

/// The line is there even when nobody can be told on standard output, and that is said.
#[cfg(target_os = "linux")]
#[test]
fn a_note_whose_summary_cannot_be_printed_is_said_to_be_written() {
    let desk = Desk::new();
    let full = OpenOptions::new().write(true).open("/dev/full").unwrap();
    let mut c = Command::new(assert_cmd::cargo::cargo_bin!("needleband"));
    let done = c.current_dir(desk.path("")).args(note("stock", "before/2.jpg")).stdout(full).output().unwrap();
    let said = String::from_utf8(done.stderr).unwrap();
    assert!(said.contains("noted as line 1 of oil.jsonl; the summary could not be printed"), "{said}");
    assert_eq!(done.status.code(), Some(2));
    assert_eq!(parse(&read(desk.path("oil.jsonl")).unwrap()).unwrap().notes.len(), 1);
}

/// A diary that could not be opened any more with the next line is not given that line. Its size is a hole, not written.
#[test]
fn a_diary_never_outgrows_what_can_be_read() {
    let desk = Desk::new();
    run(&desk, &note("stock", "before/2.jpg")).code(0);
    let size = needleband::diary::MAX_FILE_BYTES - 100;
    OpenOptions::new().append(true).open(desk.path("oil.jsonl")).unwrap().set_len(size).unwrap();
    run(&desk, &note("stock", "before/2.jpg"))
        .code(2)
        .stderr(contains("would be larger than the limit").and(contains("Begin a new diary")));
    assert_eq!(desk.path("oil.jsonl").metadata().unwrap().len(), size);
}
