//! The layers: a module imports only from smaller numbers, and files never in a circle. Small files, short functions, and words that belong to one place.
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

const LAYERS: [(&str, u32); 18] = [
    ("maths", 0),
    ("diagnostics", 1),
    ("photo", 2),
    ("dial", 3),
    ("register", 4),
    ("tick_detection", 4),
    ("rectify", 5),
    ("needle", 6),
    ("scale", 7),
    ("reading", 8),
    ("calibrate", 9),
    ("compare", 9),
    ("settle", 9),
    ("plan", 9),
    ("diary", 10),
    ("assess", 10),
    ("output", 11),
    ("cli", 12),
];

fn layer(module: &str) -> Option<u32> {
    LAYERS.iter().find(|l| l.0 == module).map(|l| l.1)
}

/// The code of a file: comments and the trailing test module left out.
fn code(text: &str) -> String {
    let body = text.split("#[cfg(test)]\nmod ").next().unwrap();
    body.lines().map(|l| l.split("//").next().unwrap()).collect::<Vec<_>>().join("\n")
}

/// Imports of a module that is not below: "crate::x" in the code of module `own`.
fn upward(own: &str, code: &str) -> Vec<String> {
    let Some(mine) = layer(own) else { return Vec::new() };
    code.split("crate::")
        .skip(1)
        .map(|rest| rest.chars().take_while(|c| c.is_ascii_lowercase() || *c == '_').collect::<String>())
        .filter(|m| m != own && layer(m).is_some_and(|l| l >= mine))
        .collect()
}

/// Lengths of the functions in rustfmt's layout: a line that opens one, to the brace at the same depth.
fn function_lengths(code: &str) -> Vec<(String, usize)> {
    let lines: Vec<&str> = code.lines().collect();
    let mut out = Vec::new();
    for (i, l) in lines.iter().enumerate() {
        let t = l.trim_start();
        let depth = &l[..l.len() - t.len()];
        let opens = ["fn ", "pub fn ", "pub(super) fn ", "pub(crate) fn ", "const fn ", "pub const fn "].iter().any(|p| t.starts_with(p));
        if opens && let Some(n) = lines[i..].iter().position(|e| *e == format!("{depth}}}")) {
            out.push((t.chars().take(40).collect(), n + 1));
        }
    }
    out
}

fn sources(dir: &Path, out: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

fn all() -> Vec<(String, String, String)> {
    let mut files = Vec::new();
    sources(Path::new("src"), &mut files);
    assert!(files.len() > 60, "found only {} source files", files.len());
    files
        .into_iter()
        .map(|f| {
            let path = f.to_string_lossy().replace('\\', "/");
            let module = path.trim_start_matches("src/").split('/').next().unwrap().trim_end_matches(".rs").to_string();
            (path, module, code(&std::fs::read_to_string(&f).unwrap()))
        })
        .collect()
}

#[test]
fn no_module_imports_upwards() {
    for (path, module, code) in all() {
        assert_eq!(upward(&module, &code), Vec::<String>::new(), "{path}");
    }
}

/// A use tree written out: "a::{b, c::d}" is "a::b" and "a::c::d".
fn written_out(tree: &str) -> Vec<String> {
    let Some(open) = tree.find('{') else { return vec![tree.to_string()] };
    let Some(close) = tree.rfind('}') else { return Vec::new() };
    let inner = &tree[open + 1..close.max(open + 1)];
    let (mut depth, mut parts) = (0, vec![String::new()]);
    for c in inner.chars() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => {}
        }
        if c == ',' && depth == 0 {
            parts.push(String::new());
        } else {
            parts.last_mut().unwrap().push(c);
        }
    }
    parts.iter().filter(|p| !p.is_empty()).flat_map(|p| written_out(&format!("{}{p}", &tree[..open]))).collect()
}

/// The file that a path leads to from file `own`, as far as it names files (`own`, `files`: "needle/fit"; a folder's `mod.rs`: "needle").
fn leads_to(own: &str, path: &str, files: &BTreeMap<String, String>) -> Option<String> {
    let mut at: Vec<&str> = own.split('/').collect();
    let mut steps = path.split("::").peekable();
    match steps.next()? {
        "crate" => at.clear(),
        "self" => {}
        "super" => {
            at.pop();
        }
        _ => return None,
    }
    while steps.next_if_eq(&"super").is_some() {
        at.pop();
    }
    for step in steps {
        at.push(step);
        if !files.contains_key(&at.join("/")) {
            at.pop();
            break;
        }
    }
    Some(at.join("/")).filter(|f| f != own && files.contains_key(f))
}

/// Files of which each imports from the next and the last from the first; `files`: code by name. A folder's `mod.rs` only
/// names its files: it is no part of a circle, and an import through it is not followed.
fn circle(files: &BTreeMap<String, String>) -> Option<Vec<String>> {
    let is_folder = |f: &str| files.keys().any(|k| k.starts_with(&format!("{f}/")));
    let imports =
        |own: &String, code: &String| -> Vec<String> {
            let flat: String = code.chars().filter(|c| !c.is_whitespace()).collect();
            let spaced = code.split_whitespace().collect::<Vec<_>>().join(" ");
            let trees = spaced.split("use ").skip(1).filter_map(|u| u.split(';').next());
            let mut paths: Vec<String> = trees.flat_map(|u| written_out(&u.replace(' ', ""))).collect();
            for start in ["crate::", "super::"] {
                paths.extend(flat.match_indices(start).map(|(i, _)| {
                    flat[i..].chars().take_while(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | ':')).collect::<String>()
                }));
            }
            paths.iter().filter_map(|p| leads_to(own, p, files)).filter(|f| !is_folder(f)).collect()
        };
    let mut left: BTreeMap<String, Vec<String>> =
        files.iter().filter(|(f, _)| !is_folder(f)).map(|(f, code)| (f.clone(), imports(f, code))).collect();
    // what imports nothing that is left is in no circle
    while let Some(free) = left.iter().find(|(_, to)| to.iter().all(|t| !left.contains_key(t))).map(|(f, _)| f.clone()) {
        left.remove(&free);
    }
    let mut way = vec![left.keys().next()?.clone()];
    loop {
        let next = left[way.last()?].iter().find(|t| left.contains_key(*t))?.clone();
        if let Some(i) = way.iter().position(|w| *w == next) {
            return Some(way.split_off(i));
        }
        way.push(next);
    }
}

#[test]
fn files_import_in_no_circle() {
    let name = |path: &str| path.trim_start_matches("src/").trim_end_matches(".rs").trim_end_matches("/mod").to_string();
    let files = all().into_iter().map(|(path, _, code)| (name(&path), code)).collect();
    assert_eq!(circle(&files), None);
}

#[test]
fn files_and_functions_stay_small() {
    for (path, _, code) in all() {
        let lines = code.lines().filter(|l| !l.trim().is_empty()).count();
        assert!(lines <= 300, "{path} has {lines} lines of code");
        for (name, n) in function_lengths(&code) {
            assert!(n <= 60, "{path}: {name} has {n} lines");
        }
        assert!(!path.contains("utils"), "{path}");
    }
}

#[test]
fn words_stay_where_they_belong() {
    let rules: [(&str, &[&str]); 10] = [
        ("clap::", &["src/cli/args"]),
        ("serde_json", &["src/output/", "src/dial/", "src/diary/file"]),
        ("std::fs", &["src/cli/"]),
        ("println!", &["src/cli/"]),
        ("Instant::now", &["src/cli/"]),
        ("SystemTime", &["src/cli/"]),
        // the calendar of a time axis reads no clock
        ("jiff::", &["src/cli/", "src/output/picture/times"]),
        ("maud::", &["src/output/page"]),
        // a path is written by `cli/files`: `told` for people, `named` for scripts
        (".display()", &[]),
        ("unsafe ", &[]),
    ];
    for (path, _, code) in all() {
        for (word, homes) in rules {
            assert!(!code.contains(word) || homes.iter().any(|h| path.starts_with(h)), "{path} says {word}");
        }
        for word in [".unwrap()", ".expect(", "panic!("] {
            assert!(!code.contains(word), "{path} says {word}");
        }
    }
}

#[test]
fn the_checks_catch_planted_faults() {
    assert_eq!(upward("maths", "use crate::photo::Plane;"), ["photo"]);
    assert_eq!(upward("reading", "use crate::calibrate::Request; use crate::maths::angle::wrap;"), ["calibrate"]);
    assert!(upward("cli", "use crate::output::text; use crate::maths::x;").is_empty());
    let files = |of: &[(&str, &str)]| of.iter().map(|(f, c)| (f.to_string(), c.to_string())).collect::<BTreeMap<_, _>>();
    let planted = [
        ("a", "mod b; mod c; mod d;"),
        ("a/b", "use super::{c::X, d::Y};"),
        ("a/c", "fn f() { crate::a::d::g() }"),
        ("a/d", "use super::b::Z;"),
    ];
    assert_eq!(circle(&files(&planted)).unwrap(), ["a/b", "a/c", "a/d"]);
    assert_eq!(circle(&files(&planted[..3])), None);
    let long = format!("fn long() {{\n{}}}\n", "    step();\n".repeat(70));
    assert_eq!(function_lengths(&long)[0].1, 72);
    assert!(!code("let a = 1; // .unwrap()\n").contains("unwrap"));
}
