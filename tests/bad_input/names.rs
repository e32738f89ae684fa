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
        for words in [vec!["read", "--dial", "oil.json"], vec!["ticks"], vec!["check", "--dial"]] {
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
        let done = command().current_dir(desk.dir.path()).args(["check", "--json", "--dial"]).arg(&out).assert().code(0);
        let told: serde_json::Value = serde_json::from_slice(&done.get_output().stdout).unwrap();
        assert_eq!(told["dial"], "gearbox oil");
    }
}

/// Whatever a command says of its files, on either stream, a name with a line break and a control byte neither breaks the line nor steers
/// the terminal.
#[cfg(unix)]
#[test]
fn no_command_lets_a_name_break_its_lines() {
    let desk = Desk::new();
    let (raw, shown) = ("two\n\u{1b}[2Jlines", "two\\u{a}\\u{1b}[2Jlines");
    let name = |ending: &str| format!("{raw}{ending}");
    let [dial, photo, other, diary, text] = [".json", ".png", "-2.json", ".jsonl", ".csv"].map(name);
    for (from, to) in [("oil.json", &dial), ("photos/b.png", &photo)] {
        fs::copy(desk.path(from), desk.path(to)).unwrap();
    }
    fs::copy("samples/gearbox-oil/reference.jpg", desk.path(&name("-dial.jpg"))).unwrap();
    let reference = name("-dial.jpg");
    fs::copy("calibration/gearbox-oil.json", desk.path("gear.json")).unwrap();
    fs::copy("samples/gearbox-oil/before/1.jpg", desk.path(&name("-1.jpg"))).unwrap();
    let (shot, page, folder) = (name("-1.jpg"), name(".html"), name("-folder"));
    fs::create_dir(desk.path(&folder)).unwrap();
    fs::write(desk.path(&text), "no time\nat all\n").unwrap();
    let (drawn, plain) = (name("-drawn.png"), name(".txt"));
    let tick = ["--tick", "1=40", "--tick", "21=80", "--tick", "41=120"];
    let note =
        |stage: &'static str, dial: &str| ["note", "--diary", &diary, "--stage", stage, "--dial", dial, &shot].map(String::from).to_vec();
    let of = |words: &[&str]| words.iter().map(|w| w.to_string()).collect::<Vec<_>>();
    // what is said well, then what goes wrong; each with its status
    let runs: Vec<(Vec<String>, i32)> = vec![
        (of(&["refine", "--dial", &dial, "--stiction", "1.5C", "--out", &other]), 0),
        (of(&["check", "--dial", &dial, "--picture", &drawn]), 0),
        (of(&["ticks", &reference, "--picture", &drawn, "--force"]), 0),
        (of(&["ticks", &reference, "--picture", &drawn]), 2),
        (of(&[&["calibrate", &reference, "--unit", "C", "--out", &name("-3.json")], &tick[..]].concat()), 0),
        (note("stock", "gear.json"), 0),
        (of(&["report", "--diary", &diary, "--out", &page]), 0),
        (of(&["report", "--diary", &diary, "--out", &name(".md"), "--markdown"]), 0),
        (of(&["manual", &folder]), 0),
        (of(&["read", "--dial", "gear.json", &shot, "--overlay", "."]), 2),
        (of(&["read", "--dial", "gear.json", &shot, "--overlay", &dial]), 2),
        (of(&["read", "--dial", &photo, &shot]), 2),
        (of(&["compare", "--dial", "gear.json", "--before", &shot, "--after", &shot, "--picture", &plain]), 2),
        (of(&["compare", "--dial", "gear.json", "--before", &dial, "--after", &shot]), 2),
        (of(&["settle", "--dial", "gear.json", &shot, "--plot", &plain]), 2),
        (of(&["settle", "--dial", "gear.json", &shot, "--times", &text]), 2),
        (of(&["settle", "--dial", "gear.json", &folder, "--every", "1s"]), 2),
        (of(&["ticks", &photo]), 1),
        (of(&["ticks", &reference, "--picture", &reference]), 2),
        (of(&[&["calibrate", &photo, "--unit", "C", "--out", &name("-4.json")], &tick[..]].concat()), 1),
        (of(&["calibrate", &reference, "--unit", "C", "--tick", "99=40", "--out", &name("-4.json")]), 2),
        (of(&["calibrate", &reference, "--unit", "C", "--mark", "40@1,1", "--out", &name("-4.json")]), 2),
        (of(&[&["calibrate", &reference, "--unit", "C", "--out", &reference], &tick[..]].concat()), 2),
        (of(&["refine", "--dial", &other, "--stiction", "1.5C", "--out", &name("-5.json")]), 2),
        (of(&["refine", "--dial", &dial, "--stiction", "1C", "--out", &other]), 2),
        (note("stock", &dial.replace(".json", "-3.json")), 2),
        (of(&["note", "--diary", &shot, "--stage", "s", "--dial", "gear.json", &shot]), 2),
        (of(&["stages", "--diary", &text]), 2),
        (of(&["stages", "--diary", &name("-none")]), 2),
        (of(&["report", "--diary", &diary, "--out", &page]), 2),
        (of(&["report", "--diary", &diary, "--out", &plain]), 2),
        (of(&["manual", &dial]), 2),
    ];
    for (words, status) in runs {
        let done = command().current_dir(desk.dir.path()).args(&words).assert();
        let output = done.get_output();
        let [out, said] = [&output.stdout, &output.stderr].map(|b| String::from_utf8(b.clone()).unwrap());
        assert_eq!(output.status.code(), Some(status), "{words:?}: {out}{said}");
        let all = format!("{out}{said}");
        assert!(all.contains(shown), "{words:?}: {all:?}");
        assert!(!all.chars().any(|c| c.is_control() && c != '\n') && !all.contains("two\n"), "{words:?}: {all:?}");
        // a message is one line
        assert!(said.lines().all(|l| l.starts_with("needleband: ")), "{words:?}: {said:?}");
    }
}
