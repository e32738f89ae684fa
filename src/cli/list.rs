//! Names of photos from standard input, for thousands of frames through a pipe.
use super::failure::{Failure, plain};
use std::io::{Read, stdin};
use std::path::{Path, PathBuf};

/// Most bytes of names that are taken in.
const MAX_BYTES: u64 = 64 * 1024 * 1024;

/// Whether a path stands for the list on standard input.
pub fn is_list(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// The names on standard input, one a line; where there are zero bytes those end a name, so that it may hold line breaks.
pub fn listed() -> Result<Vec<PathBuf>, Failure> {
    let mut bytes = Vec::new();
    stdin().lock().take(MAX_BYTES + 1).read_to_end(&mut bytes).map_err(|e| {
        Failure::trouble(format!("The list of photos on standard input could not be read ({}). Check what writes it.", plain(&e)))
    })?;
    if bytes.len() as u64 > MAX_BYTES {
        return Err(Failure::trouble(format!(
            "The list of photos on standard input is longer than {MAX_BYTES} bytes, so nothing is read. Give names, not the photos themselves."
        )));
    }
    let names = names_of(&bytes);
    if names.is_empty() {
        return Err(Failure::trouble("The list of photos on standard input is empty, so there is nothing to read. Give a name a line."));
    }
    Ok(names)
}

fn names_of(bytes: &[u8]) -> Vec<PathBuf> {
    let zero = bytes.contains(&0);
    let parts = bytes.split(|&b| if zero { b == 0 } else { b == b'\n' });
    let trimmed = parts.map(|p| if zero { p } else { p.strip_suffix(b"\r").unwrap_or(p) });
    trimmed.filter(|p| !p.is_empty()).map(path_of).collect()
}

#[cfg(unix)]
fn path_of(name: &[u8]) -> PathBuf {
    use std::os::unix::ffi::OsStrExt;
    PathBuf::from(std::ffi::OsStr::from_bytes(name))
}

#[cfg(not(unix))]
fn path_of(name: &[u8]) -> PathBuf {
    PathBuf::from(String::from_utf8_lossy(name).into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_a_line_or_zero_bytes_between() {
        let paths = |names: &[&str]| names.iter().map(PathBuf::from).collect::<Vec<_>>();
        assert_eq!(names_of(b"a.jpg\nb c.jpg\r\n\n"), paths(&["a.jpg", "b c.jpg"]));
        assert_eq!(names_of(b"a\nb.jpg\0c.jpg\0"), paths(&["a\nb.jpg", "c.jpg"]));
        assert!(names_of(b"\n\n").is_empty());
    }
}
