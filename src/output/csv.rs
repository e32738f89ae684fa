//! Results as a table for a spreadsheet: RFC 4180, a heading first, lines ended by CR LF. The columns are fields of the JSON of the same
//! command, under their names there; numbers have a point and all their digits.
//!
//! A spreadsheet takes a cell that begins with = + - @ or a control character for a formula. Texts that begin so get an apostrophe in
//! front; numbers are left as they are.
use super::json::{self, JsonError};
use crate::compare::Comparison;
use crate::dial::Dial;
use crate::diary::{Diary, Project};
use crate::settle::Answer;
use serde_json::Value;

/// What ends a line (RFC 4180, 2.1).
const END: &str = "\r\n";
/// Columns of the photos' table.
const PHOTO: [&str; 16] = [
    "photo",
    "outcome",
    "value",
    "sigma",
    "low",
    "high",
    "unit",
    "value_c",
    "value_f",
    "angle_deg",
    "taken_at",
    "dial_px",
    "flags",
    "reason",
    "sentence",
    "advice",
];
/// Two more where readings are held against a limit: fields of the object `limit`.
const AGAINST: [&str; 2] = ["limit", "stands"];
/// Columns of a run over time.
const RUN: [&str; 6] = ["photo", "seconds", "value", "sigma", "fitted", "bad"];
/// Columns of a comparison, and of stages and their changes.
const SIDES: [&str; 8] = ["row", "value", "sigma", "low", "high", "unit", "photos", "verdict"];

fn against(limit: bool) -> &'static [&'static str] {
    if limit { &AGAINST } else { &[] }
}

/// The heading of the photos' table; `limit`: whether they are held against one.
pub fn photo_head(limit: bool) -> String {
    head(&[&PHOTO, against(limit)].concat())
}

/// A photo's row, from its line of JSON; `limit` as for [`photo_head`].
///
/// # Errors
/// When the line is none (a fault of the program).
pub fn photo_row(json_line: &str, limit: bool) -> Result<String, JsonError> {
    let object = json::parsed(json_line)?;
    Ok(line(PHOTO.iter().map(|c| cell(&object[*c])).chain(against(limit).iter().map(|c| cell(&object["limit"][*c])))))
}

/// The readings of a run over time.
///
/// # Errors
/// When the answer cannot be serialised (a fault of the program).
pub fn settling(a: &Answer, dial: &Dial, names: &[String]) -> Result<String, JsonError> {
    let object = json::parsed(&json::settling(a, dial, names)?)?;
    let first = head(&RUN);
    Ok(rows(&object["readings"]).iter().map(|r| line(RUN.iter().map(|c| cell(&r[*c])))).fold(first, |all, l| all + &l))
}

/// A comparison: a row each for before, after and the change.
///
/// # Errors
/// As [`settling`].
pub fn comparison(c: &Comparison, before: &[String], after: &[String]) -> Result<String, JsonError> {
    let object = json::parsed(&json::comparison(c, before, after)?)?;
    let unit = cell(&object["unit"]);
    let side = |name: &str| {
        let s = &object[name];
        line([
            name.to_string(),
            cell(&s["mean"]),
            cell(&s["sigma"]),
            cell(&s["low"]),
            cell(&s["high"]),
            unit.clone(),
            cell(&s["n"]),
            String::new(),
        ])
    };
    let change = [cell(&object["delta"]), cell(&object["sigma"]), cell(&object["low"]), cell(&object["high"])];
    let [delta, sigma, low, high] = change;
    let last = line(["change".to_string(), delta, sigma, low, high, unit.clone(), String::new(), cell(&object["verdict"])]);
    Ok(head(&SIDES) + &side("before") + &side("after") + &last)
}

/// The stages of a project, then the changes between them ("stock → larger cooler").
///
/// # Errors
/// As [`settling`].
pub fn stages(p: &Project, d: &Diary) -> Result<String, JsonError> {
    let object = json::parsed(&json::stages(p, d)?)?;
    let unit = cell(&object["unit"]);
    let mut out = head(&SIDES);
    for s in rows(&object["stages"]) {
        let numbers = ["value", "sigma", "low", "high"].map(|c| cell(&s[c]));
        out += &line([cell(&s["stage"])].into_iter().chain(numbers).chain([unit.clone(), cell(&s["n"]), String::new()]));
    }
    for c in rows(&object["changes"]) {
        let numbers = ["delta", "sigma", "low", "high"].map(|f| cell(&c[f]));
        let name = harmless(&format!("{} → {}", raw(&c["before"]), raw(&c["after"])));
        out += &line([name].into_iter().chain(numbers).chain([unit.clone(), String::new(), cell(&c["standing"])]));
    }
    Ok(out)
}

fn rows(list: &Value) -> &[Value] {
    list.as_array().map_or(&[], Vec::as_slice)
}

fn raw(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_string()
}

/// A field as a cell, not yet quoted: nothing for `null`, a list's items side by side.
fn cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => harmless(text),
        Value::Array(items) => items.iter().map(cell).collect::<Vec<_>>().join(" "),
        other => other.to_string(),
    }
}

/// A text that no spreadsheet takes for a formula.
fn harmless(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) { format!("'{text}") } else { text.to_string() }
}

/// A heading.
fn head(columns: &[&str]) -> String {
    line(columns.iter().map(|c| (*c).to_string()))
}

/// A line; cells that hold a comma, a quote or a line break are quoted (RFC 4180, 2.6 and 2.7).
fn line(cells: impl IntoIterator<Item = String>) -> String {
    let quoted = |c: String| if c.contains([',', '"', '\r', '\n']) { format!("\"{}\"", c.replace('"', "\"\"")) } else { c };
    cells.into_iter().map(quoted).collect::<Vec<_>>().join(",") + END
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_quoted_as_rfc_4180_says_and_no_text_is_a_formula() {
        // RFC 4180, 2.6 and 2.7
        let given = ["aaa", "b CRLF\r\nbb", "b\"bb", "a,b"].map(String::from);
        assert_eq!(line(given), "aaa,\"b CRLF\r\nbb\",\"b\"\"bb\",\"a,b\"\r\n");
        let of = |text: &str| cell(&Value::String(text.to_string()));
        assert_eq!(["=1+1", "+1", "-1.jpg", "@x", "a=b"].map(of), ["'=1+1", "'+1", "'-1.jpg", "'@x", "a=b"]);
        assert_eq!((cell(&Value::from(-1.5)), cell(&Value::Null)), ("-1.5".to_string(), String::new()));
    }

    #[test]
    fn a_photo_has_a_cell_for_each_column() {
        let json = r#"{"photo":"=a,b.jpg","outcome":"reading","value":-3.25,"flags":["blurred","small_dial"]}"#;
        let row = photo_row(json, false).unwrap();
        assert!(row.starts_with("\"'=a,b.jpg\",reading,-3.25,"), "{row}");
        assert_eq!(row.matches(',').count() - 1, PHOTO.len() - 1);
        assert_eq!(photo_head(false).matches(',').count(), PHOTO.len() - 1);
        let row = photo_row(r#"{"photo":"a.jpg","limit":{"limit":95.0,"stands":"below"}}"#, true).unwrap();
        assert!(photo_head(true).ends_with(",advice,limit,stands\r\n") && row.ends_with(",,95.0,below\r\n"), "{row}");
    }
}
