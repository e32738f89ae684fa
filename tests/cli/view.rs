//! The page of readings, and photos left out by hand with a reason that every result tells.
use super::{Desk, contains};
use predicates::prelude::*;
use std::fs;

fn shipped(path: &str) -> String {
    format!("{}/{path}", env!("CARGO_MANIFEST_DIR"))
}

/// A desk whose folder `b` holds three readable samples and one without a needle.
fn desk() -> Desk {
    let desk = Desk::new();
    fs::create_dir(desk.path("b")).unwrap();
    for (from, to) in [("before/1.jpg", "1.jpg"), ("before/2.jpg", "2 <b>&.jpg"), ("before/3.jpg", "3.jpg"), ("no-needle.jpg", "4.jpg")] {
        fs::copy(shipped(&format!("samples/gearbox-oil/{from}")), desk.path("b").join(to)).unwrap();
    }
    fs::copy(shipped("calibration/gearbox-oil.json"), desk.path("oil.json")).unwrap();
    desk
}

#[test]
fn a_page_holds_all_it_shows() {
    let desk = desk();
    let base = ["view", "--dial", "oil.json", "b", "--out"];
    desk.run(&[&base[..], &["r.html", "--limit", "120C"]].concat()).code(1).stdout(contains("Page: r.html"));
    let page = fs::read_to_string(desk.path("r.html")).unwrap();
    assert!(page.contains("<h1>4 photos, 3 read: 90.9"), "the answer stands first");
    assert_eq!((page.matches("<article").count(), page.matches("data:image/jpeg;base64,").count()), (4, 4));
    assert!(page.contains("90.9 ± 0.1 °C") && page.contains("Not read") && page.contains("no needle could be told"), "values and reasons");
    assert!(page.contains("how well the dial was read, not how right the gauge is") && page.contains("the limit of 120 °C"));
    assert!(page.contains("29.1 ± 0.1 °C below the limit of 120 °C (248 °F)"), "{page}");
    // nothing is fetched, nothing runs, and a name stays a name
    assert!(page.contains("default-src 'none'") && !page.contains("<script") && !page.contains("<b>&"), "{page:.2000}");
    assert!(page.contains("2 &lt;b&gt;&amp;.jpg"));
    for outside in ["http:", "https:", "src=\"/", "url("] {
        assert!(!page.contains(outside), "{outside}");
    }
    desk.run(&[&base[..], &["r.html"]].concat()).code(2).stderr(contains("r.html exists already").and(contains("--force")));
    desk.run(&[&base[..], &["r.txt"]].concat()).code(2).stderr(contains("does not end in .html"));
    desk.run(&base[..4]).code(2).stderr(contains("--out"));
}

#[test]
fn a_photo_left_out_by_hand_is_told_with_its_reason_everywhere() {
    let desk = desk();
    let read = |words: &[&str]| desk.run(&[&["read", "--dial", "oil.json", "b/1.jpg"], words].concat());
    read(&[]).code(0).stdout(contains("90.9"));
    desk.run(&["leave-out", "b/1.jpg", "--reason", "sun, on the \"glass\""]).code(0).stdout(contains("b/1.jpg is left out: sun, on the"));
    let reason = "Left out by hand: sun, on the \"glass\".";
    read(&[]).code(1).stdout(contains(reason).and(contains("--take-back")).and(contains("90.9").not()));
    let line = desk.lines(&["read", "--dial", "oil.json", "--json", "b/1.jpg"], 1);
    assert_eq!((line[0].outcome.as_str(), line[0].reason.as_deref(), line[0].value), ("refused", Some("left_out"), None));
    desk.run(&["compare", "--dial", "oil.json", "--before", "b", "--after", &shipped("samples/gearbox-oil/after")])
        .code(1)
        .stdout(contains("2 of 4 photos read").and(contains(reason)));
    desk.run(&["note", "--diary", "d.jsonl", "--stage", "stock", "--dial", "oil.json", "b"]).code(1).stdout(contains(reason));
    desk.run(&["stages", "--diary", "d.jsonl"]).stdout(contains(reason));
    desk.run(&["view", "--dial", "oil.json", "b", "--out", "r.html"]).code(1);
    let page = fs::read_to_string(desk.path("r.html")).unwrap();
    assert!(page.contains("4 photos, 2 read") && page.contains("1 left out by hand") && page.contains("Left out by hand: sun, on the"));
    // under another name in its folder it stays left out; counted again it is as before
    fs::rename(desk.path("b/1.jpg"), desk.path("b/one.jpg")).unwrap();
    desk.run(&["read", "--dial", "oil.json", "b/one.jpg"]).code(1);
    desk.run(&["leave-out", "b"]).code(0).stdout(contains("1.jpg: sun, on the"));
    desk.run(&["leave-out", "b/one.jpg", "--take-back"]).code(0).stdout(contains("counts again"));
    desk.run(&["read", "--dial", "oil.json", "b/one.jpg"]).code(0).stdout(contains("90.9"));
    desk.run(&["leave-out", "b"]).code(0).stdout(contains("No photo is left out here"));
    // the list only grows
    let list = fs::read_to_string(desk.path("b/left-out.csv")).unwrap();
    assert!(list.starts_with("photo,photo_id,reason,written_at\r\n") && list.lines().count() == 3, "{list}");
    desk.run(&["leave-out", "b/one.jpg", "--reason", "=1+1"]).code(2).stderr(contains("begin the reason with a letter"));
    // a list that nobody can read hides no photo that was left out
    fs::write(desk.path("b/left-out.csv"), "mine\n").unwrap();
    desk.run(&["read", "--dial", "oil.json", "b/one.jpg"]).code(1).stdout(contains("not known whether"));
    desk.run(&["leave-out", "b/one.jpg", "--reason", "x"]).code(2).stderr(contains("left-out.csv"));
}
