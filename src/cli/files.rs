//! Files in and out: the only place of the crate that opens files.
use super::failure::Failure;
pub use super::failure::plain;
use super::list::{is_list, listed};
use crate::dial::{Dial, DialFileError, MAX_FILE_BYTES, from_bytes, to_bytes};
use crate::output::picture::{Picture, PictureError};
use crate::output::{shown_name, shown_word};
use crate::register::prepared;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// Endings of picture files that are taken from a folder. Kinds that cannot be decoded are among them, so that they are
/// reported and not passed over.
const PICTURES: [&str; 10] = ["jpg", "jpeg", "png", "webp", "tif", "tiff", "heic", "heif", "hif", "avif"];

/// Largest photo file that is opened; a phone's largest are some tens of MB.
pub const MAX_PHOTO_BYTES: u64 = 256 * 1024 * 1024;

/// Where a system keeps what only looks like files: some of it never ends, some waits for ever.
const OF_THE_SYSTEM: [&str; 3] = ["/proc", "/sys", "/dev"];

/// Opens an ordinary file. A pipe, a device or a file of the system could keep the run waiting, or never end.
pub fn regular(path: &Path) -> io::Result<File> {
    let ordinary = |meta: &fs::Metadata| match meta.is_file() {
        true => Ok(()),
        false => Err(io::Error::other("it is a folder, a pipe or a device and no ordinary file")),
    };
    ordinary(&fs::metadata(path)?)?;
    let real = fs::canonicalize(path)?;
    if OF_THE_SYSTEM.iter().any(|d| real.starts_with(d)) && !real.starts_with("/dev/shm") {
        return Err(io::Error::other("it is a file of the system and no ordinary one"));
    }
    let file = File::open(path)?;
    ordinary(&file.metadata()?)?;
    Ok(file)
}

/// The bytes of an ordinary file of at most `limit` bytes; no more than one beyond is ever read.
pub fn read(path: &Path, limit: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    regular(path)?.take(limit.saturating_add(1)).read_to_end(&mut bytes)?;
    match bytes.len() as u64 > limit {
        true => Err(io::Error::other(format!("it is larger than the limit of {limit} bytes"))),
        false => Ok(bytes),
    }
}

/// Reads a dial file.
pub fn load_dial(path: &Path) -> Result<Dial, Failure> {
    let bytes = read(path, MAX_FILE_BYTES).map_err(|e| {
        Failure::trouble(format!(
            "The dial file {} could not be opened ({}), so no photo can be read. Give the file that calibrate wrote.",
            told(path),
            plain(&e)
        ))
    })?;
    from_bytes(&bytes).map_err(|e| Failure::trouble(format!("{}: {e}", told(path))))
}

/// The bytes of a dial file, prepared for reading. Errors: as [`to_bytes`].
pub fn dial_file(dial: &Dial) -> Result<Vec<u8>, DialFileError> {
    // an impossible dial is refused before anything is worked out of it
    to_bytes(dial)?;
    to_bytes(&prepared(dial.clone()))
}

/// The photos behind the paths given: a folder stands for its picture files in the order of their names, `-` for the names on
/// standard input.
pub fn photos(given: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut all = Vec::new();
    for path in given {
        if is_list(path) {
            all.extend(listed()?);
        } else if path.is_dir() {
            all.extend(folder(path)?);
        } else {
            all.push(path.clone());
        }
    }
    Ok(all)
}

fn folder(path: &Path) -> Result<Vec<PathBuf>, Failure> {
    let unreadable = |e: std::io::Error| {
        let shown = told(path);
        Failure::trouble(format!("The folder {shown} could not be listed ({}), so nothing in it is read. Check its rights.", plain(&e)))
    };
    let mut found = Vec::new();
    for entry in fs::read_dir(path).map_err(unreadable)? {
        let file = entry.map_err(unreadable)?.path();
        if is_picture(&file) {
            found.push(file);
        }
    }
    if found.is_empty() {
        return Err(Failure::trouble(format!(
            "The folder {} holds no picture file ({}), so there is nothing to read. Give the folder with the photos.",
            told(path),
            PICTURES.join(", ")
        )));
    }
    found.sort();
    Ok(found)
}

/// By its name; a link that leads nowhere, or a pipe, is taken too and then told as a file that could not be opened.
fn is_picture(path: &Path) -> bool {
    let hidden = path.file_name().is_some_and(|n| n.to_string_lossy().starts_with('.'));
    let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
    !hidden && !path.is_dir() && ending.is_some_and(|e| PICTURES.contains(&e.as_str()))
}

/// Whether two paths lead to the same existing file or folder.
pub fn same(a: &Path, b: &Path) -> bool {
    match (fs::canonicalize(a), fs::canonicalize(b)) {
        (Ok(a), Ok(b)) => a == b,
        _ => false,
    }
}

/// Stops before any work when a drawing (a "picture", a "plot") would be written over one of the files that are read.
pub fn refuse_read(what: &str, path: &Path, mut read: impl Iterator<Item = impl AsRef<Path>>) -> Result<(), Failure> {
    match read.any(|p| same(path, p.as_ref())) {
        true => Err(Failure::trouble(format!(
            "The {what} {} would be written over a file that is being read. Choose another name.",
            told(path)
        ))),
        false => Ok(()),
    }
}

/// The folder a file lies in.
pub fn parent(path: &Path) -> &Path {
    match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    }
}

/// Stops before any work when a file to be written has none of these endings. `what`: as which it is to be opened.
pub fn needs_ending(path: &Path, endings: [&str; 2], what: &str) -> Result<(), Failure> {
    let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    match endings.contains(&ending.as_str()) {
        true => Ok(()),
        false => Err(Failure::trouble(format!(
            "{} does not end in .{}, so it may not be opened as {what}. Give it that ending.",
            told(path),
            endings[0]
        ))),
    }
}

/// Stops before any work when a file to be written is there already.
pub fn refuse_existing(path: &Path, force: bool) -> Result<(), Failure> {
    match path.symlink_metadata() {
        Ok(_) if !force => Err(exists(path)),
        _ => Ok(()),
    }
}

fn exists(path: &Path) -> Failure {
    Failure::trouble(format!("{} exists already and is left as it is. Choose another name, or add --force to write over it.", told(path)))
}

/// Writes a file whole or not at all: into a new file beside it, then moved to its place. Without `force` a file that is
/// there already is never touched.
pub fn write_whole(path: &Path, bytes: &[u8], force: bool) -> Result<(), Failure> {
    let failed = |e: &std::io::Error| {
        let shown = told(path);
        Failure::trouble(format!(
            "{shown} could not be written ({}), so the result is not kept. Check the folder and its rights.",
            plain(e)
        ))
    };
    let there = fs::metadata(path).ok().filter(|_| force);
    if there.as_ref().is_some_and(|meta| !meta.is_file()) {
        return Err(Failure::trouble(format!(
            "{} is a folder, a pipe or a device and no ordinary file, so it is not written over. Choose another name.",
            told(path)
        )));
    }
    if force && there.is_none() && path.is_symlink() {
        return Err(Failure::trouble(format!(
            "{} is a link that leads nowhere, so it is not written over. Choose another name.",
            told(path)
        )));
    }
    // a link stays one: what it leads to is written over
    let real = there.as_ref().and_then(|_| fs::canonicalize(path).ok());
    let target = real.as_deref().unwrap_or(path);
    let mut builder = tempfile::Builder::new();
    builder.prefix(".needleband-");
    #[cfg(unix)]
    {
        // As for any new file the umask decides who may read it.
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut temporary = builder.tempfile_in(parent(target)).map_err(|e| failed(&e))?;
    temporary.write_all(bytes).and_then(|()| temporary.as_file().sync_all()).map_err(|e| failed(&e))?;
    if let Some(meta) = &there {
        temporary.as_file().set_permissions(meta.permissions()).map_err(|e| failed(&e))?;
    }
    let moved = if force { temporary.persist(target) } else { temporary.persist_noclobber(target) };
    match moved {
        Ok(_) => Ok(()),
        Err(e) if e.error.kind() == std::io::ErrorKind::AlreadyExists => Err(exists(path)),
        Err(e) => Err(failed(&e.error)),
    }
}

/// How a picture file is encoded, by the ending of its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// PNG.
    Png,
    /// JPEG.
    Jpeg,
}

impl Encoding {
    /// By the ending of the name.
    pub fn of(path: &Path) -> Result<Self, Failure> {
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        match ending.as_deref() {
            Some("png") => Ok(Encoding::Png),
            Some("jpg" | "jpeg") => Ok(Encoding::Jpeg),
            _ => Err(Failure::trouble(format!(
                "{} ends in neither .png nor .jpg, so it is not clear how to write the picture. Give it one of the two endings.",
                told(path)
            ))),
        }
    }
    /// The picture's bytes.
    pub fn bytes(self, picture: &Picture) -> Result<Vec<u8>, PictureError> {
        match self {
            Encoding::Png => picture.png(),
            Encoding::Jpeg => picture.jpeg(),
        }
    }
}

/// A path as scripts get it: as it is, but for bytes that are no text, which become U+FFFD.
pub fn named(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

/// A path as messages name it: in one line, whatever bytes it has.
pub fn told(path: &Path) -> String {
    shown_name(&named(path))
}

/// A path as a word of a command that is suggested.
pub fn worded(path: &Path) -> String {
    shown_word(&named(path))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(unix)]
    #[test]
    fn what_is_no_ordinary_file_is_never_written_over() {
        use std::os::unix::fs::FileTypeExt;
        let dir = tempfile::TempDir::new().unwrap();
        let pipe = dir.path().join("pipe.png");
        assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
        let said = write_whole(&pipe, b"x", true).unwrap_err().message.unwrap();
        assert!(said.contains("pipe.png is a folder, a pipe or a device and no ordinary file"), "{said}");
        assert!(pipe.metadata().unwrap().file_type().is_fifo());
        assert!(write_whole(Path::new("/dev/null"), b"x", true).is_err());
    }

    #[cfg(unix)]
    #[test]
    fn a_file_written_over_keeps_its_rights_and_a_link_stays_one() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let dir = tempfile::TempDir::new().unwrap();
        let (file, link) = (dir.path().join("a.png"), dir.path().join("b.png"));
        fs::write(&file, b"old").unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o600)).unwrap();
        symlink(&file, &link).unwrap();
        write_whole(&link, b"new", true).unwrap();
        assert!(link.symlink_metadata().unwrap().is_symlink());
        assert_eq!((fs::read(&file).unwrap(), file.metadata().unwrap().permissions().mode() & 0o777), (b"new".to_vec(), 0o600));
        assert!(write_whole(&file, b"x", false).is_err() && fs::read(&file).unwrap() == b"new");
        fs::remove_file(&file).unwrap();
        let said = write_whole(&link, b"x", true).unwrap_err().message.unwrap();
        assert!(said.contains("a link that leads nowhere") && link.is_symlink() && !file.exists(), "{said}");
    }

    /// Files that a system only pretends to have: their reading may never end.
    #[cfg(target_os = "linux")]
    #[test]
    fn files_of_the_system_are_not_read() {
        for name in ["/proc/kmsg", "/proc/cpuinfo", "/sys/kernel/mm/transparent_hugepage/enabled"] {
            assert!(!Path::new(name).exists() || read(Path::new(name), 1000).is_err(), "{name}");
        }
    }
}
