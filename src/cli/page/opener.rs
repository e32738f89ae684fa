//! Opens the page in the user's browser with what the system has for it.
//!
//! The list of processes shows what a program is started with to everybody on the computer, and the link holds the token. So the browser is
//! handed the name of a file that only the user may read, and that file leads it to the link.
use super::super::failure::say;
use super::super::files::{parent, told};
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use tempfile::NamedTempFile;

/// Asks the system to open a link; says so when it has nothing to do it with. The file in the answer must last as long as the page: it lies
/// beside `near`, where a browser that is kept to the user's own folders may read it.
pub fn open(link: &str, near: &Path) -> Option<NamedTempFile> {
    let program = if cfg!(target_os = "macos") {
        "open"
    } else if cfg!(windows) {
        "explorer"
    } else {
        "xdg-open"
    };
    let file = leading(link, parent(near)).inspect_err(|e| say(&format!("The page is not opened ({e}). Open the link by hand."))).ok()?;
    let started = Command::new(program).arg(file.path()).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).spawn();
    if started.is_err() {
        say(&format!("{program} could not be started, so the page is not opened. Open the link by hand."));
    }
    Some(file)
}

/// A page that leads on to the link, for the user's eyes only.
fn leading(link: &str, folder: &Path) -> Result<NamedTempFile, String> {
    let failed = |e: std::io::Error| format!("no file could be written in {}: {e}", told(folder));
    // the system's default for such a file: only its owner may read it
    let mut file = tempfile::Builder::new().prefix("needleband-page-").suffix(".html").tempfile_in(folder).map_err(failed)?;
    writeln!(file, "<!doctype html><meta http-equiv=\"refresh\" content=\"0;url={link}\"><a href=\"{link}\">needleband</a>")
        .map_err(failed)?;
    file.flush().map_err(failed)?;
    Ok(file)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_link_stands_in_a_file_of_the_user_alone() {
        let dir = tempfile::TempDir::new().unwrap();
        let file = leading("http://127.0.0.1:1/token/", dir.path()).unwrap();
        assert!(std::fs::read_to_string(file.path()).unwrap().contains("0;url=http://127.0.0.1:1/token/"));
        assert!(!file.path().to_string_lossy().contains("token"));
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(file.path().metadata().unwrap().permissions().mode() & 0o077, 0);
        }
        let path = file.path().to_path_buf();
        drop(file);
        assert!(!path.exists());
    }
}
