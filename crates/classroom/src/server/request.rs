//! A request, and what is wrong with one.

use super::Response;
use settings_model::document::MAX_BYTES;

/// A request that was read whole.
pub struct Request {
    /// Whether it brings something.
    pub is_post: bool,
    /// The path, before any `?`, as written.
    pub path: String,
    /// What follows the `?`, pair by pair.
    pub query: Vec<(String, String)>,
    /// What it brings.
    pub body: Vec<u8>,
}

impl Request {
    /// The last value of a name in the query, unless it is empty.
    pub fn value(&self, name: &str) -> Option<&str> {
        self.query.iter().rfind(|(key, _)| key == name).map(|(_, value)| value.as_str()).filter(|value| !value.is_empty())
    }
}

/// The lines of a request.
pub struct Head {
    /// `GET` or `POST`, or another that is refused.
    pub method: String,
    target: String,
    headers: Vec<(String, Vec<u8>)>,
}

/// Lines of a request; browsers send about twenty.
const MOST_HEADERS: usize = 64;
/// Of a path with all that follows it.
const MOST_TARGET: usize = 4096;

impl Head {
    /// Reads the lines and their length; `None` while some are missing.
    pub fn parse(bytes: &[u8]) -> Result<Option<(Self, usize)>, Response> {
        let mut headers = [httparse::EMPTY_HEADER; MOST_HEADERS];
        let mut parsed = httparse::Request::new(&mut headers);
        let length = match parsed.parse(bytes) {
            Ok(httparse::Status::Complete(length)) => length,
            Ok(httparse::Status::Partial) => return Ok(None),
            Err(httparse::Error::TooManyHeaders) => return Err(Response::refusal(431, "too many lines in the request")),
            Err(_) => return Err(Response::refusal(400, "not a request of HTTP/1.1")),
        };
        let (Some(method), Some(target)) = (parsed.method, parsed.path) else {
            return Err(Response::refusal(400, "not a request of HTTP/1.1"));
        };
        if target.len() > MOST_TARGET {
            return Err(Response::refusal(414, "the address is too long"));
        }
        if !target.starts_with('/') {
            return Err(Response::refusal(400, "the path has to begin with a slash"));
        }
        let headers = parsed.headers.iter().map(|header| (header.name.to_ascii_lowercase(), header.value.to_vec())).collect();
        Ok(Some((Self { method: method.to_owned(), target: target.to_owned(), headers }, length)))
    }

    /// Every value of a header, whose name is given in small letters.
    pub fn all<'h>(&'h self, name: &'h str) -> impl Iterator<Item = &'h [u8]> {
        self.headers.iter().filter(move |(own, _)| own == name).map(|(_, value)| value.as_slice())
    }

    /// How many bytes follow.
    pub fn body_length(&self) -> Result<usize, Response> {
        if self.all("transfer-encoding").next().is_some() {
            return Err(Response::refusal(501, "send the file whole, with its length"));
        }
        let mut lengths = self.all("content-length");
        let length = match (lengths.next(), lengths.next()) {
            (None, _) if self.method == "POST" => return Err(Response::refusal(411, "say how long the file is")),
            (None, _) => return Ok(0),
            (Some(text), None) => decimal(text).ok_or_else(|| Response::refusal(400, "no such length"))?,
            (Some(_), Some(_)) => return Err(Response::refusal(400, "two lengths of one file")),
        };
        match length {
            0 => Ok(0),
            _ if self.method != "POST" => Err(Response::refusal(400, "nothing may follow such a request")),
            length if length > MAX_BYTES => Err(Response::refusal(413, "the file is larger than 16 MiB")),
            length => Ok(length),
        }
    }

    /// Whether it waits for a word before it sends on.
    pub fn expects_continue(&self) -> bool {
        self.all("expect").any(|value| value.eq_ignore_ascii_case(b"100-continue"))
    }

    /// The whole request.
    pub fn into_request(self, body: Vec<u8>) -> Request {
        let (path, query) = self.target.split_once('?').unwrap_or((&self.target, ""));
        let query = form_urlencoded::parse(query.as_bytes()).into_owned().collect();
        Request { is_post: self.method == "POST", path: path.to_owned(), query, body }
    }
}

/// Digits and nothing else; of more than a length can have, the largest.
fn decimal(text: &[u8]) -> Option<usize> {
    if text.is_empty() || !text.iter().all(u8::is_ascii_digit) {
        return None;
    }
    Some(std::str::from_utf8(text).ok()?.parse().unwrap_or(usize::MAX))
}
