//! The page on metrics and criteria: every criterion with its default and its ground as the source says them, every metric explained.
use super::{first_column, hold, manual, printed, section, text};
use crate::samples::SAMPLES;
use crate::support::sweep::cases;
use needleband::dial::from_bytes;
use needleband::photo::decode;
use needleband::reading::{Criteria, Outcome, Reader, decide};
use serde_json::Value;
use std::collections::BTreeSet;

/// Name, default and comment of every field of a struct with a `Default` in this file.
fn criteria(file: &str, name: &str) -> Vec<(String, String, String)> {
    let source = text(file);
    let body = source.split(&format!("pub struct {name} {{\n")).nth(1).unwrap().split("\n}").next().unwrap();
    let defaults = source.split(&format!("impl Default for {name} {{")).nth(1).unwrap().split("\n}").next().unwrap();
    let default = |field: &str| {
        let after = defaults.split(&format!(" {field}: ")).nth(1).unwrap_or_else(|| panic!("{name} has no default for {field}"));
        let value: String = after.chars().take_while(|c| !matches!(c, ',' | '}' | '\n') || after.starts_with('[') && *c == ',').collect();
        value.split(']').next().unwrap().trim_start_matches('[').trim().to_string()
    };
    let (mut rows, mut said) = (Vec::new(), Vec::new());
    for line in body.lines().map(str::trim) {
        if let Some(words) = line.strip_prefix("///") {
            said.push(words.trim());
        } else if let Some((field, kind)) = line.strip_prefix("pub ").and_then(|l| l.split_once(": ")) {
            let comment = std::mem::take(&mut said).join(" ");
            if !kind.ends_with("Criteria,") {
                rows.push((field.to_string(), default(field), comment));
            }
        }
    }
    rows
}

/// A comment as a cell: links to code as code.
fn cell(comment: &str) -> String {
    comment.replace("[`Self::", "`").replace("[`crate::needle::NeedleFit::", "`").replace("[`", "`").replace("`]", "`").replace('|', "\\|")
}

#[test]
fn the_criteria_are_told_with_their_grounds() {
    let all = [
        ("src/reading/criteria.rs", "Criteria", ""),
        ("src/register/criteria.rs", "SearchCriteria", "search."),
        ("src/register/criteria.rs", "GlyphCriteria", "glyph."),
        ("src/diagnostics/remarks.rs", "RemarkCriteria", "remarks."),
    ];
    let mut table = "| criterion | default | unit, ground, what it was measured on |\n|---|---|---|\n".to_string();
    for (file, name, prefix) in all {
        for (field, default, comment) in criteria(file, name) {
            // unit and ground, or where to find them
            assert!(comment.matches('.').count() > 1, "{field} needs a unit and a ground: {comment}");
            table.push_str(&format!("| `{prefix}{field}` | {default} | {} |\n", cell(&comment)));
        }
    }
    assert!(table.lines().count() > 50);
    hold("criteria", &table);
}

#[test]
fn every_metric_is_explained() {
    let photo = "samples/gearbox-oil/before/1.jpg";
    let line: Value =
        serde_json::from_str(&printed(&["read", "--dial", "calibration/gearbox-oil.json", "--json", "--metrics", photo])).unwrap();
    let metrics = line["metrics"].as_object().unwrap();
    let there: BTreeSet<String> = metrics
        .iter()
        .flat_map(|(name, of)| {
            let fields = of.as_array().map_or(of, |list| &list[0]).as_object();
            fields.map_or(vec![name.clone()], |f| f.keys().map(|k| format!("{name}.{k}")).collect())
        })
        .collect();
    let told: BTreeSet<String> = first_column(section(&manual(), "json-metrics"));
    // the two places of the dial have the same fields
    let told: BTreeSet<String> = told
        .into_iter()
        .flat_map(|t| t.strip_prefix("place.").map_or(vec![t.clone()], |f| vec![format!("first.{f}"), format!("last.{f}")]))
        .collect();
    assert_eq!(told, there);
}

#[test]
fn measuring_on_after_a_refusal_changes_no_answer() {
    let mut refused = 0;
    for sample in SAMPLES.iter().filter(|s| s.kind != "reading" || s.condition == "hard").skip(cases(1, 0)).step_by(cases(2, 1)) {
        let dial = std::fs::read(format!("calibration/{}.json", sample.photo.split('/').next().unwrap())).unwrap();
        let reader = Reader::new(from_bytes(&dial).unwrap());
        let photo = decode(&std::fs::read(format!("samples/{}", sample.photo)).unwrap()).unwrap();
        let (record, metrics) = reader.measure(&photo, None);
        assert_eq!(record, sample.record, "{}", sample.photo);
        // other criteria on the same numbers: nothing passes a needle that must be three times as clear as the reference's
        let strict = decide(&metrics, &Criteria { needle_step: 3.0, ..Criteria::default() });
        assert!(!matches!(strict, needleband::reading::Decision::Reading(_)), "{}", sample.photo);
        refused += usize::from(matches!(record.outcome, Outcome::Refused(..)));
    }
    assert!(refused > 0);
}
