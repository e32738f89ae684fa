//! Every field that scripts meet is explained: JSON of the commands, and the dial file.
use super::{DEMO, RUN, first_column, printed, section, text};
use serde_json::Value;
use std::collections::BTreeSet;

fn keys(object: &Value) -> BTreeSet<String> {
    object.as_object().unwrap().keys().cloned().collect()
}

#[test]
fn every_field_of_the_json_is_explained() {
    let readme = super::manual();
    let photo = "samples/gearbox-oil/before/1.jpg";
    let line: Value =
        serde_json::from_str(&printed(&["read", "--dial", "calibration/gearbox-oil.json", "--json", "--budget", "--metrics", photo]))
            .unwrap();
    let table = section(&readme, "json-read");
    assert_eq!(first_column(table), keys(&line));
    let change: Value = serde_json::from_str(&printed(&[&DEMO[..], &["--json"]].concat())).unwrap();
    let table_of_change = section(&readme, "json-compare");
    assert_eq!(first_column(table_of_change), keys(&change));
    let run: Value = serde_json::from_str(&printed(&[&RUN[..], &["--json"]].concat())).unwrap();
    let table_of_run = section(&readme, "json-settle");
    assert_eq!(first_column(table_of_run), keys(&run));
    let plan = ["plan", "--dial", "calibration/gearbox-oil.json", "--drop", "5C", "--json"];
    let plan: Value = serde_json::from_str(&printed(&plan)).unwrap();
    let table_of_plan = section(&readme, "json-plan");
    assert_eq!(first_column(table_of_plan), keys(&plan));
    let told =
        ["--json", "--ambient-before", "24C±1", "--ambient-after", "22C±1", "--load-before", "x", "--load-after", "x", "--limit", "120C"];
    let more: Value = serde_json::from_str(&printed(&[&DEMO[..], &told].concat())).unwrap();
    let (stages, table_of_stages) = (super::project::stages_json(), section(&readme, "json-stages"));
    assert_eq!(first_column(table_of_stages), keys(&stages));
    let ticks: Value = serde_json::from_str(&printed(&["ticks", "samples/gearbox-oil/reference.jpg", "--json"])).unwrap();
    let table_of_ticks = section(&readme, "json-ticks");
    assert_eq!(first_column(table_of_ticks), keys(&ticks));
    let check: Value = serde_json::from_str(&printed(&["check", "--dial", "calibration/gearbox-oil.json", "--json", photo])).unwrap();
    let table_of_check = section(&readme, "json-check");
    assert_eq!(first_column(table_of_check), keys(&check));
    for (table, inner) in [
        (table_of_plan, &plan["sizes"][0]),
        (table_of_change, &more["adjusted"]),
        (table_of_change, &more["coverage"]),
        (table_of_change, &more["before"]["ambient"]),
        (table_of_change, &more["before"]["rise"]),
        (table, &more["before"]["limit"]),
        (table_of_stages, &stages["stages"][0]),
        (table_of_stages, &stages["changes"][0]),
        (table_of_ticks, &ticks["dials"][0]),
        (table_of_ticks, &ticks["dials"][0]["ticks"][0]),
        (table_of_check, &check["marks"][0]),
        (table_of_check, &check["reference"]),
        (table_of_check, &check["stretches"][0]),
        (table_of_check, &check["pixel"][0]),
        (table_of_check, &check["smallest_change"][0]),
        (table_of_check, &check["repeats"]),
        (table_of_run, &run["readings"][0]),
        (table_of_run, &run["budget"][0]),
        (table_of_run, &run["dial"]),
        (table, &line["dial"]),
        (table, &line["budget"][0]),
        (table_of_change, &change["before"]),
        (table_of_change, &change["after"]),
        (table_of_change, &change["shared"]),
    ] {
        keys(inner).iter().for_each(|k| assert!(table.contains(&format!("`{k}`")), "{k} is not explained"));
    }
}

/// The fields of a struct of `src/dial/file/twin.rs`, those among them that most files lack.
fn fields(twin: &str, name: &str) -> Vec<String> {
    let body = twin.split(&format!("struct {name} {{\n")).nth(1).unwrap().split("\n}").next().unwrap();
    let field = |l: &str| l.trim().split_once(": ").map(|f| f.0.to_string()).filter(|f| !f.contains(['/', '#', ' ']));
    body.lines().filter_map(field).collect()
}

#[test]
fn every_field_of_a_dial_file_is_explained() {
    let readme = text("calibration/README.md");
    let twin = text("src/dial/file/twin.rs");
    let inside = |name: &str, prefix: &str| fields(&twin, name).into_iter().map(|f| format!("{prefix}{f}")).collect::<Vec<_>>();
    let structs = [
        ("DialTwin", ""),
        ("MarkTwin", ""),
        ("ClickTwin", "click."),
        ("NeedleTwin", ""),
        ("StandTwin", "stand."),
        ("FaceTwin", ""),
        ("PreparedTwin", "prepared."),
    ];
    let there: BTreeSet<String> = structs.iter().flat_map(|(name, prefix)| inside(name, prefix)).collect();
    assert_eq!(first_column(&readme), there);
    // and these are what a file holds
    let dial: Value = serde_json::from_str(&text("calibration/gearbox-oil.json")).unwrap();
    for inner in [&dial, &dial["needle"], &dial["face"], &dial["marks"][0]] {
        keys(inner).iter().for_each(|k| assert!(there.contains(k), "{k}"));
    }
    let kinds = twin.split("enum KindTwin {\n").nth(1).unwrap().split("\n}").next().unwrap();
    for kind in kinds.lines().map(|l| l.trim().trim_end_matches(',').to_lowercase()) {
        assert!(readme.contains(&format!("`{kind}`")), "{kind}");
    }
}
