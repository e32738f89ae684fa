//! The diary as a file: read as a whole, and grown by whole lines under a lock.
use super::failure::{Failure, say};
use super::files::{plain, regular, told};
use super::grown::{bytes_of, grow};
use crate::diary::{Diary, MAX_FILE_BYTES, parse};
use std::io::ErrorKind;
use std::path::Path;

/// Reads a diary and says which lines are not used. A diary that is not there is an error.
pub fn load(path: &Path) -> Result<Diary, Failure> {
    let opened = regular(path).and_then(|mut file| {
        file.lock_shared()?;
        bytes_of(&mut file, MAX_FILE_BYTES)
    });
    let bytes = opened.map_err(|e| {
        Failure::trouble(format!(
            "The diary {} could not be opened ({}), so there is nothing to tell. Give the file that `needleband note` wrote.",
            told(path),
            plain(&e)
        ))
    })?;
    parsed(path, &bytes)
}

/// The same, or an empty diary where there is no file yet.
pub fn load_or_new(path: &Path) -> Result<Diary, Failure> {
    match path.symlink_metadata() {
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(Diary { ends_whole: true, ..Diary::default() }),
        _ => load(path),
    }
}

fn parsed(path: &Path, bytes: &[u8]) -> Result<Diary, Failure> {
    let diary = parse(bytes).map_err(|e| Failure::trouble(format!("{}: {e}", told(path))))?;
    diary.damaged.iter().for_each(|d| say(&format!("{}: {}", told(path), d.sentence())));
    Ok(diary)
}

/// Adds a line (with its newline); gives its number and the diary as it was. One writer at a time: others wait for the lock, and
/// `check` judges what is there then. After a line that was cut off a new one is begun, and the broken bytes stay. A line that could
/// not be written whole is taken back.
pub fn append(path: &Path, line: &str, check: impl FnOnce(&Diary) -> Result<(), Failure>) -> Result<(usize, Diary), Failure> {
    let shown = told(path);
    let failed = |e: &std::io::Error| {
        Failure::trouble(format!(
            "{shown} could not be written ({}), so nothing was noted. Check the folder, its rights and the disk.",
            plain(e)
        ))
    };
    grow(path, MAX_FILE_BYTES, failed, |bytes| {
        // what another writer did in the meantime counts
        let before = parse(bytes).map_err(|e| Failure::trouble(format!("{shown}: {e}")))?;
        check(&before)?;
        let start = if before.ends_whole { "" } else { "\n" };
        let whole = format!("{start}{line}");
        if (bytes.len() + whole.len()) as u64 > MAX_FILE_BYTES {
            return Err(Failure::trouble(format!(
                "With this line {shown} would be larger than the limit of {MAX_FILE_BYTES} bytes and could not be read any more, so nothing \
                 was noted. Begin a new diary."
            )));
        }
        let complete = bytes.iter().filter(|b| **b == b'\n').count();
        Ok((whole, (complete + 1 + usize::from(!before.ends_whole), before)))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_there_under_the_lock_is_judged_before_a_line_is_added() {
        let dir = tempfile::TempDir::new().unwrap();
        let path = dir.path().join("oil.jsonl");
        let cut = "{\"format\":\"needleband-diary\"";
        std::fs::write(&path, cut).unwrap();
        let refused = append(&path, "a line\n", |there| Err(Failure::trouble(format!("{} damaged", there.damaged.len()))));
        assert_eq!(refused.unwrap_err(), Failure::trouble("1 damaged"));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), cut);
        let (number, before) = append(&path, "a line\n", |_| Ok(())).unwrap();
        assert_eq!((number, before.damaged.len()), (2, 1));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), format!("{cut}\na line\n"));
    }
}
