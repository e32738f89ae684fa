//! Results as text for people. Columns are padded by hand, so that a pipe gets the same as a terminal.
mod budget;
mod calibration;
mod change;
mod check;
mod conditions;
mod declared;
mod plan;
mod readings;
mod settling;
mod stages;
mod ticks;
use super::names::shown;
pub use budget::budget;
pub use calibration::calibration;
pub use change::comparison;
pub use check::check;
pub use declared::refined;
pub use plan::planned;
pub use readings::ReadTable;
pub use settling::settling;
pub use stages::{diary_lines, noted, stages};
pub(in crate::output) use ticks::letter;
pub use ticks::ticks;

/// No line is wider: a terminal as it opens.
const WIDTH: usize = 80;

/// The text as a terminal shows it: each line that is wider than 80 columns is broken at a space; what follows is set in as far as the line was, and two further.
pub fn wrapped(text: &str) -> String {
    text.split_inclusive('\n').map(broken).collect()
}

fn broken(line: &str) -> String {
    let end = if line.ends_with('\n') { "\n" } else { "" };
    let body = line.trim_end_matches('\n');
    if body.chars().count() <= WIDTH {
        return line.to_string();
    }
    let indent = body.chars().take_while(|c| *c == ' ').count();
    let (mut out, mut row, mut count) = (String::new(), " ".repeat(indent), indent);
    let mut fresh = true;
    for word in body.trim_start().split(' ') {
        let wide = word.chars().count();
        if !fresh && count + 1 + wide > WIDTH {
            out.push_str(row.trim_end());
            out.push('\n');
            (row, count, fresh) = (" ".repeat(indent + 2), indent + 2, true);
        }
        // spaces that held columns apart go at the start of a line
        if fresh && word.is_empty() {
            continue;
        }
        if !fresh {
            row.push(' ');
            count += 1;
        }
        row.push_str(word);
        count += wide;
        fresh = false;
    }
    out + row.trim_end() + end
}

/// Pads with spaces on the right to `width` characters.
fn left(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(text.chars().count())))
}

/// Pads to a column of `width` characters that ends in two spaces at least.
fn column(text: &str, width: usize) -> String {
    format!("{}  ", left(text, width.saturating_sub(2)))
}

/// Pads with spaces on the left to `width` characters.
fn right(text: &str, width: usize) -> String {
    format!("{}{text}", " ".repeat(width.saturating_sub(text.chars().count())))
}

/// A path as it may be shown; the end of one that is longer than `most` characters.
fn tail(path: &str, most: usize) -> String {
    let path = shown(path);
    let n = path.chars().count();
    if n <= most { path } else { ['…'].into_iter().chain(path.chars().skip(n + 1 - most)).collect() }
}

#[cfg(test)]
mod tests {
    use super::wrapped;

    #[test]
    fn wide_lines_are_broken_at_spaces_and_no_word_is_lost() {
        let long = format!("  Mind: {}end\nshort   line\n", "a word or two, ".repeat(12));
        let out = wrapped(&long);
        assert!(out.lines().all(|l| l.chars().count() <= 80) && out.lines().nth(1).unwrap().starts_with("    "), "{out}");
        assert_eq!(out.split_whitespace().collect::<Vec<_>>(), long.split_whitespace().collect::<Vec<_>>());
        assert!(out.ends_with("end\nshort   line\n"));
        // a word that is longer than a line stays whole
        assert_eq!(wrapped(&"x".repeat(90)), "x".repeat(90));
    }
}
