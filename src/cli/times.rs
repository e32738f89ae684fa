//! When each photo was taken: from its own data, evenly, or from a table.
use super::failure::Failure;
use super::files::{self, named, plain, told};
use crate::dial::MAX_FILE_BYTES;
use crate::reading::Record;
use crate::settle::seconds_of;
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

/// A table of times: path or name to seconds.
pub type Table = BTreeMap<String, f64>;

/// Reads the table, when one was given.
pub fn table(file: Option<&Path>) -> Result<Option<Table>, Failure> {
    file.map(read).transpose()
}

fn read(path: &Path) -> Result<Table, Failure> {
    let shown = told(path);
    let text = files::read(path, MAX_FILE_BYTES).and_then(|bytes| String::from_utf8(bytes).map_err(io::Error::other)).map_err(|e| {
        Failure::trouble(format!("The times {shown} could not be read ({}), so nothing is judged. Check the path.", plain(&e)))
    })?;
    parsed(&text).map_err(|e| Failure::trouble(format!("The times {shown}: {e}")))
}

/// Lines "photo,seconds"; a heading, empty lines and lines with # are passed over. The last comma divides, so a name may hold others.
fn parsed(text: &str) -> Result<Table, String> {
    let mut table = Table::new();
    let mut first = true;
    for (k, line) in text.trim_start_matches('\u{feff}').lines().enumerate().map(|(k, l)| (k + 1, l.trim())) {
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let cells = line.rsplit_once(',').map(|(name, time)| (name.trim().trim_matches('"'), time.trim()));
        let seconds = cells.and_then(|(_, time)| time.parse::<f64>().ok()).filter(|t| t.is_finite());
        match (cells, seconds) {
            (Some((name, _)), Some(t)) if !name.is_empty() => {
                if table.insert(name.to_string(), t).is_some() {
                    return Err(format!("{name} has two times (line {k}), so it is not clear which is meant. Keep one."));
                }
            }
            (Some(_), _) if first => {}
            _ => return Err(format!("line {k} (\"{line}\") is not a photo and its seconds. Write it like 0001.jpg,120")),
        }
        first = false;
    }
    Ok(table)
}

/// Seconds of each photo from any common start, `every` so many or as the table says or by its own capture time; `None` where nothing tells.
pub fn of(every: Option<f64>, table: Option<&Table>, paths: &[PathBuf], records: &[Record]) -> Vec<Option<f64>> {
    let time = |(k, (path, record)): (usize, (&PathBuf, &Record))| match (every, table) {
        (Some(every), _) => Some(every * k as f64),
        (_, Some(table)) => {
            let name = path.file_name().map(|n| n.to_string_lossy().into_owned());
            table.get(&named(path)).or_else(|| table.get(&name?)).copied()
        }
        _ => record.taken_at.as_deref().and_then(seconds_of),
    };
    paths.iter().zip(records).enumerate().map(time).collect()
}

#[cfg(test)]
mod tests {
    use super::parsed;

    #[test]
    fn tables_with_and_without_a_heading() {
        let t = parsed("\u{feff}photo,seconds\r\n\"a, b.jpg\",0\r\n# note\r\n\r\nc.jpg, 10.5\r\n").unwrap();
        assert_eq!((t.get("a, b.jpg"), t.get("c.jpg"), t.len()), (Some(&0.0), Some(&10.5), 2));
        for wrong in ["a.jpg,0\nb.jpg,later", "a.jpg,0\nb.jpg", "a.jpg,0\na.jpg,1", "a.jpg,0\n,1", "a.jpg,0\nb.jpg,nan"] {
            assert!(parsed(wrong).is_err(), "{wrong}");
        }
    }
}
