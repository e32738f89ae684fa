//! The same bytes in give the same bytes out, whatever the number of threads: readings, dial files, comparisons, pictures and pages.
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// Runs the command in the project's folder with so many threads; gives what it printed.
fn run(threads: &str, words: &[&str]) -> Vec<u8> {
    let out = assert_cmd::Command::cargo_bin("needleband").unwrap().env("RAYON_NUM_THREADS", threads).args(words).output().unwrap();
    assert!(out.status.code() == Some(0), "{words:?}: {}", String::from_utf8_lossy(&out.stderr));
    out.stdout
}

/// What some commands printed, and the files they wrote.
type Made = (Vec<Vec<u8>>, BTreeMap<PathBuf, Vec<u8>>);

/// Every file below a folder, by its path inside it.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut all = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()) {
        match entry.is_dir() {
            true => all.extend(files(&entry)),
            false => drop(all.insert(entry.clone(), fs::read(&entry).unwrap())),
        }
    }
    all.into_iter().map(|(p, bytes)| (p.strip_prefix(folder).map(Path::to_path_buf).unwrap_or(p), bytes)).collect()
}

/// What each of these makes with one thread and with two must be alike; `{}` in a word stands for the folder it writes to, `{n}` for the number.
fn alike(commands: &[&[&str]], made: usize) {
    let all: Vec<Made> = ["1", "2"]
        .iter()
        .map(|threads| {
            let dir = TempDir::new().unwrap();
            let here = dir.path().display().to_string();
            let printed = commands.iter().map(|words| {
                let words: Vec<String> = words.iter().map(|w| w.replace("{}", &here).replace("{n}", threads)).collect();
                let out = run(threads, &words.iter().map(String::as_str).collect::<Vec<_>>());
                String::from_utf8(out).unwrap().replace(&here, "{}").into_bytes()
            });
            (printed.collect(), files(dir.path()))
        })
        .collect();
    assert_eq!(all[0].1.len(), made, "{:?}", all[0].1.keys());
    for other in &all[1..] {
        assert!(other.0 == all[0].0, "printed: {commands:?}");
        for ((name, a), (other_name, b)) in all[0].1.iter().zip(&other.1) {
            assert_eq!(name, other_name);
            assert!(a == b, "{}", name.display());
        }
        assert_eq!(other.1.len(), made);
    }
}

const DIAL: [&str; 2] = ["--dial", "calibration/gearbox-oil.json"];
const BEFORE: &str = "samples/gearbox-oil/before";

#[test]
fn readings_and_their_drawings() {
    alike(&[&["read", DIAL[0], DIAL[1], "--json", "--budget", "--overlay", "{}/drawn", "--jobs", "{n}", BEFORE]], 5);
}

#[test]
fn a_dial_file_and_its_check_picture() {
    let mut words = vec!["calibrate", "samples/gearbox-oil/reference.jpg", "--unit", "C", "--out", "{}/oil.json"];
    for mark in ["40@596.1,731.6", "80@847.4,309.4", "120@1077.2,734.4"] {
        words.extend(["--mark", mark]);
    }
    words.extend(["--also", "samples/gearbox-oil/before/1.jpg", "samples/gearbox-oil/after/1.jpg"]);
    alike(&[&words, &["ticks", "samples/gearbox-oil/reference.jpg", "--json", "--picture", "{}/ticks.png"]], 3);
}

#[test]
fn a_comparison_and_a_run_with_their_pictures() {
    let sides = ["compare", DIAL[0], DIAL[1], "--before", BEFORE, "--after", "samples/gearbox-oil/after"];
    let compare = [&sides[..], &["--json", "--picture", "{}/change.png", "--jobs", "{n}"]].concat();
    let settle = ["settle", DIAL[0], DIAL[1], BEFORE, "--every", "60s", "--json", "--plot", "{}/run.svg", "--jobs", "{n}"];
    alike(&[&compare, &settle], 2);
}

/// A note says when it was written, and so does its check sum; all else of it is the same, and so is the page of one diary.
#[test]
fn a_note_and_the_page() {
    let dir = TempDir::new().unwrap();
    let diary = |threads: &str| dir.path().join(format!("{threads}.jsonl")).display().to_string();
    let notes = ["1", "2"].map(|threads| {
        for (stage, photos) in [("stock", BEFORE), ("cooler", "samples/gearbox-oil/after")] {
            run(threads, &["note", "--diary", &diary(threads), "--stage", stage, DIAL[0], DIAL[1], photos]);
        }
        let lines = fs::read_to_string(diary(threads)).unwrap();
        let lines: Vec<serde_json::Value> = lines.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
        lines.into_iter().map(without_the_clock).collect::<Vec<_>>()
    });
    assert!(notes[0].len() == 2 && notes[0] == notes[1]);
    let one = diary("1");
    alike(&[&["report", "--diary", &one, "--out", "{}/page.html"], &["stages", "--diary", &one, "--json"]], 1);
}

fn without_the_clock(mut line: serde_json::Value) -> serde_json::Value {
    for field in ["written_at", "check"] {
        assert!(line.as_object_mut().unwrap().remove(field).is_some(), "{field}");
    }
    line
}
