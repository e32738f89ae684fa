//! What the documents list is what is there: samples, links, source files.
use super::{first_column, section, text};
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
    let others = ["DEVELOPERS.md", "samples/README.md", "calibration/README.md"].map(String::from);
    for document in super::pages().iter().chain(&others) {
        let folder = Path::new(document).parent().unwrap();
        for target in text(document).split("](").skip(1).map(|t| t.split(')').next().unwrap()).filter(|t| !t.contains("://")) {
            assert!(folder.join(target).exists(), "{document} points to {target}, which is not there");
        }
    }
}

#[test]
fn every_topic_of_the_tests_is_told() {
    let developers = text("DEVELOPERS.md");
    let told = first_column(developers.split("\n## Tests\n").nth(1).unwrap().split("\n## ").next().unwrap());
    let topics = std::fs::read_dir("tests").unwrap().map(|e| e.unwrap().path()).filter(|p| p.extension().is_some_and(|e| e == "rs"));
    let names: BTreeSet<String> = topics.map(|p| format!("tests/{}", p.file_stem().unwrap().to_str().unwrap())).collect();
    let missing: Vec<&String> = names.iter().filter(|n| *n != "tests/all" && !told.contains(*n)).collect();
    assert!(names.len() > 20 && missing.is_empty(), "{missing:?}");
}

#[test]
fn every_source_file_is_on_the_map() {
    let told = first_column(section(&text("DEVELOPERS.md"), "map"));
    let there: BTreeSet<String> = files("src", "rs", "mod").iter().map(|f| f.trim_end_matches(".rs").to_string()).collect();
    assert_eq!(told, there);
}
