//! The calibration page: who may ask, and a whole calibration in a real browser, by hand and by keyboard alone.
use super::support::browser::{Browser, request};
use assert_cmd::cargo::cargo_bin;
use serde_json::{Value, json};
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use tempfile::TempDir;

const PHOTO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/samples/gearbox-oil/reference.jpg");
/// Code points of keys (W3C WebDriver, "Keyboard actions").
const RIGHT: &str = "\u{e014}";
const UP: &str = "\u{e013}";
const TAB: &str = "\u{e004}";
const ENTER: &str = "\u{e007}";
const BACKSPACE: &str = "\u{e003}";

/// A served page.
struct Served {
    child: Child,
    out: BufReader<std::process::ChildStdout>,
    link: String,
    /// What was printed before the link.
    said: String,
    dir: TempDir,
}

impl Served {
    fn new(words: &[&str]) -> Self {
        Self::of(&[&[PHOTO], words].concat())
    }
    /// Without a photo, unless the words name one.
    fn of(words: &[&str]) -> Self {
        let dir = TempDir::new().unwrap();
        let mut command = Command::new(cargo_bin!("needleband"));
        command.current_dir(dir.path()).args(["calibrate", "--page", "--out", "page.json", "--name", "oil"]).args(words);
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let (mut line, mut said) = (String::new(), String::new());
        let link = loop {
            said += &line;
            line.clear();
            assert!(out.read_line(&mut line).unwrap() > 0, "no link was printed");
            if line.trim().starts_with("http://") {
                break line.trim().to_string();
            }
        };
        Self { child, out, link, said, dir }
    }
    fn port(&self) -> u16 {
        self.link.strip_prefix("http://127.0.0.1:").unwrap().split('/').next().unwrap().parse().unwrap()
    }
    fn path(&self, rest: &str) -> String {
        format!("/{}/{rest}", self.link.split('/').nth(3).unwrap())
    }
    fn file(&self) -> PathBuf {
        self.dir.path().join("page.json")
    }
    /// Status and what else was printed, once it has ended.
    fn ended(&mut self) -> (i32, String) {
        let mut said = String::new();
        self.out.read_to_string(&mut said).unwrap();
        self.child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
        (self.child.wait().unwrap().code().unwrap(), said)
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        // a test that has failed leaves nothing behind
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What the command line writes for the same marks.
fn typed(words: &[String]) -> Vec<u8> {
    let dir = TempDir::new().unwrap();
    let mut command = Command::new(cargo_bin!("needleband"));
    command.current_dir(dir.path()).args(["calibrate", PHOTO, "--unit", "C", "--name", "oil", "--out", "typed.json"]).args(words);
    let done = command.output().unwrap();
    assert!(done.status.success(), "{words:?}: {}", String::from_utf8_lossy(&done.stderr));
    fs::read(dir.path().join("typed.json")).unwrap()
}

fn interrupt(child: &Child) {
    assert!(Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap().success());
}

#[test]
fn only_the_own_page_is_answered_and_control_c_ends_it_without_a_file() {
    let mut served = Served::new(&["--unit", "C"]);
    let port = served.port();
    let origin = format!("http://127.0.0.1:{port}");
    let own = [("Origin", origin.as_str()), ("Content-Type", "application/json")];
    let get = |path: &str, headers: &[(&str, &str)]| request(port, "GET", path, headers, "").0;
    let (status, head, page) = request(port, "GET", &served.path(""), &[], "");
    assert!(status == 200 && page.contains("<canvas") && head.to_lowercase().contains("content-security-policy: default-src 'none'"));
    assert!(!page.contains("//") && !head.contains("access-control-allow"), "the page names no other address");
    // no page of another port may take a part of this one in (Fetch Standard, Cross-Origin-Resource-Policy), nor learn that one is refused
    let kept = |head: &str| head.to_lowercase().contains("cross-origin-resource-policy: same-origin");
    assert!(kept(&head) && kept(&request(port, "GET", &served.path("photo"), &[], "").1), "{head}");
    let same_site = [("Sec-Fetch-Site", "same-site"), ("Sec-Fetch-Mode", "no-cors"), ("Sec-Fetch-Dest", "image")];
    let (status, refused, _) = request(port, "GET", &served.path("photo"), &same_site, "");
    assert!(status == 403 && kept(&refused), "{refused}");
    for part in ["main.js", "model.js", "stage.js", "box.js", "panel.js", "page.css", "photo", "begin", "found"] {
        assert_eq!(get(&served.path(part), &[]), 200, "{part}");
    }
    // a wrong token, none, and paths outside
    for path in ["/", "/photo", "/0123456789abcdef0123456789abcdef/", "/../page.json", "/favicon.ico"] {
        assert_eq!(get(path, &[]), 404, "{path}");
    }
    for rest in ["page.json", "../page.json", "..%2f..%2fetc%2fpasswd", "photo/more", "assets/main.js"] {
        assert_eq!(get(&served.path(rest), &[]), 404, "{rest}");
    }
    // a foreign name that points here, and a foreign page
    for host in ["evil.example", &format!("evil.example:{port}"), "127.0.0.1:1"] {
        assert_eq!(get(&served.path(""), &[("Host", host)]), 403, "{host}");
    }
    let marks = json!({ "unit": "C", "name": "oil", "pivot": null, "marks": [] }).to_string();
    for foreign in ["http://evil.example", "null", "http://127.0.0.1:1"] {
        let headers = [("Origin", foreign), ("Content-Type", "application/json")];
        assert_eq!(request(port, "POST", &served.path("save"), &headers, &marks).0, 403, "{foreign}");
    }
    assert_eq!(request(port, "POST", &served.path("save"), &own[1..], &marks).0, 403, "a POST without an origin");
    // what is no list of marks, is too long, or is asked the wrong way
    assert_eq!(request(port, "POST", &served.path("fit"), &own, "{}").0, 422);
    assert_eq!(request(port, "POST", &served.path("fit"), &own, "nonsense").0, 400);
    assert_eq!(request(port, "POST", &served.path("fit"), &own[..1], &marks).0, 415);
    assert_eq!(request(port, "POST", &served.path("fit"), &own, &format!("\"{}\"", "a".repeat(70_000))).0, 413);
    assert_eq!(get(&served.path("save"), &[]), 405);
    let (status, _, answer) = request(port, "POST", &served.path("save"), &own, &marks);
    assert!(status == 200 && answer.contains("No mark given; a scale needs at least two"), "{answer}");
    assert!(!served.file().exists());
    interrupt(&served.child);
    let (code, said) = served.ended();
    assert!(code == 1 && said.contains("ended before a dial file was written"), "{code} {said}");
    assert_eq!(fs::read_dir(served.dir.path()).unwrap().count(), 0);
}

/// What is asked of the entries stands in the answer to each fit, and nothing is written until it is answered.
#[test]
fn entries_are_questioned_before_the_page_writes() {
    let mut served = Served::new(&["--unit", "C"]);
    let port = served.port();
    let origin = format!("http://127.0.0.1:{port}");
    let own = [("Origin", origin.as_str()), ("Content-Type", "application/json")];
    let found: Value = serde_json::from_str(&request(port, "GET", &served.path("found"), &[], "").2).unwrap();
    let dial = &found["dials"][0];
    let mark = |(tick, value): (usize, f64)| {
        let place = &dial["ticks"][tick - 1]["place"];
        json!({ "value": value, "x": place[0], "y": place[1] })
    };
    // 100 is printed at tick 31
    let marks: Vec<Value> = [(1, 40.0), (11, 60.0), (21, 80.0), (31, 110.0), (41, 120.0)].map(mark).to_vec();
    let body = |anyway: bool| json!({ "unit": "C", "name": "oil", "pivot": dial["pivot"], "marks": marks, "anyway": anyway }).to_string();
    let ask = |what: &str, anyway: bool| -> Value {
        serde_json::from_str(&request(port, "POST", &served.path(what), &own, &body(anyway)).2).unwrap()
    };
    let fit = ask("fit", false);
    assert!(fit["questions"][0]["text"].as_str().unwrap().contains("110 is odd, and 100 would fit"), "{fit}");
    assert_eq!(fit["questions"][0]["value"], 110.0);
    assert!(ask("save", false)["error"].as_str().unwrap().contains("110 is odd") && !served.file().exists());
    assert!(ask("save", true)["text"].as_str().unwrap().contains("Questioned: "));
    assert_eq!(served.ended().0, 0);
    assert!(fs::read_to_string(served.file()).unwrap().contains("110 is odd"));
}

/// Requests of which no more comes, in the head and in the body: neither keeps the page from ending.
#[test]
fn control_c_ends_the_page_with_requests_half_sent() {
    let mut served = Served::new(&["--unit", "C"]);
    let half = |text: String| {
        let mut stream = TcpStream::connect(("127.0.0.1", served.port())).unwrap();
        stream.write_all(text.as_bytes()).unwrap();
        stream
    };
    let head = half("GET / HTTP/1.1\r\nHost: 127.0.0.1".to_string());
    let port = served.port();
    let body = half(format!(
        "POST {} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\nContent-Type: application/json\r\nContent-Length: 99\r\n\r\n{{",
        served.path("fit")
    ));
    assert_eq!(request(port, "GET", &served.path("found"), &[], "").0, 200, "the page answers others meanwhile");
    interrupt(&served.child);
    let (code, said) = served.ended();
    assert!(code == 1 && said.contains("ended before a dial file was written"), "{code} {said}");
    drop((head, body));
}

/// A request that never comes to its end is given up by the page itself.
#[test]
fn a_request_half_sent_is_not_waited_for() {
    let served = Served::new(&["--unit", "C"]);
    let mut stream = TcpStream::connect(("127.0.0.1", served.port())).unwrap();
    stream.write_all(b"GET / HTTP/1.1\r\nHost: 127.0.0.1").unwrap();
    let mut answer = Vec::new();
    // without an end to it this would read for ever
    let _ = stream.read_to_end(&mut answer);
    assert!(!answer.starts_with(b"HTTP/1.1 200"));
}

#[test]
fn a_dial_calibrated_in_a_browser_is_the_one_that_the_command_line_writes() {
    let Some(browser) = Browser::open(1200, 860) else { return };
    let mut served = Served::new(&[]);
    browser.go(&served.link);
    browser.until("document.body.dataset.ready === 'yes'");
    assert!(browser.text("lead").contains("41 ticks were found"));
    // the field for the first long tick is open and in focus: nothing is pressed before the first value
    assert_eq!(browser.run("return document.activeElement.id"), "value");
    let values = [(1, "40"), (11, "60"), (21, "80"), (31, "100"), (41, "120")];
    // a value that is none is said at the field, and taken back
    browser.press(&["x"]);
    assert_eq!(browser.run("return document.getElementById('value').getAttribute('aria-invalid')"), "true");
    assert!(browser.text("value-error").contains("Not a number"));
    browser.press(&[BACKSPACE]);
    type_values(&browser, &values[..4]);
    browser.run("document.getElementById('stage').focus()");
    assert!(browser.text("status").contains("unit"), "what is lacking is said");
    browser.click("input[value=C]");
    // one out of order is an error in words, then undone
    choose(&browser, 41);
    browser.press(&["7", "0"]);
    browser.until("document.getElementById('error').textContent.includes('out of order')");
    assert_eq!(browser.run("return document.getElementById('save').disabled"), true);
    browser.click("#undo");
    choose(&browser, 41);
    browser.press(&["1", "2", "0", ENTER]);
    browser.until("!document.getElementById('fit').hidden");
    // the truth of this photo is 84.05 °C (samples/truth.csv); the line shows one decimal. Nothing is written before the person has said
    // what the needle reads, and the page does not say it first
    assert!(!browser.text("seen-words").contains("84"), "{}", browser.text("seen-words"));
    assert_eq!(browser.run("return document.getElementById('save').disabled"), true);
    browser.run("document.getElementById('seen').focus()");
    browser.press(&["6", "0"]);
    browser.until("document.getElementById('seen-words').textContent.includes('You see the needle at 60.0')");
    assert_eq!(browser.run("return document.getElementById('save').disabled"), true);
    browser.press(&[BACKSPACE, BACKSPACE, "8", "4"]);
    browser.until("document.getElementById('seen-words').textContent.includes('reads 84.')");
    assert_eq!(browser.run("return document.querySelectorAll('#rows tr').length"), 5);
    browser.click("#nearer");
    browser.click("#save");
    browser.until("!document.getElementById('done').hidden");
    assert!(browser.text("written").contains("Dial file: page.json"));
    // nothing was asked of any other address
    let asked = browser.run("return performance.getEntriesByType('resource').map(e => e.name)");
    assert!(asked.as_array().unwrap().iter().all(|e| e.as_str().unwrap().starts_with(&served.link)), "{asked}");
    let (code, said) = served.ended();
    assert!(code == 0 && said.contains("Dial file: page.json"), "{code} {said}");
    let words: Vec<String> = values.iter().flat_map(|(t, v)| ["--tick".to_string(), format!("{t}={v}")]).collect();
    assert!(fs::read(served.file()).unwrap() == typed(&words), "the page and the ticks' numbers give different files");
}

/// The page for a phone, tried at the loopback address: the photo is sent first and kept as it came, then all is as on the computer.
#[test]
fn a_phone_sends_the_photo_and_calibrates() {
    let Some(browser) = Browser::open(360, 740) else { return };
    let mut served = Served::of(&["--lan=127.0.0.1", "--unit", "C"]);
    let port = served.port();
    let origin = format!("http://127.0.0.1:{port}");
    let own = [("Origin", origin.as_str())];
    // before a photo is there: nothing to see and nothing to write; what is no photo is refused in words
    assert_eq!(request(port, "GET", &served.path("photo"), &[], "").0, 404);
    let sent = request(port, "POST", &served.path("send"), &own, "no picture").2;
    assert!(sent.contains("\"error\":\"") && !sent.contains("\"error\":null"), "{sent}");
    assert_eq!(request(port, "POST", &served.path("send"), &[], "no picture").0, 403);
    assert_eq!(fs::read_dir(served.dir.path()).unwrap().count(), 0);
    browser.go(&served.link);
    browser.until("document.body.dataset.shown === 'send'");
    assert_eq!(browser.run("return document.documentElement.scrollWidth <= window.innerWidth"), true, "the page is wider than 360 px");
    browser.choose_file("#file", PHOTO);
    browser.until("document.body.dataset.ready === 'yes'");
    assert!(browser.text("lead").contains("41 ticks were found"));
    assert!(fs::read(served.dir.path().join("page-photo.jpg")).unwrap() == fs::read(PHOTO).unwrap(), "the photo is kept as it was sent");
    assert!(request(port, "POST", &served.path("send"), &own, "again").2.contains("here already"));
    let values = [(1, "40"), (11, "60"), (21, "80"), (31, "100"), (41, "120")];
    type_values(&browser, &values);
    browser.run("document.getElementById('seen').focus()");
    browser.press(&["8", "4"]);
    browser.until("!document.getElementById('save').disabled");
    browser.run("document.getElementById('save').click()");
    browser.until("!document.getElementById('done').hidden");
    let (code, said) = served.ended();
    assert!(code == 0 && said.contains("Dial file: page.json"), "{code} {said}");
    let words: Vec<String> = values.iter().flat_map(|(t, v)| ["--tick".to_string(), format!("{t}={v}")]).collect();
    assert!(fs::read(served.file()).unwrap() == typed(&words), "a phone and the ticks' numbers give different files");
}

/// The page of readings: a photo is left out by a click and a reason, and counted again by another.
#[test]
fn a_photo_is_left_out_by_a_click_with_a_reason() {
    let Some(browser) = Browser::open(768, 900) else { return };
    let dir = TempDir::new().unwrap();
    for k in [1, 2] {
        let from = format!("{}/samples/gearbox-oil/before/{k}.jpg", env!("CARGO_MANIFEST_DIR"));
        fs::copy(from, dir.path().join(format!("{k}.jpg"))).unwrap();
    }
    let dial = concat!(env!("CARGO_MANIFEST_DIR"), "/calibration/gearbox-oil.json");
    let mut command = Command::new(cargo_bin!("needleband"));
    // no program that opens a page is found there
    command.current_dir(dir.path()).args(["view", "--dial", dial, ".", "--open"]).env("PATH", dir.path());
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
    let link = lines.find(|l| l.trim().starts_with("http://")).unwrap().trim().to_string();
    browser.go(&link);
    browser.until("document.body.dataset.ready === 'yes'");
    assert!(browser.run("return document.querySelector('h1').textContent").as_str().unwrap().starts_with("2 photos, 2 read: 90.9"));
    browser.click("[data-photo='1']");
    browser.press(&["r", "e", "f", "l", "e", "x", ENTER]);
    browser.until("document.body.dataset.ready === 'yes' && document.querySelector('h1').textContent.includes('1 left out by hand')");
    assert!(browser.run("return document.getElementById('photo-2').textContent").as_str().unwrap().contains("Left out by hand: reflex."));
    assert!(fs::read_to_string(dir.path().join("left-out.csv")).unwrap().contains(",reflex,"));
    browser.click("[data-photo='1']");
    browser.until("document.body.dataset.ready === 'yes' && document.querySelector('h1').textContent.startsWith('2 photos, 2 read')");
    interrupt(&child);
    assert!(child.wait().unwrap().success());
}

/// What keeps the page in a network of one's own stands before anything is served.
#[test]
fn the_page_in_a_network_is_asked_for_and_warned_of() {
    let dir = TempDir::new().unwrap();
    let said = |words: &[&str]| {
        let out = Command::new(cargo_bin!("needleband")).current_dir(dir.path()).args(words).output().unwrap();
        (out.status.code().unwrap(), String::from_utf8_lossy(&out.stderr).to_string())
    };
    let (code, text) = said(&["calibrate", "--page", "--lan=8.8.8.8", "--out", "a.json"]);
    assert!(code == 2 && text.contains("no address of a network of your own"), "{text}");
    assert!(said(&["calibrate", "--lan", "--out", "a.json"]).1.contains("--page"));
    assert!(said(&["calibrate", "--page", "--out", "a.json"]).1.contains("PHOTO"), "without --lan a photo is needed");
    fs::write(dir.path().join("a-photo.jpg"), "mine").unwrap();
    let (code, text) = said(&["calibrate", "--page", "--lan=127.0.0.1", "--out", "a.json"]);
    assert!(code == 2 && text.contains("a-photo.jpg exists already"), "{text}");
    let mut served = Served::new(&["--lan=127.0.0.1"]);
    assert!(served.said.contains("nothing is encrypted") && !served.said.contains('█'), "a code is for a terminal: {}", served.said);
    // once it answers it also hears Ctrl-C
    assert_eq!(request(served.port(), "GET", &served.path(""), &[], "").0, 200);
    interrupt(&served.child);
    assert_eq!(served.ended().0, 1);
}

/// Types values into the field that goes from tick to tick; Enter passes over a tick that has none.
fn type_values(browser: &Browser, values: &[(i64, &str)]) {
    for _ in 0..60 {
        let tick = browser.run("const b = document.getElementById('box'); return b.hidden ? null : Number(b.dataset.tick)");
        let Some(tick) = tick.as_i64() else { return };
        if let Some((_, value)) = values.iter().find(|v| v.0 == tick) {
            value.chars().for_each(|c| browser.press(&[&c.to_string()]));
        }
        browser.press(&[ENTER]);
    }
    panic!("the field never came to an end");
}

/// Goes with the photo's own keys to a tick.
fn choose(browser: &Browser, tick: i64) {
    for _ in 0..60 {
        browser.run("document.getElementById('stage').focus()");
        browser.press(&["."]);
        if browser.text("place").starts_with(&format!("Tick {tick} at")) {
            return;
        }
    }
    panic!("tick {tick} is not reached");
}

/// x and y of the chosen mark as the page shows them.
fn shown(browser: &Browser) -> [f64; 2] {
    let text = browser.text("place");
    let numbers: Vec<f64> = text.split("at ").nth(1).unwrap().trim_end_matches(" px").split(", ").map(|v| v.parse().unwrap()).collect();
    [numbers[0], numbers[1]]
}

#[test]
fn marks_are_placed_moved_and_saved_with_the_keyboard_alone() {
    let Some(browser) = Browser::open(360, 740) else { return };
    let mut served = Served::new(&["--unit", "C"]);
    browser.go(&served.link);
    browser.until("document.body.dataset.ready === 'yes'");
    assert_eq!(browser.run("return document.documentElement.scrollWidth <= window.innerWidth"), true, "the page is wider than 360 px");
    // Tab reaches the photo
    for _ in 0..20 {
        if browser.run("return document.activeElement.id") == "stage" {
            break;
        }
        browser.press(&[TAB]);
    }
    assert_eq!(browser.run("return document.activeElement.id"), "stage");
    // a mark at the middle of the view, a value, and by keys to the printed tick of 40
    let mut words: Vec<String> = Vec::new();
    let truth = [(40.0, [596.12, 730.55]), (80.0, [845.75, 310.57]), (120.0, [1077.29, 733.43])];
    for (value, at) in truth {
        browser.press(&["m"]);
        assert_eq!(browser.run("return document.activeElement.id"), "value", "the field opens at the mark just put");
        browser.run("document.getElementById('stage').focus()");
        let from = shown(&browser);
        browser.press(&[RIGHT, UP]);
        let to = shown(&browser);
        // an arrow moves by a tenth of a pixel; the place is kept to a hundredth
        assert!((to[0] - from[0] - 0.1).abs() < 0.0051 && (from[1] - to[1] - 0.1).abs() < 0.0051, "{from:?} to {to:?}");
        let script = format!(
            "const s = document.getElementById('stage'); const go = (key, n, shiftKey) => {{ for (let i = 0; i < n; i++) s.dispatchEvent(new KeyboardEvent('keydown', {{ key, shiftKey }})); }};
             const [dx, dy] = [{} - {}, {} - {}];
             go(dx < 0 ? 'ArrowLeft' : 'ArrowRight', Math.floor(Math.abs(dx)), true); go(dx < 0 ? 'ArrowLeft' : 'ArrowRight', Math.round(Math.abs(dx) % 1 * 10), false);
             go(dy < 0 ? 'ArrowUp' : 'ArrowDown', Math.floor(Math.abs(dy)), true); go(dy < 0 ? 'ArrowUp' : 'ArrowDown', Math.round(Math.abs(dy) % 1 * 10), false);",
            at[0], to[0], at[1], to[1]
        );
        browser.run(&script);
        let placed = shown(&browser);
        assert!((placed[0] - at[0]).hypot(placed[1] - at[1]) < 0.2, "{placed:?} is not {at:?}");
        words.extend(["--mark".to_string(), format!("{value}@{},{}", placed[0], placed[1])]);
        value.to_string().chars().for_each(|c| browser.press(&[&c.to_string()]));
        assert_eq!(browser.run("return document.getElementById('value').value"), value.to_string());
        browser.run("document.getElementById('stage').focus()");
    }
    browser.until("!document.getElementById('fit').hidden");
    // a needle that is tried on the tick of 80 reads 80: N puts it, arrows move it
    browser.press(&["n"]);
    browser.until("document.getElementById('trial').textContent.includes('would read')");
    let pivot: Value = browser.run("return fetch('found').then(a => a.json()).then(f => f.dials[0].pivot)");
    words.extend(["--pivot".to_string(), format!("{},{}", pivot[0], pivot[1])]);
    browser.run("document.getElementById('seen').focus()");
    browser.press(&["8", "4"]);
    browser.until("!document.getElementById('save').disabled");
    browser.run("document.getElementById('save').focus()");
    browser.press(&[ENTER]);
    browser.until("!document.getElementById('done').hidden");
    let (code, _) = served.ended();
    assert_eq!(code, 0);
    assert!(fs::read(served.file()).unwrap() == typed(&words), "the page and the command line give different files: {words:?}");
}

#[test]
fn a_finger_draws_round_a_dial_and_it_is_searched_again() {
    let Some(browser) = Browser::open(360, 740) else { return };
    let served = Served::new(&["--unit", "C"]);
    browser.go(&served.link);
    browser.until("document.body.dataset.ready === 'yes'");
    browser.click("#whole");
    browser.click("[data-tool=round]");
    // the dial's pivot is at 838, 609 of 1600 x 1200 px; a line round it from twelve places
    let frame = || browser.run("const r = document.getElementById('stage').getBoundingClientRect(); return [r.x, r.y, r.width, r.height]");
    let round = frame();
    let side = |k: usize| round[k].as_f64().unwrap();
    let scale = (side(2) / 1600.0).min(side(3) / 1200.0);
    let middle = [side(0) + side(2) / 2.0 + scale * (838.0 - 800.0), side(1) + side(3) / 2.0 + scale * (609.0 - 600.0)];
    let place = |k: u32| {
        let a = f64::from(k) / 12.0 * std::f64::consts::TAU;
        [middle[0] + 450.0 * scale * a.cos(), middle[1] + 450.0 * scale * a.sin()].map(|v| v.round() as i64)
    };
    browser.stroke(&(0..=12).map(place).collect::<Vec<_>>());
    browser.until("document.getElementById('dial').options.length === 2");
    assert!(browser.text("lead").contains("41 ticks were found"), "{}", browser.text("lead"));
    assert_eq!(browser.run("return document.activeElement.id"), "value", "the field for the first long tick is open");
    // where no dial is: said in words, and the dial that was there stays
    browser.run("document.querySelector('[data-tool=round]').click(); document.getElementById('whole').click()");
    let round = frame();
    let side = |k: usize| round[k].as_f64().unwrap();
    let corner = [side(0) + side(2) / 2.0 - scale * 700.0, side(1) + side(3) / 2.0 + scale * 480.0].map(|v| v.round() as i64);
    browser.stroke(&[corner, [corner[0] + 60, corner[1]], [corner[0] + 60, corner[1] - 50], corner]);
    browser.until("document.getElementById('error').textContent.includes('No printed scale was found in there')");
    assert!(browser.text("lead").contains("41 ticks were found"));
}

/// Where two steps fit the ticks alike the file is written only once the person has said which it is, or that it cannot be told. The answers
/// to the fits are changed on their way so that they hold two steps: a face for which they truly do is in the tests of the count itself.
#[test]
fn two_steps_that_fit_alike_are_asked_before_the_page_writes() {
    let Some(browser) = Browser::open(360, 740) else { return };
    let served = Served::new(&["--unit", "C"]);
    browser.go(&served.link);
    browser.until("document.body.dataset.ready === 'yes'");
    browser.run(
        "const sent = window.fetch.bind(window); window.told = [];
        window.fetch = async (path, given) => {
            const answer = await sent(path, given);
            if (!String(path).includes('fit')) return answer;
            const { tick_step } = JSON.parse(given.body), fit = await answer.json();
            window.told.push(tick_step);
            return new Response(JSON.stringify({ ...fit, rival_steps: tick_step === null ? [2, 2.5] : null }));
        }",
    );
    browser.until("document.activeElement.id === 'value'");
    for value in ["40", "50", "60", "70", "80"] {
        let keys: Vec<String> = value.chars().map(String::from).collect();
        browser.press(&keys.iter().map(String::as_str).collect::<Vec<_>>());
        browser.press(&["\u{e007}"]);
    }
    let shown =
        |css: &str| browser.run(&format!("const e = document.querySelector('{css}'); return !e.hidden && e.getClientRects().length > 0"));
    browser.until("!document.getElementById('step').hidden");
    assert_eq!(browser.run("return document.getElementById('save').disabled"), true);
    assert!(browser.text("step").contains("2.5 °C") && browser.text("step").contains("I cannot tell"), "{}", browser.text("step"));
    assert!(
        browser
            .run("return Math.min(...[...document.querySelectorAll('#step-choices label')].map((e) => e.getBoundingClientRect().height))")
            .as_f64()
            >= Some(44.0)
    );
    browser.run("document.querySelector('#step-choices input[value=\"2.5\"]').click()");
    browser.until("window.told.at(-1) === 2.5 && document.getElementById('status').textContent.includes('It fits')");
    assert_eq!(shown("#step"), true, "what was told may be told otherwise");
    // the check picture of what would be written
    browser.run("document.getElementById('check').open = true");
    browser.until("document.getElementById('check-picture').naturalWidth > 400");
    // the needle's own reading is asked for before writing
    assert!(!browser.text("seen-line").is_empty());
    browser.run("document.querySelector('#step-choices input[value=\"0\"]').click()");
    browser.until("window.told.at(-1) === null && document.getElementById('status').textContent.includes('It fits')");
    assert_eq!(browser.run("return document.querySelector('#step-choices input:checked').value"), "0");
}

#[test]
fn a_finger_drags_a_mark_and_undo_takes_it_back() {
    let Some(browser) = Browser::open(1200, 860) else { return };
    let mut served = Served::new(&["--unit", "C"]);
    browser.go(&served.link);
    browser.until("document.body.dataset.ready === 'yes'");
    browser.run("document.getElementById('stage').focus()");
    browser.press(&["m"]);
    let before = shown(&browser);
    browser.run("document.getElementById('stage').focus()");
    let middle = browser.run("const r = document.getElementById('stage').getBoundingClientRect(); return [Math.round(r.x + r.width / 2), Math.round(r.y + r.height / 2)]");
    let at = [middle[0].as_i64().unwrap(), middle[1].as_i64().unwrap()];
    browser.drag(at, [at[0] + 60, at[1] - 40]);
    let after = shown(&browser);
    assert!(after[0] > before[0] + 10.0 && after[1] < before[1] - 10.0, "{before:?} to {after:?}");
    assert_eq!(browser.run("return getComputedStyle(document.getElementById('glass')).display"), "block");
    browser.click("#undo");
    assert_eq!(shown(&browser), before);
    browser.click("#undo");
    assert_eq!(browser.run("return document.getElementById('undo').disabled"), true, "the mark is gone");
    interrupt(&served.child);
    assert_eq!(served.ended().0, 1);
}
