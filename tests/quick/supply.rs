//! What the program is built from: licences, sources, duplicates and the Rust version that it needs, by cargo's own metadata, without
//! network where a build has run. `deny.toml` holds the lists; `cargo deny check` reads the same ones and knows advisories as well.
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// The words in quotes of a list in `deny.toml`.
fn list(key: &str) -> BTreeSet<String> {
    let text = std::fs::read_to_string("deny.toml").unwrap();
    let body = text.split(&format!("\n{key} = [")).nth(1).unwrap().split("\n]").next().unwrap().split("]\n").next().unwrap().to_string();
    body.split('"').skip(1).step_by(2).map(String::from).collect()
}

fn cargo(words: &[&str]) -> String {
    let run = |more: &[&str]| Command::new(env!("CARGO")).args(words).arg("--locked").args(more).output().unwrap();
    // cargo's metadata may name a crate that no build has needed so far; then it has to be had once
    let out = Some(run(&["--offline"])).filter(|o| o.status.success()).unwrap_or_else(|| run(&[]));
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

/// The packages that the program itself is built from on this machine, those of its tests left out.
fn packages() -> Vec<Value> {
    let host = String::from_utf8(Command::new("rustc").arg("-vV").output().unwrap().stdout).unwrap();
    let host = host.lines().find_map(|l| l.strip_prefix("host: ")).unwrap();
    let tree = cargo(&["tree", "--edges", "normal,build", "--prefix", "none", "--format", "{p}", "--target", host]);
    let needed: BTreeSet<String> = tree.lines().map(|l| l.split_whitespace().take(2).collect::<Vec<_>>().join(" ")).collect();
    let all: Value = serde_json::from_str(&cargo(&["metadata", "--format-version", "1", "--filter-platform", host])).unwrap();
    let name = |p: &Value| format!("{} v{}", p["name"].as_str().unwrap(), p["version"].as_str().unwrap());
    let used: Vec<Value> = all["packages"].as_array().unwrap().iter().filter(|p| needed.contains(&name(p))).cloned().collect();
    assert!(used.len() > 50 && used.len() == needed.len(), "{} of {}", used.len(), needed.len());
    used
}

/// Whether a licence expression (SPDX, annex D) can be met by allowed licences alone: all sides of AND, one of OR, AND first.
fn allowed(expression: &str, list: &BTreeSet<String>) -> bool {
    let plain = expression.replace('/', " OR ");
    if let Some(open) = plain.find('(') {
        // brackets are worked out from the inside and stand for their answer
        let close = open + plain[open..].find(')').unwrap();
        let inner = if allowed(&plain[open + 1..close], list) { list.iter().next().unwrap().as_str() } else { "none" };
        return allowed(&format!("{}{inner}{}", &plain[..open], &plain[close + 1..]), list);
    }
    plain.split(" OR ").any(|one| one.split(" AND ").all(|l| list.contains(l.trim())))
}

#[test]
fn licences_and_sources_are_allowed_ones() {
    let list = list("allow");
    for p in packages() {
        let name = &p["name"];
        let licence = p["license"].as_str().unwrap_or_else(|| panic!("{name} states no licence"));
        assert!(allowed(licence, &list), "{name}: {licence} is not in deny.toml");
        let source = p["source"].as_str();
        assert!(name == "needleband" || source == Some("registry+https://github.com/rust-lang/crates.io-index"), "{name}: {source:?}");
    }
    assert!(allowed("MIT OR Apache-2.0", &list) && allowed("(GPL-3.0 OR MIT) AND Zlib", &list));
    assert!(!allowed("GPL-3.0", &list) && !allowed("MIT AND GPL-3.0", &list) && !allowed("(GPL-3.0) AND MIT", &list));
}

#[test]
fn no_crate_is_there_twice_but_those_that_are_told() {
    let mut versions: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for p in packages() {
        versions.entry(p["name"].as_str().unwrap().into()).or_default().insert(p["version"].as_str().unwrap().into());
    }
    let told: BTreeSet<String> = list("skip").into_iter().filter_map(|s| s.split_once('@').map(|(name, _)| name.to_string())).collect();
    let doubled: BTreeSet<String> = versions.into_iter().filter(|v| v.1.len() > 1).map(|v| v.0).collect();
    assert_eq!(doubled, told);
}

/// The `rust-version` of `Cargo.toml` is enough for every crate, and no more than one of them needs. That the code itself keeps to it is
/// the linter's `incompatible_msrv`.
#[test]
fn the_stated_rust_version_is_the_one_that_is_needed() {
    let number = |v: &str| {
        let mut parts = v.split('.').map(|n| n.parse::<u32>().unwrap());
        (parts.next().unwrap(), parts.next().unwrap())
    };
    let needed = packages()
        .iter()
        .filter(|p| p["name"] != "needleband")
        .filter_map(|p| p["rust_version"].as_str().map(|v| (number(v), p["name"].to_string())))
        .max()
        .unwrap();
    assert_eq!(number(env!("CARGO_PKG_RUST_VERSION")), needed.0, "{}", needed.1);
}
