//! The documents say what the program says: their tables and outputs are made from it. `REGENERATE=1` writes those of the README
//! and fails the run.
use super::cli::words::COMMANDS;
use super::samples::{SAMPLES, error};
use assert_cmd::cargo::cargo_bin_cmd;
use needleband::diagnostics::{Flag, Refusal};
use std::collections::BTreeSet;

mod calibrations;
mod criteria;
mod fields;
mod pictures;
mod project;
#[path = "documents/lists.rs"]
mod quick_lists;

fn text(path: &str) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// The user's manual: the README and the pages under docs/.
fn pages() -> Vec<String> {
    let docs = std::fs::read_dir("docs").unwrap().map(|e| e.unwrap().path()).filter(|p| p.extension().is_some_and(|e| e == "md"));
    let mut all: Vec<String> = docs.map(|p| p.to_str().unwrap().replace('\\', "/")).collect();
    all.sort();
    [vec!["README.md".to_string()], all].concat()
}

/// What is written for whoever works on the program.
fn inside() -> Vec<String> {
    let mut all =
        ["DEVELOPERS.md", "samples/README.md", "calibration/README.md", "tests/README.md", "fuzz/README.md"].map(String::from).to_vec();
    for folder in ["docs/decisions", "docs/developing", "docs/measurements"] {
        let pages = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).filter(|p| p.extension().is_some_and(|e| e == "md"));
        all.extend(pages.map(|p| p.to_str().unwrap().replace('\\', "/")));
    }
    all
}

/// All of it in one text.
fn manual() -> String {
    pages().iter().map(|p| text(p)).collect::<Vec<_>>().join("\n\n")
}

fn section<'a>(text: &'a str, name: &str) -> &'a str {
    let (open, close) = (format!("<!-- {name} -->"), format!("<!-- /{name} -->"));
    let from = text.find(&open).unwrap_or_else(|| panic!("no page has {open}")) + open.len();
    let to = text.find(&close).unwrap_or_else(|| panic!("no page has {close}"));
    &text[from..to]
}

/// Compares a section of the manual with what it should be; writes it when asked to.
fn hold(name: &str, expected: &str) {
    // the tests of one run share the files
    static ONE_AT_A_TIME: std::sync::Mutex<()> = std::sync::Mutex::new(());
    let _guard = ONE_AT_A_TIME.lock().unwrap_or_else(|e| e.into_inner());
    let holds: Vec<String> = pages().into_iter().filter(|p| text(p).contains(&format!("<!-- {name} -->"))).collect();
    let [page] = holds.as_slice() else { panic!("{name} must be on one page: {holds:?}") };
    let whole = text(page);
    let found = section(&whole, name).to_string();
    let expected = format!("\n{expected}");
    if found != expected && std::env::var("REGENERATE").is_ok() {
        let new =
            whole.replacen(&format!("<!-- {name} -->{found}<!-- /{name} -->"), &format!("<!-- {name} -->{expected}<!-- /{name} -->"), 1);
        std::fs::write(page, new).unwrap();
        panic!("{page}: section {name} was written anew; look at it and run again");
    }
    assert_eq!(found, expected, "{page}: section {name}; run once with REGENERATE=1");
}

/// What the command prints for a line of words.
fn printed(words: &[&str]) -> String {
    let out = cargo_bin_cmd!("needleband").args(words).output().unwrap();
    assert!(out.status.success(), "{words:?}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

#[test]
fn the_tables_of_remarks_and_refusals_are_the_registry() {
    let rows = |all: Vec<(&str, String, &str)>| all.iter().map(|r| format!("| `{}` | {} | {} |\n", r.0, r.1, r.2)).collect::<String>();
    let flags = rows(Flag::ALL.iter().map(|f| (f.code(), f.sentence(), f.advice())).collect());
    let refusals = rows(Refusal::ALL.iter().map(|r| (r.code(), r.sentence().to_string(), r.advice())).collect());
    hold("flags", &format!("| remark | what was seen | what to do |\n|---|---|---|\n{flags}"));
    hold("refusals", &format!("| not read because | what was seen | what to do |\n|---|---|---|\n{refusals}"));
}

/// Condition, photos, read, RMS error, largest error (% of span), bands that hold the truth.
fn measured() -> Vec<(String, usize, usize, f64, f64, usize)> {
    ["easy", "typical", "hard"]
        .into_iter()
        .map(|c| {
            let all: Vec<_> = SAMPLES.iter().filter(|s| s.kind == "reading" && s.condition == c).collect();
            let e: Vec<(f64, f64, bool)> = all.iter().filter_map(|s| error(s)).collect();
            let rms = (e.iter().map(|e| e.0 * e.0).sum::<f64>() / e.len() as f64).sqrt();
            let largest = e.iter().map(|e| e.0.abs()).fold(0.0, f64::max);
            (c.to_string(), all.len(), e.len(), rms, largest, e.iter().filter(|e| e.2).count())
        })
        .collect()
}

#[test]
fn the_table_of_accuracy_is_measured_on_the_samples() {
    let rows: String =
        measured().iter().map(|r| format!("| {} | {} | {} | {:.2} | {:.2} | {} |\n", r.0, r.1, r.2, r.3, r.4, r.5)).collect();
    let head = "| photos | number | read | RMS error, % of the scale | largest, % of the scale | 95 % band holds the truth |\n|---|---|---|---|---|---|\n";
    hold("accuracy", &format!("{head}{rows}"));
}

const DEMO: [&str; 7] =
    ["compare", "--dial", "calibration/gearbox-oil.json", "--before", "samples/gearbox-oil/before", "--after", "samples/gearbox-oil/after"];

#[test]
fn the_demo_of_the_readme_is_what_the_program_prints() {
    let command: String = text("README.md").replace("\\\n", " ").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(command.contains(&format!("cargo run --release -- {}", DEMO.join(" "))));
    hold("demo", &format!("```text\n{}```\n", printed(&DEMO)));
    hold("demo-explain", &format!("```text\n{}```\n", printed(&[&DEMO[..], &["--explain"]].concat())));
}

const RUN: [&str; 6] = ["settle", "--dial", "calibration/gearbox-oil.json", "samples/gearbox-oil/before", "--every", "60s"];

#[test]
fn the_run_of_the_readme_is_what_the_program_prints() {
    let readme = manual();
    assert!(readme.contains(&format!("needleband {}", RUN.join(" "))));
    hold("settle", &format!("```text\n{}```\n", printed(&RUN)));
    // its table of answers: every code, and none that is not there
    use needleband::settle::Verdict;
    let [level, half] = [1.0; 2];
    let all = [
        Verdict::Settled { level, half },
        Verdict::Steady { level, half },
        Verdict::Approaching { level, half },
        Verdict::NotSettled { low: level, high: half },
        Verdict::Drifting { per_minute: level, half },
        Verdict::NotFirstOrder,
    ];
    let table = readme.split("| answer (`verdict`)").nth(1).unwrap().split("\n\n").next().unwrap();
    let told: BTreeSet<String> = first_column(table.split_once('\n').unwrap().1);
    assert_eq!(told, all.iter().map(|v| v.code().to_string()).collect());
}

/// The names in backticks in the first column of a table.
fn first_column(table: &str) -> BTreeSet<String> {
    let cells = table.lines().filter_map(|l| l.strip_prefix("| ")).filter_map(|l| l.split(" | ").next());
    cells.flat_map(|c| c.split('`').skip(1).step_by(2)).map(String::from).collect()
}

#[test]
fn the_options_in_the_documents_exist() {
    let mut seen = 0;
    for path in pages().iter().chain(&inside()) {
        let joined = text(path).replace("\\\n", " ");
        for command in joined.lines().filter_map(|l| l.split("needleband ").nth(1)).map(|c| c.split(['`', '#']).next().unwrap()) {
            let mut words = command.split_whitespace();
            let Some(name) = words.next().filter(|n| COMMANDS.contains(n)) else {
                continue;
            };
            let help = printed(&[name, "--help"]);
            for option in words.filter(|w| w.starts_with("--")) {
                assert!(help.contains(&format!("{option} ")) || help.contains(&format!("{option}\n")), "{path}: {name} {option}");
                seen += 1;
            }
        }
    }
    assert!(seen > 20, "only {seen} options were found: the documents are not read right");
}

#[test]
fn the_readme_opens_with_the_job_and_names_the_test_command_of_ci() {
    let readme = text("README.md");
    let first = readme.split("\n\n").nth(1).unwrap();
    for word in ["before and\nafter", "band", "dial", "temperatures"] {
        assert!(first.contains(word), "the opening paragraph lacks {word:?}");
    }
    let ci = text(".ci/run");
    assert!(readme.contains("\ncargo test --release\n") && ci.contains("\ncargo test --release\n"));
    // short enough to be read; the rest is one link away
    let words = readme.split_whitespace().count();
    assert!((900..1300).contains(&words), "the README has {words} words");
    for page in pages().iter().skip(1) {
        assert!(readme.contains(&format!("]({page})")), "the README does not lead to {page}");
    }
}
