//! What is no ordinary file, or is too large, is refused before it is read.
use super::{Desk, contains};
use predicates::prelude::*;
use std::fs::{self, File};

#[cfg(unix)]
#[test]
fn pipes_devices_and_folders_are_not_read() {
    use std::process::Command;
    let desk = Desk::new();
    // nobody writes into it: whoever opens it waits for ever
    assert!(Command::new("mkfifo").arg(desk.path("pipe.jpg")).status().unwrap().success());
    fs::create_dir(desk.path("folder.json")).unwrap();
    let said = |name: &str| contains(format!("{name} could not be opened (it is a folder, a pipe or a device and no ordinary file)"));
    for name in ["pipe.jpg", "/dev/zero", "folder.json"] {
        desk.run(&["read", "--dial", name, "photos"]).code(2).stdout("").stderr(said(name));
        desk.run(&["stages", "--diary", name]).code(2).stdout("").stderr(said(name));
    }
    for name in ["pipe.jpg", "/dev/zero"] {
        desk.run(&["read", "--dial", "oil.json", name]).code(2).stderr(said(name));
        desk.run(&["ticks", name]).code(2).stdout("").stderr(said(name));
        desk.run(&["note", "--diary", name, "--stage", "s", "--dial", "oil.json", "photos"]).code(2).stderr(said(name));
        let words = ["settle", "--dial", "oil.json", "photos", "--times", name];
        desk.run(&words).code(2).stderr(contains("no ordinary file"));
    }
}

#[test]
fn files_beyond_the_limit_are_refused() {
    let desk = Desk::new();
    // holes: no disk is needed
    let large = |name: &str, bytes: u64| File::create(desk.path(name)).unwrap().set_len(bytes).unwrap();
    large("huge.jpg", 256 * 1024 * 1024 + 1);
    large("huge.json", needleband::dial::MAX_FILE_BYTES + 1);
    let said = |bytes: u64| contains(format!("it is larger than the limit of {bytes} bytes")).and(contains("Check").or(contains("Give")));
    desk.run(&["ticks", "huge.jpg"]).code(2).stdout("").stderr(said(256 * 1024 * 1024));
    desk.run(&["read", "--dial", "huge.json", "photos"]).code(2).stdout("").stderr(said(needleband::dial::MAX_FILE_BYTES));
}

/// Names on standard input: a line each, or ended by zero bytes; the same answers whatever the number at once.
#[test]
fn a_list_on_standard_input_is_read_in_its_order() {
    let desk = Desk::new();
    let answer = |words: &[&str], list: &str| {
        let words = [&["read", "--dial", "oil.json", "--json"], words].concat();
        let done = super::command().current_dir(desk.dir.path()).args(words).write_stdin(list).assert();
        (done.get_output().status.code(), String::from_utf8(done.get_output().stdout.clone()).unwrap())
    };
    let expected = answer(&["photos/b.png", "photos/a.jpg"], "");
    assert!(expected.0 == Some(1) && expected.1.lines().count() == 2, "{expected:?}");
    for (jobs, list) in
        [("1", "photos/b.png\nphotos/a.jpg\n"), ("2", "photos/b.png\0photos/a.jpg\0"), ("3", "photos/b.png\r\nphotos/a.jpg")]
    {
        assert_eq!(answer(&["-", "--jobs", jobs], list), expected);
    }
    // the other commands that read many photos take the list and the number, too
    let said = |words: &[&str], list: &str| {
        let done = super::command().current_dir(desk.dir.path()).args(words).write_stdin(list).assert();
        let o = done.get_output();
        (o.status.code(), String::from_utf8([&o.stdout[..], &o.stderr].concat()).unwrap())
    };
    for words in [
        &["check", "--dial", "oil.json", "--json"][..],
        &["settle", "--dial", "oil.json", "--every", "1s"],
        &["note", "--diary", "d.jsonl", "--stage", "s", "--dial", "oil.json"],
        &["compare", "--dial", "oil.json", "--after", "photos/b.png", "--before"],
    ] {
        let named = said(&[words, &["photos/b.png", "photos/a.jpg"]].concat(), "");
        assert!(named.0 == Some(1) && !named.1.is_empty(), "{named:?}");
        assert_eq!(said(&[words, &["-", "--jobs", "1"]].concat(), "photos/b.png\nphotos/a.jpg\n"), named, "{words:?}");
    }
    desk.run(&["read", "--dial", "oil.json", "-"]).code(2).stdout("").stderr(contains("standard input is empty"));
}
