//! File names of any kind: shown without steering the terminal, and always valid JSON.
use super::*;
use std::ffi::OsString;

#[cfg(unix)]
fn odd() -> Vec<OsString> {
    use std::os::unix::ffi::OsStringExt;
    let mut all: Vec<OsString> =
        ["a photo.png", "two\nlines.png", "quote\".png", "back\\slash.png", "tab\t.png", "\u{1b}[2J.png", "größe °C.png", "-n.png"]
            .map(OsString::from)
            .to_vec();
    all.extend([b"caf\xe9.png".as_slice(), b"\xff\xfe\x80.png", b"half\xc3.png"].map(|b| OsString::from_vec(b.to_vec())));
    all
}

#[cfg(unix)]
#[test]
fn every_output_stays_one_line_a_photo_and_valid_json() {
    let desk = Desk::new();
    fs::create_dir(desk.path("odd")).unwrap();
    for name in odd() {
        fs::copy(desk.path("photos/b.png"), desk.path("odd").join(name)).unwrap();
    }
    let n = odd().len();
    let lines = desk.lines(&["read", "--dial", "oil.json", "--json", "odd"], 1);
    assert_eq!(lines.len(), n);
    let names: Vec<&str> = lines.iter().map(|l| l.photo.as_str()).collect();
    // what is text comes back as it is; bytes that are no text become U+FFFD
    for known in ["odd/a photo.png", "odd/two\nlines.png", "odd/quote\".png", "odd/\u{1b}[2J.png", "odd/caf\u{fffd}.png"] {
        assert!(names.contains(&known), "{known:?} in {names:?}");
    }
    let text = String::from_utf8(desk.run(&["read", "--dial", "oil.json", "odd"]).code(1).get_output().stdout.clone()).unwrap();
    assert!(!text.chars().any(|c| c.is_control() && c != '\n'), "{text:?}");
    assert_eq!(text.lines().filter(|l| l.contains(".png") && l.contains("not read")).count(), n, "{text}");
    // the overlays of all of them, each in a file of its own
    desk.run(&["read", "--dial", "oil.json", "odd", "--overlay", "drawn"]).code(1);
    assert_eq!(fs::read_dir(desk.path("drawn")).unwrap().count(), n);
}

#[cfg(unix)]
#[test]
fn messages_name_such_a_file_in_one_line() {
    use std::os::unix::ffi::OsStringExt;
    let desk = Desk::new();
    for (name, shown) in [(b"no\nsuch\x1b[31m.jpg".to_vec(), "no\\u{a}such\\u{1b}[31m.jpg"), (b"caf\xe9.jpg".to_vec(), "caf\u{fffd}.jpg")] {
        let file = OsString::from_vec(name);
        for words in [vec!["read", "--dial", "oil.json"], vec!["ticks"], vec!["check"]] {
            let done = command().current_dir(desk.dir.path()).args(words).arg(&file).assert().code(2);
            let said = String::from_utf8(done.get_output().stderr.clone()).unwrap();
            assert!(said.lines().count() == 1 && said.contains(shown), "{said:?}");
        }
    }
}

/// Such a path works wherever a file is read or written.
#[cfg(unix)]
#[test]
fn such_names_are_read_and_written() {
    use std::os::unix::ffi::OsStringExt;
    let desk = Desk::new();
    for name in [b"oil two\n\"x\".json".to_vec(), b"\xffoil.json".to_vec()] {
        let out = OsString::from_vec(name);
        let refine = ["refine", "--dial", "oil.json", "--stiction", "1.5C", "--out"];
        command().current_dir(desk.dir.path()).args(refine).arg(&out).assert().code(0);
        let done = command().current_dir(desk.dir.path()).args(["check", "--json"]).arg(&out).assert().code(0);
        let told: serde_json::Value = serde_json::from_slice(&done.get_output().stdout).unwrap();
        assert_eq!(told["dial"], "gearbox oil");
    }
}
