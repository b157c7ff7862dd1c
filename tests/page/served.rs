//! `asleft page` as it runs, and what a program that is no browser can ask of it.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::time::Duration;

/// The program, serving; ended when it is dropped, and then held to have never panicked.
pub struct Served {
    child: Child,
    /// The port that it listens on.
    pub port: u16,
    messages: Arc<Mutex<String>>,
}

/// The root of the repository.
pub fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// The program, with the same width, day and profiles wherever it runs.
pub fn asleft(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_asleft"));
    command.current_dir(root()).env("COLUMNS", "100").env("NO_COLOR", "1").env_remove("ASLEFT_PROFILES");
    command.stdin(Stdio::null()).args(arguments);
    command
}

impl Served {
    /// Starts it with these files in a folder.
    pub fn start(folder: &Path, files: &[&str]) -> Self {
        let mut arguments = vec!["page", "--as-of", "2026-11-25"];
        arguments.extend(files);
        let mut child = asleft(&arguments).current_dir(folder).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let port = line.trim().strip_prefix("http://127.0.0.1:").and_then(|rest| rest.strip_suffix('/')).and_then(|port| port.parse().ok());
        let messages = Arc::new(Mutex::new(String::new()));
        let (kept, mut from) = (messages.clone(), child.stderr.take().unwrap());
        std::thread::spawn(move || {
            let mut buffer = [0; 4096];
            while let Ok(count @ 1..) = from.read(&mut buffer) {
                kept.lock().unwrap().push_str(&String::from_utf8_lossy(&buffer[..count]));
            }
        });
        Self { port: port.unwrap_or_else(|| panic!("printed {line:?}")), child, messages }
    }

    /// The process.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// What it said beside the address.
    pub fn messages(&self) -> String {
        self.messages.lock().unwrap().clone()
    }

    /// How it ended, within so many seconds.
    pub fn ended_within(&mut self, seconds: u64) -> bool {
        let until = std::time::Instant::now() + Duration::from_secs(seconds);
        while std::time::Instant::now() < until {
            if self.child.try_wait().unwrap().is_some() {
                return true;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        false
    }

    /// A connection.
    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
        stream
    }

    /// What comes back when these bytes are sent; no more than was sent before the other side closed.
    pub fn answer(&self, bytes: &[u8]) -> Answer {
        let mut stream = self.connect();
        let _ = stream.write_all(bytes); // it may have been refused before the end
        let _ = stream.shutdown(std::net::Shutdown::Write);
        Answer::read(&mut stream)
    }

    /// What comes back for a path, asked as a browser would.
    pub fn get(&self, path: &str) -> Answer {
        self.answer(format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nSec-Fetch-Site: same-origin\r\n\r\n", self.port).as_bytes())
    }

    /// What comes back for a file that is opened.
    pub fn open(&self, name: &str, body: &[u8]) -> Answer {
        let head = format!(
            "POST /open?name={name} HTTP/1.1\r\nHost: 127.0.0.1:{0}\r\nOrigin: http://127.0.0.1:{0}\r\nContent-Length: {1}\r\n\r\n",
            self.port,
            body.len()
        );
        self.answer(&[head.as_bytes(), body].concat())
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
        let messages = self.messages();
        assert!(!messages.contains("panicked") || std::thread::panicking(), "{messages}");
    }
}

/// What came back.
pub struct Answer {
    /// The status; 0 where the connection was closed without a word.
    pub status: u16,
    /// The lines of the head.
    pub head: String,
    /// What follows.
    pub body: String,
}

impl Answer {
    fn read(stream: &mut TcpStream) -> Self {
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        let text = String::from_utf8_lossy(&bytes);
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status = head.strip_prefix("HTTP/1.1 ").and_then(|rest| rest.get(..3)?.parse().ok()).unwrap_or(0);
        Self { status, head: head.to_owned(), body: body.to_owned() }
    }

    /// As JSON.
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.body).unwrap_or_else(|error| panic!("{error}: {} {}", self.head, self.body))
    }
}
