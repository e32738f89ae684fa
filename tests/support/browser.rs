//! A real browser, driven over the W3C WebDriver protocol (https://www.w3.org/TR/webdriver2/) by Debian's chromedriver.
use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const DRIVER: &str = "/usr/bin/chromedriver";
const BROWSER: &str = "/usr/bin/chromium";

/// One window.
pub struct Browser {
    driver: Child,
    port: u16,
    session: String,
    _profile: tempfile::TempDir,
}

/// Status and body of a request; `headers` beside Host and Content-Length, which are set unless given.
pub fn request(port: u16, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> (u16, String, String) {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    let mut text = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\nContent-Length: {}\r\n", body.len());
    if !headers.iter().any(|h| h.0 == "Host") {
        text += &format!("Host: 127.0.0.1:{port}\r\n");
    }
    headers.iter().for_each(|(k, v)| text += &format!("{k}: {v}\r\n"));
    stream.write_all(format!("{text}\r\n{body}").as_bytes()).unwrap();
    let mut answer = BufReader::new(stream);
    let (mut head, mut length) = (String::new(), None);
    loop {
        let mut line = String::new();
        // a server that has said all may cut the line before it has read all
        if answer.read_line(&mut line).unwrap_or(0) == 0 || line.trim().is_empty() {
            break;
        }
        if let Some((name, value)) = line.split_once(':')
            && name.eq_ignore_ascii_case("content-length")
        {
            length = value.trim().parse::<u64>().ok();
        }
        head += &line;
    }
    let mut body = Vec::new();
    // not to its end: a driver may leave the line open
    let _ = answer.take(length.unwrap_or(u64::MAX)).read_to_end(&mut body);
    let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
    (status, head, String::from_utf8_lossy(&body).to_string())
}

impl Browser {
    /// `None`, with a printed reason, where no browser is installed.
    pub fn open(width: u32, height: u32) -> Option<Self> {
        if !Path::new(DRIVER).exists() || !Path::new(BROWSER).exists() {
            println!("skipped: {DRIVER} and {BROWSER} are not both installed, so the page is not tried in a browser");
            return None;
        }
        let mut driver = Command::new(DRIVER).arg("--port=0").stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let lines = BufReader::new(driver.stdout.take().unwrap()).lines();
        let port = lines
            .map_while(Result::ok)
            .find_map(|l| l.split("successfully on port ").nth(1).map(|p| p.trim_end_matches('.').parse().unwrap()))
            .expect("chromedriver names its port");
        let profile = tempfile::TempDir::new().unwrap();
        let mut args: Vec<String> = "--headless --no-sandbox --disable-gpu --no-first-run --disable-background-networking --disable-component-update --disable-sync"
            .split(' ')
            .map(String::from)
            .collect();
        args.extend([format!("--user-data-dir={}", profile.path().display()), format!("--window-size={width},{height}")]);
        let mut browser = Self { driver, port, session: String::new(), _profile: profile };
        let wish = json!({ "capabilities": { "alwaysMatch": { "goog:chromeOptions": { "args": args, "binary": BROWSER } } } });
        let made = browser.ask("POST", "/session", &wish);
        browser.session = format!("/session/{}", made["sessionId"].as_str().unwrap());
        Some(browser)
    }
    fn ask(&self, method: &str, path: &str, body: &Value) -> Value {
        let text = if method == "POST" { body.to_string() } else { String::new() };
        let (status, _, answer) = request(self.port, method, path, &[("Content-Type", "application/json")], &text);
        let value: Value = serde_json::from_str(&answer).unwrap_or_else(|e| panic!("{path}: {e}: {answer}"));
        assert_eq!(status, 200, "{path}: {answer}");
        value["value"].clone()
    }
    fn say(&self, path: &str, body: &Value) -> Value {
        self.ask("POST", &format!("{}{path}", self.session), body)
    }
    pub fn go(&self, link: &str) {
        self.say("/url", &json!({ "url": link }));
    }
    /// The answer of a script.
    pub fn run(&self, script: &str) -> Value {
        self.say("/execute/sync", &json!({ "script": script, "args": [] }))
    }
    /// Waits until an expression is true in the page. The limit only ends a test that has failed.
    pub fn until(&self, expression: &str) {
        let begun = Instant::now();
        while self.run(&format!("return Boolean({expression})")) != json!(true) {
            let page = self.run("return document.body.innerText");
            assert!(begun.elapsed() < Duration::from_secs(120), "never came true: {expression}; the page says {page}");
            std::thread::sleep(Duration::from_millis(50));
        }
    }
    fn element(&self, css: &str) -> String {
        let found = self.say("/element", &json!({ "using": "css selector", "value": css }));
        found.as_object().unwrap().values().next().unwrap().as_str().unwrap().to_string()
    }
    pub fn click(&self, css: &str) {
        let element = self.element(css);
        self.say(&format!("/element/{element}/click"), &json!({}));
    }
    /// Gives a file to a field for one.
    pub fn choose_file(&self, css: &str, path: &str) {
        let element = self.element(css);
        self.say(&format!("/element/{element}/value"), &json!({ "text": path }));
    }
    /// Presses keys one after the other on whatever is in focus.
    pub fn press(&self, keys: &[&str]) {
        let actions: Vec<Value> = keys.iter().flat_map(|k| ["keyDown", "keyUp"].map(|t| json!({ "type": t, "value": k }))).collect();
        self.say("/actions", &json!({ "actions": [{ "type": "key", "id": "keys", "actions": actions }] }));
    }
    /// A finger's tap and drag from one place of the window to another, css px.
    pub fn drag(&self, from: [i64; 2], to: [i64; 2]) {
        let at = |p: [i64; 2], ms: u32| json!({ "type": "pointerMove", "duration": ms, "x": p[0], "y": p[1], "origin": "viewport" });
        let actions =
            [at(from, 0), json!({ "type": "pointerDown", "button": 0 }), at(to, 200), json!({ "type": "pointerUp", "button": 0 })];
        self.say(
            "/actions",
            &json!({ "actions": [{ "type": "pointer", "id": "finger", "parameters": { "pointerType": "touch" }, "actions": actions }] }),
        );
    }
    /// A finger's line through places of the window, css px.
    pub fn stroke(&self, places: &[[i64; 2]]) {
        let at = |p: &[i64; 2]| json!({ "type": "pointerMove", "duration": 20, "x": p[0], "y": p[1], "origin": "viewport" });
        let mut actions: Vec<Value> = places.iter().map(at).collect();
        actions.insert(1, json!({ "type": "pointerDown", "button": 0 }));
        actions.push(json!({ "type": "pointerUp", "button": 0 }));
        self.say(
            "/actions",
            &json!({ "actions": [{ "type": "pointer", "id": "finger", "parameters": { "pointerType": "touch" }, "actions": actions }] }),
        );
    }
    /// The text of an element.
    pub fn text(&self, id: &str) -> String {
        self.run(&format!("return document.getElementById('{id}').textContent")).as_str().unwrap().to_string()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        if !self.session.is_empty() {
            request(self.port, "DELETE", &self.session, &[], "");
        }
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
