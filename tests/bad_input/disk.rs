//! A full disk and a place that cannot be written: said, status 2, and what was there before is there after.
use super::*;
use std::path::Path;

fn litter(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned());
    names.filter(|n| n.starts_with(".needleband")).collect()
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_standard_output_is_status_2_for_every_command() {
    let desk = Desk::new();
    for words in [
        vec!["read", "--dial", "oil.json", "photos"],
        vec!["read", "--dial", "oil.json", "photos", "--json"],
        vec!["plan", "--dial", "oil.json", "--drop", "5C"],
        vec!["check", "--dial", "oil.json"],
        vec!["check", "--dial", "oil.json", "--json"],
        vec!["refine", "--dial", "oil.json", "--stiction", "1C", "--out", "two.json"],
        vec!["--help"],
        vec!["--version"],
    ] {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let done = std::process::Command::new(assert_cmd::cargo::cargo_bin("needleband"))
            .current_dir(desk.dir.path())
            .args(&words)
            .stdout(full)
            .output()
            .unwrap();
        let said = String::from_utf8(done.stderr).unwrap();
        assert_eq!(done.status.code(), Some(2), "{words:?}: {said}");
        let expected = "needleband: The result could not be written to standard output (No space left on device), so it is not complete.";
        assert!(said.starts_with(expected) && said.lines().count() == 1, "{words:?}: {said}");
    }
}

/// Runs the command where no file may grow beyond `blocks` of 512 bytes: a write fails in the middle, as on a full disk.
#[cfg(target_os = "linux")]
fn cramped(desk: &Desk, blocks: u64, words: &[&str]) -> assert_cmd::assert::Assert {
    let script = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"");
    assert_cmd::Command::new("bash")
        .current_dir(desk.dir.path())
        .args(["--posix", "-c", &script])
        .arg(assert_cmd::cargo::cargo_bin("needleband"))
        .args(words)
        .assert()
}

#[cfg(target_os = "linux")]
#[test]
fn a_disk_that_fills_up_leaves_the_old_file_whole_and_no_litter() {
    let desk = Desk::new();
    let old = fs::read(desk.path("oil.json")).unwrap();
    fs::write(desk.path("new.json"), &old).unwrap();
    let said = |name: &str| contains(format!("{name} could not be written (File too large)")).and(contains("Check the folder"));
    let refine = ["refine", "--dial", "oil.json", "--stiction", "1.5C", "--out", "new.json", "--force"];
    cramped(&desk, 4, &refine).code(2).stdout("").stderr(said("new.json"));
    assert!(fs::read(desk.path("new.json")).unwrap() == old);
    // a file that was not there does not come to be
    cramped(&desk, 4, &["refine", "--dial", "oil.json", "--stiction", "1.5C", "--out", "other.json"]).code(2);
    assert!(!desk.path("other.json").exists());
    // a drawing is trouble of its own: the readings are there
    fs::write(desk.path("scale.png"), "mine").unwrap();
    cramped(&desk, 4, &["check", "--dial", "oil.json", "--picture", "scale.png"]).code(2).stderr(contains("scale.png"));
    assert_eq!(fs::read(desk.path("scale.png")).unwrap(), b"mine");
    let words = ["read", "--dial", "oil.json", "photos/b.png", "--overlay", "drawn", "--json"];
    let done = cramped(&desk, 4, &words).code(2).stderr(said("drawn/b.png"));
    assert!(!done.get_output().stdout.is_empty() && !desk.path("drawn/b.png").exists());
    assert_eq!([litter(desk.dir.path()), litter(&desk.path("drawn"))].concat(), Vec::<String>::new());
}

#[cfg(target_os = "linux")]
#[test]
fn a_note_that_does_not_fit_on_the_disk_is_taken_back() {
    let desk = Desk::new();
    let photo = fs::canonicalize("samples/gearbox-oil/before/1.jpg").unwrap();
    let dial = fs::canonicalize("calibration/gearbox-oil.json").unwrap();
    let words =
        |stage: &'static str| ["note", "--diary", "d.jsonl", "--stage", stage, "--dial", dial.to_str().unwrap(), photo.to_str().unwrap()];
    desk.run(&words("stock")).code(0);
    let old = fs::read(desk.path("d.jsonl")).unwrap();
    let blocks = old.len() as u64 / 512 + 2;
    cramped(&desk, blocks, &words("cooler")).code(2).stdout("").stderr(contains("so nothing was noted"));
    assert!(fs::read(desk.path("d.jsonl")).unwrap() == old);
    // and with room it goes on
    desk.run(&words("cooler")).code(0);
    assert!(fs::read(desk.path("d.jsonl")).unwrap().starts_with(&old));
}

#[cfg(target_os = "linux")]
#[test]
fn a_place_that_cannot_be_written_is_said() {
    let desk = Desk::new();
    fs::write(desk.path("file"), "x").unwrap();
    for place in ["/proc/new.json", "file/new.json", "no/such/folder/new.json"] {
        let refine = ["refine", "--dial", "oil.json", "--stiction", "1.5C", "--force", "--out", place];
        let said = contains(format!("{place} could not be written (")).and(contains("Check the folder and its rights."));
        desk.run(&refine).code(2).stdout("").stderr(said);
    }
    desk.run(&["read", "--dial", "oil.json", "photos", "--overlay", "/proc/drawn"]).code(2).stderr(contains("could not be made"));
    let words = ["note", "--diary", "/proc/d.jsonl", "--stage", "s", "--dial", "oil.json", "photos/b.png"];
    desk.run(&words).code(1);
}

/// A folder without the right to write. Root may write everywhere, so that there is nothing to see; the test above has a place where
/// root may not either.
#[cfg(unix)]
#[test]
fn a_read_only_folder_keeps_its_files() {
    use std::os::unix::fs::PermissionsExt;
    let desk = Desk::new();
    let folder = desk.path("locked");
    fs::create_dir(&folder).unwrap();
    let old = fs::read(desk.path("oil.json")).unwrap();
    fs::write(folder.join("oil.json"), &old).unwrap();
    let rights = |mode| fs::set_permissions(&folder, fs::Permissions::from_mode(mode)).unwrap();
    rights(0o555);
    let root = fs::write(folder.join("probe"), "x").is_ok();
    if root {
        eprintln!("skipped: this user may write everywhere");
    } else {
        let refine = ["refine", "--dial", "oil.json", "--stiction", "1.5C", "--out", "locked/oil.json", "--force"];
        desk.run(&refine).code(2).stdout("").stderr(contains("locked/oil.json could not be written (Permission denied)"));
        assert!(fs::read(folder.join("oil.json")).unwrap() == old);
        assert_eq!(litter(&folder), Vec::<String>::new());
    }
    rights(0o755);
}
