//! What a program that is no browser can ask of the page, and what comes back.

use super::served::Served;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

impl Served {
    /// The process' number.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// Whether it ends within so many seconds.
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
