//! What the documents list is what is there: samples, links, source files.
use super::{first_column, text};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// All files below a folder with this ending, as paths inside it, but for what `skip` names.
fn files(folder: &str, ending: &str, skip: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let mut folders = vec![PathBuf::from(folder)];
    while let Some(next) = folders.pop() {
        for entry in std::fs::read_dir(next).unwrap().map(|e| e.unwrap().path()) {
            if entry.file_stem().is_some_and(|n| n == skip) {
                continue;
            }
            if entry.is_dir() {
                folders.push(entry);
            } else if entry.extension().is_some_and(|e| e == ending) {
                found.insert(entry.strip_prefix(folder).unwrap().display().to_string().replace('\\', "/"));
            }
        }
    }
    found
}

#[test]
fn every_sample_has_its_line_of_truth() {
    let listed: BTreeSet<String> = text("samples/truth.csv").lines().skip(1).map(|l| l.split(',').next().unwrap().to_string()).collect();
    assert_eq!(listed, files("samples", "jpg", "pictures"));
}

#[test]
fn what_the_documents_point_to_is_there() {
    for document in super::pages().iter().chain(&super::inside()) {
        let folder = Path::new(document).parent().unwrap();
        for target in text(document).split("](").skip(1).map(|t| t.split(')').next().unwrap()).filter(|t| !t.contains("://")) {
            assert!(folder.join(target).exists(), "{document} points to {target}, which is not there");
        }
    }
}

#[test]
fn every_topic_of_the_tests_is_told() {
    let told = first_column(&text("tests/README.md"));
    let topics = ["tests", "tests/quick"].iter().flat_map(|folder| {
        let files = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).filter(|p| p.extension().is_some_and(|e| e == "rs"));
        files.map(move |p| format!("{folder}/{}", p.file_stem().unwrap().to_str().unwrap()))
    });
    let names: BTreeSet<String> = topics.filter(|n| n != "tests/all" && n != "tests/quick").collect();
    let missing: Vec<&String> = names.iter().filter(|n| !told.contains(*n)).collect();
    assert!(names.len() > 20 && missing.is_empty(), "{missing:?}");
}

/// The guide names every folder, and the first line of every file says what it knows.
#[test]
fn every_folder_of_the_source_is_told_and_every_file_tells_itself() {
    let told = first_column(&text("DEVELOPERS.md"));
    let folders = std::fs::read_dir("src").unwrap().map(|e| e.unwrap().path()).filter(|p| p.is_dir());
    let there: BTreeSet<String> = folders.map(|p| p.display().to_string().replace('\\', "/")).collect();
    assert!(there.len() > 15);
    assert_eq!(told, there);
    for file in files("src", "rs", "") {
        let first = text(&format!("src/{file}")).lines().next().unwrap_or_default().to_string();
        assert!(first.starts_with("//! ") && first.len() > 12, "src/{file} begins with {first:?}");
    }
}

#[test]
fn the_guide_for_developers_stays_short() {
    assert!(text("DEVELOPERS.md").len() < 10_000);
}
