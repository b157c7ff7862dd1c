//! A browser by the WebDriver protocol of W3C: Debian's `chromium` with its own `chromium-driver`, which come
//! from one source package and so always fit each other. JSON over a local socket needs no library but the
//! one for JSON, no Node and nothing from npm.

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A browser with one window; ended when it is dropped.
pub struct Browser {
    driver: Child,
    port: u16,
    session: String,
    _profile: tempfile::TempDir,
}

/// An element of the page.
#[derive(Clone)]
pub struct Element(String);

/// Where an element's reference stands, by the protocol.
const REFERENCE: &str = "element-6066-11e4-a52e-4f735466cecf";

impl Browser {
    /// Starts one without a window on the screen, which finds no name but this machine.
    pub fn start() -> Self {
        let named = |variable: &str, usual: &str| std::env::var(variable).unwrap_or_else(|_| usual.to_owned());
        let mut driver = Command::new(named("CHROMEDRIVER", "chromedriver"))
            .args(["--port=0", "--log-level=WARNING"])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver; on Debian: apt-get install chromium chromium-driver");
        let mut lines = BufReader::new(driver.stdout.take().unwrap()).lines();
        let port = lines
            .find_map(|line| line.unwrap().split_once("successfully on port ").map(|(_, port)| port.trim_end_matches('.').parse().unwrap()))
            .expect("chromedriver says its port");
        // what it says later is not read, and must not stop it
        std::thread::spawn(move || lines.for_each(drop));
        let profile = tempfile::tempdir().unwrap();
        let mut browser = Self { driver, port, session: String::new(), _profile: profile };
        let arguments = [
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--disable-background-networking",
            "--disable-component-update",
            "--no-first-run",
            "--hide-scrollbars",
            "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
            &format!("--user-data-dir={}", browser._profile.path().display()),
        ];
        let asked = json!({ "capabilities": { "alwaysMatch": {
            "browserName": "chrome",
            "goog:chromeOptions": { "binary": named("CHROMIUM", "/usr/bin/chromium"), "args": arguments },
            "goog:loggingPrefs": { "performance": "ALL", "browser": "ALL" },
        } } });
        let session = browser.ask("POST", "/session", Some(asked));
        browser.session = session["sessionId"].as_str().unwrap().to_owned();
        browser
    }

    /// Goes to an address, and waits until it is there.
    pub fn go(&self, address: &str) {
        self.post("/url", json!({ "url": address }));
    }

    /// What a script returns; what it is given is `arguments`.
    pub fn run(&self, script: &str, arguments: Value) -> Value {
        self.post("/execute/sync", json!({ "script": script, "args": arguments }))
    }

    /// What a script hands to the function that it is given.
    pub fn run_later(&self, script: &str) -> Value {
        self.post("/execute/async", json!({ "script": script, "args": [] }))
    }

    /// Waits until a script returns something that is true.
    pub fn wait(&self, script: &str, arguments: Value) -> Value {
        let until = Instant::now() + Duration::from_secs(60); // other work may share the machine
        loop {
            let found = self.run(script, arguments.clone());
            if !matches!(found, Value::Null | Value::Bool(false)) {
                return found;
            }
            assert!(Instant::now() < until, "never came true: {script} {arguments}");
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// The one element of a selector.
    pub fn find(&self, selector: &str) -> Element {
        let found = self.post("/element", json!({ "using": "css selector", "value": selector }));
        Element(found[REFERENCE].as_str().unwrap().to_owned())
    }

    /// Types into an element, or gives a file field the path of a file.
    pub fn type_into(&self, element: &Element, text: &str) {
        self.post(&format!("/element/{}/value", element.0), json!({ "text": text }));
    }

    /// Clicks.
    pub fn click(&self, element: &Element) {
        self.post(&format!("/element/{}/click", element.0), json!({}));
    }

    /// Presses keys wherever the focus is.
    pub fn press(&self, keys: &[char]) {
        let presses: Vec<Value> =
            keys.iter().flat_map(|key| ["keyDown", "keyUp"].map(|kind| json!({ "type": kind, "value": key.to_string() }))).collect();
        self.post("/actions", json!({ "actions": [{ "type": "key", "id": "keys", "actions": presses }] }));
    }

    /// What the browser's own tools say.
    pub fn tool(&self, command: &str, parameters: Value) -> Value {
        self.post("/goog/cdp/execute", json!({ "cmd": command, "params": parameters }))
    }

    /// A screen of so many pixels.
    pub fn screen(&self, width: u32, height: u32, is_phone: bool) {
        let metrics = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": is_phone });
        self.tool("Emulation.setDeviceMetricsOverride", metrics);
    }

    /// Saves what the screen shows, or the whole page.
    pub fn save_picture(&self, file: &Path, is_whole: bool) {
        let taken = self.tool("Page.captureScreenshot", json!({ "format": "png", "captureBeyondViewport": is_whole }));
        std::fs::write(file, bytes(taken["data"].as_str().unwrap())).unwrap();
    }

    /// Saves what paper of so many inches would show.
    pub fn save_print(&self, file: &Path, [width, height]: [f64; 2]) -> Vec<u8> {
        let printed = self.tool("Page.printToPDF", json!({ "paperWidth": width, "paperHeight": height, "preferCSSPageSize": false }));
        let bytes = bytes(printed["data"].as_str().unwrap());
        std::fs::write(file, &bytes).unwrap();
        bytes
    }

    /// What was logged since it was last asked: `browser` for the page's errors, `performance` for requests.
    pub fn log(&self, kind: &str) -> Vec<String> {
        let entries = self.post("/se/log", json!({ "type": kind }));
        entries.as_array().unwrap().iter().map(|entry| entry["message"].as_str().unwrap().to_owned()).collect()
    }

    fn post(&self, path: &str, body: Value) -> Value {
        self.ask("POST", &format!("/session/{}{path}", self.session), Some(body))
    }

    fn ask(&self, method: &str, path: &str, body: Option<Value>) -> Value {
        let body = body.map(|body| body.to_string()).unwrap_or_default();
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(120))).unwrap();
        let head = format!(
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
            self.port,
            body.len()
        );
        stream.write_all(head.as_bytes()).unwrap();
        stream.write_all(body.as_bytes()).unwrap();
        // the driver leaves connections open: its answer is as long as it says
        let mut from = BufReader::new(stream);
        let mut length = 0;
        loop {
            let mut line = String::new();
            from.read_line(&mut line).unwrap();
            match line.trim_end().split_once(':') {
                Some((name, value)) if name.eq_ignore_ascii_case("content-length") => length = value.trim().parse().unwrap(),
                None if line.trim().is_empty() => break,
                _ => {}
            }
        }
        let mut answer = vec![0; length];
        from.read_exact(&mut answer).unwrap();
        let answer: Value = serde_json::from_slice(&answer).unwrap_or_else(|error| panic!("{path}: {error}"));
        let value = answer["value"].clone();
        assert!(value.get("error").is_none_or(Value::is_null) || value.get("stacktrace").is_none(), "{path}: {value}");
        value
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        // a driver that is only killed leaves its browser behind
        if !self.session.is_empty() {
            let _ = catch_unwind(AssertUnwindSafe(|| self.ask("DELETE", &format!("/session/{}", self.session), None)));
        }
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}

/// Bytes of base64 (RFC 4648).
fn bytes(text: &str) -> Vec<u8> {
    const LETTERS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut bytes = Vec::with_capacity(text.len() * 3 / 4);
    let (mut held, mut bits) = (0u32, 0);
    for letter in text.bytes().filter(|letter| *letter != b'=') {
        held = held << 6 | LETTERS.iter().position(|known| *known == letter).expect("base64") as u32;
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            bytes.push((held >> bits) as u8);
            held &= (1 << bits) - 1;
        }
    }
    bytes
}
