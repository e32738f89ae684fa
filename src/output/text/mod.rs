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
pub use stages::{noted, stages};
pub(in crate::output) use ticks::letter;
pub use ticks::ticks;

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
