//! Files and words whose numbers cannot be right: dial files, diaries, settled levels, marks.
use super::*;
use crate::support::pictures;

/// The one line that the run says, its exit status 2.
fn said(desk: &Desk, words: &[&str]) -> String {
    let done = desk.run(words).code(2).stdout("");
    let said = String::from_utf8(done.get_output().stderr.clone()).unwrap();
    assert!(said.starts_with("needleband: ") && said.ends_with(".\n") && said.lines().count() == 1, "{said:?}");
    said
}

#[test]
fn numbers_that_are_none_end_the_run_with_a_sentence() {
    let desk = Desk::new();
    let whole = fs::read_to_string(desk.path("oil.json")).unwrap();
    let at = whole.find("\"value\": ").unwrap() + 9;
    let end = at + whole[at..].find(',').unwrap();
    for number in ["NaN", "Infinity", "-Infinity", "1e999", "-1e999", "null", "\"80\"", "1e308"] {
        fs::write(desk.path("bad.json"), format!("{}{number}{}", &whole[..at], &whole[end..])).unwrap();
        let words = said(&desk, &["read", "--dial", "bad.json", "photos"]);
        assert!(words.contains("bad.json: The dial file") || words.contains("bad.json: The file is not a dial file"), "{number}: {words}");
        assert!(words.contains("calibrate the dial again") || words.contains("Calibrate again"), "{number}: {words}");
        // no number of a settled level either
        fs::write(desk.path("run.json"), format!("{{\"format_version\":1,\"level\":{number}}}")).unwrap();
        let words = said(&desk, &["compare", "--before", "run.json", "--after", "run.json"]);
        assert!(words.contains("is not what settle --json writes"), "{number}: {words}");
        // a line of a diary costs itself: nothing is left to tell here
        fs::write(desk.path("d.jsonl"), format!("{{\"format\":\"needleband-diary\",\"format_version\":{number}}}\n")).unwrap();
        desk.run(&["stages", "--diary", "d.jsonl"]).code(predicate::ne(0)).stdout("");
    }
}

/// A dial that reaches behind the camera, where the picture's coordinates are no numbers, and a picture of one pixel's width.
#[test]
fn a_dial_that_no_camera_saw_is_refused() {
    let desk = Desk::new();
    let mut dial: serde_json::Value = serde_json::from_slice(&fs::read(desk.path("oil.json")).unwrap()).unwrap();
    dial["face"]["plane"][2] = serde_json::json!([1.0, 0.0, 1.0]);
    fs::write(desk.path("behind.json"), dial.to_string()).unwrap();
    let words = said(&desk, &["read", "--dial", "behind.json", "photos"]);
    assert!(words.contains("lies partly behind the camera") && words.contains("calibrate the dial again"), "{words}");
    let mut jpeg = Vec::new();
    image::codecs::jpeg::JpegEncoder::new(&mut jpeg).encode(&[90; 3 * 64], 1, 64, image::ExtendedColorType::Rgb8).unwrap();
    let mut dial: serde_json::Value = serde_json::from_slice(&fs::read(desk.path("oil.json")).unwrap()).unwrap();
    dial["face"]["width"] = 1.into();
    dial["face"]["height"] = 64.into();
    dial["face"]["jpeg_base64"] = base64::Engine::encode(&base64::engine::general_purpose::STANDARD, jpeg).into();
    fs::write(desk.path("thin.json"), dial.to_string()).unwrap();
    let words = said(&desk, &["read", "--dial", "thin.json", "photos"]);
    assert!(words.contains("1 x 64 px shows no dial"), "{words}");
}

#[test]
fn other_versions_are_named_and_older_ones_are_read() {
    let desk = Desk::new();
    let newer = fs::read_to_string(desk.path("oil.json")).unwrap().replacen(
        &format!("\"format_version\": {}", needleband::dial::FORMAT_VERSION),
        "\"format_version\": 99",
        1,
    );
    fs::write(desk.path("newer.json"), newer).unwrap();
    for words in [
        vec!["read", "--dial", "newer.json", "photos"],
        vec!["check", "--dial", "newer.json"],
        vec!["plan", "--dial", "newer.json", "--drop", "5C"],
    ] {
        let words = said(&desk, &words);
        assert!(words.contains("format version 99, and this program reads versions 1 to") && words.contains("Use the version"), "{words}");
    }
    for kept in ["dial_v1.json", "dial_v2.json"] {
        let kept = fs::canonicalize(format!("tests/data/{kept}")).unwrap();
        desk.run(&["plan", "--dial", kept.to_str().unwrap(), "--drop", "5C"]).code(predicate::in_iter([0, 1])).stderr("");
    }
}

#[test]
fn marks_twice_out_of_order_or_nowhere_are_one_sentence() {
    let desk = Desk::new();
    let shot = super::super::handmade::printed(90.0, [500.0, 400.0], 300.0, 0.0, 1.0);
    pictures::save(&pictures::of(&shot), desk.path("dial.png"));
    let at = |value: f64| {
        let (x, y) = (3.0 * (value - 80.0)).to_radians().sin_cos();
        format!("{:.1},{:.1}", 500.5 + 300.0 * x, 400.5 - 300.0 * y)
    };
    let mark = |value: &str, place: f64| format!("--mark={value}@{}", at(place));
    let cases: [(&[String], &str); 5] = [
        (&[mark("40", 40.0), mark("80", 80.0), mark("80", 80.0), mark("120", 120.0)], "same value or stand at the same place"),
        (&[mark("40", 40.0), mark("80", 80.0), mark("80", 100.0), mark("120", 120.0)], "same value or stand at the same place"),
        (&[mark("40", 40.0), mark("100", 60.0), mark("60", 80.0), mark("120", 120.0)], "stand in the wrong order"),
        (&[mark("40", 40.0)], "two known values"),
        (&["--mark=40@1e300,5".into(), "--mark=80@2,-1e300".into(), "--mark=120@7,7".into()], ""),
    ];
    for (marks, words) in cases {
        let mut typed = vec!["calibrate", "dial.png", "--unit", "C", "--out", "new.json"];
        typed.extend(marks.iter().map(String::as_str));
        let heard = said(&desk, &typed);
        assert!(heard.contains(words), "{marks:?}: {heard}");
        assert!(!desk.path("new.json").exists());
    }
}
