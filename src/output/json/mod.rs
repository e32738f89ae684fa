//! Results as JSON for scripts: one object a line for each photo, one object for a comparison, a run over time or a plan.
//!
//! Every field is always there; what a photo did not give is `null` (`budget` and `metrics` come only when asked for). A number that is
//! not finite is `null` too, never NaN. `format_version` rises when a field changes its meaning or goes; new fields do not
//! raise it.
mod change;
mod check;
mod left_out;
mod level;
mod limit;
mod metrics;
#[cfg(feature = "page")]
#[cfg(feature = "page")]
mod page;
mod photo;
mod plan;
mod settling;
mod stages;
mod ticks;
pub use change::comparison;
pub use check::check;
pub use level::{LevelError, settled_level};
#[cfg(feature = "page")]
#[cfg(feature = "page")]
pub(crate) use page::{PageStart, page_fit, page_saved, page_start};
pub use photo::{More, photo_line, photo_line_with, unopened_line};
pub use plan::planned;
pub use settling::settling;
pub use stages::stages;
pub use ticks::ticks;

use crate::photo::sha256_hex;

/// The version of the formats.
pub const FORMAT_VERSION: u32 = 1;

/// A result that could not be written as JSON.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the result could not be written as JSON ({0}); this is a fault of the program")]
pub struct JsonError(String);

fn written<T: serde::Serialize>(value: &T) -> Result<String, JsonError> {
    serde_json::to_string(value).map_err(|e| JsonError(e.to_string()))
}

/// Hex digits of a check sum.
const CHECK_DIGITS: usize = 12;

/// The check sum of an object: the first digits of SHA-256 over its content as compact JSON, the field `check` left out. Field
/// order and spaces do not count.
fn check_of(object: &serde_json::Value) -> String {
    let mut content = object.clone();
    if let Some(fields) = content.as_object_mut() {
        fields.remove("check");
    }
    sha256_hex(content.to_string().as_bytes()).chars().take(CHECK_DIGITS).collect()
}

/// A line of JSON as it was written.
pub(in crate::output) fn parsed(line: &str) -> Result<serde_json::Value, JsonError> {
    serde_json::from_str(line).map_err(|e| JsonError(e.to_string()))
}

/// The number when it is finite.
fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}
