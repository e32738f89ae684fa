//! A usage error in one sentence: what was seen, what to do.
use super::Typed;
use crate::output::sentence_case;
use clap::CommandFactory;
use std::ffi::OsStr;

/// The parser's message as one sentence: its first paragraph, with its tip, and where to look when it does not say what to write. `first` is
/// the first word that was typed: of a value the parser does not say which command it belongs to.
pub(super) fn told(error: &clap::Error, first: Option<&OsStr>) -> String {
    let text = error.render().to_string();
    let mut paragraphs = text.split("\n\n").map(joined);
    let seen = paragraphs.next().unwrap_or_default();
    let seen = sentence_case(seen.trim_start_matches("error: "));
    let rest: Vec<String> = paragraphs.collect();
    let tip =
        rest.iter().find_map(|p| p.strip_prefix("tip: ")).filter(|t| t.contains("similar")).map_or(String::new(), |t| format!(" ({t})"));
    // a value's own error says how it is written
    let end = if seen.contains("write it") || seen.contains("; give") {
        String::new()
    } else {
        let first = first.and_then(OsStr::to_str).filter(|w| Typed::command().find_subcommand(w).is_some());
        let command = rest.iter().find_map(|p| p.strip_prefix("Usage: ")).and_then(command).or(first);
        format!("; needleband{} --help shows what can be typed", command.map_or(String::new(), |c| format!(" {c}")))
    };
    format!("{seen}{tip}{end}.")
}

/// The lines of a paragraph as one; those that only list things with commas between.
fn joined(paragraph: &str) -> String {
    let mut lines = paragraph.lines().map(str::trim).filter(|l| !l.is_empty());
    let first = lines.next().unwrap_or_default().to_string();
    let more: Vec<&str> = lines.collect();
    if more.is_empty() { first } else { format!("{first} {}", more.join(", ")) }
}

/// The command in a line of usage: "needleband read [OPTIONS] ...".
fn command(usage: &str) -> Option<&str> {
    usage.split_whitespace().nth(1).filter(|w| w.starts_with(|c: char| c.is_ascii_lowercase()))
}
