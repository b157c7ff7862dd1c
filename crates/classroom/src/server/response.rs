//! An answer, with the headers that keep it on this machine and in this page.

use std::io::{self, Write};
use terminal::visible;

/// What an answer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A page.
    Html,
    /// How it looks.
    Css,
    /// What moves it.
    Script,
    /// Pieces of it.
    Json,
    /// A picture.
    Svg,
    /// A sentence.
    Text,
}

impl Kind {
    fn header(self) -> &'static str {
        match self {
            Self::Html => "text/html; charset=utf-8",
            Self::Css => "text/css; charset=utf-8",
            Self::Script => "text/javascript; charset=utf-8",
            Self::Json => "application/json",
            Self::Svg => "image/svg+xml",
            Self::Text => "text/plain; charset=utf-8",
        }
    }
}

/// An answer.
pub struct Response {
    status: u16,
    kind: Kind,
    body: Vec<u8>,
}

/// Nothing from elsewhere, nothing inside another page, no script in the text, no form to elsewhere.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
                      form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

impl Response {
    /// What was asked for.
    pub fn of(kind: Kind, body: impl Into<Vec<u8>>) -> Self {
        Self { status: 200, kind, body: shown(kind, body.into()) }
    }

    /// The same, of a question that could not be answered.
    pub fn fault(kind: Kind, body: impl Into<Vec<u8>>) -> Self {
        Self { status: 400, kind, body: shown(kind, body.into()) }
    }

    /// A refusal, and why.
    pub fn refusal(status: u16, says: &str) -> Self {
        Self { status, kind: Kind::Text, body: shown(Kind::Text, format!("{says}\n").into_bytes()) }
    }

    /// A refusal of a way to ask.
    pub fn method_refusal() -> Self {
        Self::refusal(405, "only GET, and POST for a file that is opened")
    }

    /// What it brings.
    #[cfg(feature = "fuzzing")]
    pub fn into_body(self) -> Vec<u8> {
        self.body
    }

    /// Writes it, and that the connection ends with it.
    pub fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        let allow = if self.status == 405 { "Allow: GET, POST\r\n" } else { "" };
        let head = format!(
            "HTTP/1.1 {} {}\r\nContent-Type: {}\r\nContent-Length: {}\r\n{allow}Connection: close\r\nCache-Control: no-store\r\n\
             Content-Security-Policy: {POLICY}\r\nX-Content-Type-Options: nosniff\r\nReferrer-Policy: no-referrer\r\n\
             Cross-Origin-Opener-Policy: same-origin\r\nCross-Origin-Resource-Policy: same-origin\r\n\r\n",
            self.status,
            reason(self.status),
            self.kind.header(),
            self.body.len()
        );
        out.write_all(head.as_bytes())?;
        out.write_all(&self.body)
    }
}

/// What stands in files is on the page too: what would be obeyed is shown.
fn shown(kind: Kind, body: Vec<u8>) -> Vec<u8> {
    match kind {
        Kind::Css | Kind::Script => body,
        Kind::Html | Kind::Json | Kind::Svg | Kind::Text => visible(&String::from_utf8_lossy(&body)).into_owned().into_bytes(),
    }
}

fn reason(status: u16) -> &'static str {
    match status {
        200 => "OK",
        400 => "Bad Request",
        403 => "Forbidden",
        404 => "Not Found",
        405 => "Method Not Allowed",
        408 => "Request Timeout",
        411 => "Length Required",
        413 => "Content Too Large",
        414 => "URI Too Long",
        421 => "Misdirected Request",
        431 => "Request Header Fields Too Large",
        500 => "Internal Server Error",
        501 => "Not Implemented",
        _ => "Service Unavailable",
    }
}
