//! Files that only grow: whole lines added under a lock.
use super::failure::Failure;
use super::files::parent;
use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::path::Path;

/// The bytes of a file; of a longer one `most` and one more, which is enough to know that it is.
pub fn bytes_of(file: &mut File, most: u64) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    file.take(most + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Adds what `added` makes of what is there (see [`bytes_of`]), with an answer. One writer at a time: others wait for the lock, and what they
/// did counts. What could not be written whole is taken back.
pub fn grow<T>(
    path: &Path,
    most: u64,
    failed: impl Fn(&std::io::Error) -> Failure,
    added: impl FnOnce(&[u8]) -> Result<(String, T), Failure>,
) -> Result<T, Failure> {
    let new = !path.exists();
    let mut file = OpenOptions::new().read(true).append(true).create(true).open(path).map_err(|e| failed(&e))?;
    file.lock().map_err(|e| failed(&e))?;
    let before = bytes_of(&mut file, most).map_err(|e| failed(&e))?;
    let (text, answer) = added(&before)?;
    if let Err(e) = file.write_all(text.as_bytes()).and_then(|()| file.sync_all()) {
        // without this the next reader would find half a line
        let _ = file.set_len(before.len() as u64);
        return Err(failed(&e));
    }
    if new {
        // the name of a new file must reach the disk too; where a folder cannot be synced that is left to the system
        let _ = File::open(parent(path)).and_then(|folder| folder.sync_all());
    }
    Ok(answer)
}
