//! The worked example of the diary: the commands as they stand in the README, run from photos to page.
use super::{hold, printed, section, text};
use std::path::PathBuf;
use std::sync::LazyLock;
use tempfile::TempDir;

/// What the commands of the README print, one after the other, and the folder with what they wrote.
static DONE: LazyLock<(TempDir, Vec<String>)> = LazyLock::new(|| {
    let folder = TempDir::new().unwrap();
    let readme = super::manual().replace("\\\n", " ");
    let commands: Vec<Vec<String>> = section(&readme, "project").lines().filter_map(|l| l.strip_prefix("needleband ")).map(words).collect();
    let names: Vec<&str> = commands.iter().map(|c| c[0].as_str()).collect();
    assert_eq!(names, ["note", "note", "note", "stages", "report"]);
    let here = |w: &String| if w.starts_with("oil.") { folder.path().join(w).display().to_string() } else { w.clone() };
    let said =
        commands.iter().map(|c| c.iter().map(here).collect::<Vec<_>>()).map(|c| printed(&c.iter().map(String::as_str).collect::<Vec<_>>()));
    let said = said.collect();
    (folder, said)
});

/// Words as the shell splits them, with double quotes round those that hold spaces.
fn words(command: &str) -> Vec<String> {
    let parts = command.split('"').enumerate();
    parts.flat_map(|(i, p)| if i % 2 == 0 { p.split_whitespace().map(String::from).collect() } else { vec![p.to_string()] }).collect()
}

/// `stages --json` of the example.
pub fn stages_json() -> serde_json::Value {
    serde_json::from_str(&printed(&["stages", "--diary", diary().to_str().unwrap(), "--json"])).unwrap()
}

/// The example's diary.
pub fn diary() -> PathBuf {
    DONE.0.path().join("oil.jsonl")
}

/// True value of a sample, from samples/truth.csv.
fn truth(photo: &str) -> f64 {
    let all = text("samples/truth.csv");
    let line = all.lines().find(|l| l.starts_with(photo)).unwrap();
    line.split(',').nth(3).unwrap().parse().unwrap()
}

#[test]
fn the_project_of_the_readme_is_what_the_program_makes_of_it() {
    hold("stages", &format!("```text\n{}```\n", DONE.1[3]));
    let all = stages_json();
    let true_values = ["before/1.jpg", "after/1.jpg", "thermostat/1.jpg"].map(|p| truth(&format!("gearbox-oil/{p}")));
    for (from, to, change) in [(0, 1, 0), (1, 2, 1), (0, 2, 2)] {
        let c = &all["changes"][change];
        let (low, high) = (c["low_together"].as_f64().unwrap(), c["high_together"].as_f64().unwrap());
        let true_change = true_values[to] - true_values[from];
        assert!(low <= true_change && true_change <= high && c["standing"] == "real", "{true_change}: {c}");
    }
    // the numbers told below the output
    let readme = super::manual();
    let [a, b, c] = true_values;
    let told = format!("{a:.3}, {b:.3} and {c:.3} °C, so the steps are −{:.3} and −{:.3} °C", a - b, b - c);
    assert!(readme.contains(&told), "{told}");
}

#[test]
fn the_page_of_the_project_holds_what_it_promises() {
    let page = std::fs::read_to_string(DONE.0.path().join("oil.html")).unwrap();
    let sentence = stages_json()["sentence"].as_str().unwrap().to_string();
    assert!(page.contains(&format!("<main><header><h1>{sentence}</h1>")), "the answer first: {sentence}");
    assert_eq!(page.matches("<img src=\"data:image/jpeg;base64,").count(), 3, "a picture of each stage");
    assert!(!page.contains("<script") && !page.contains("://") && page.contains("renderings, the story is invented"));
    assert!(page.len() < 400_000, "{} bytes", page.len());
}
