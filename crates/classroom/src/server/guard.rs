//! Who may ask: a browser on this machine that shows this very page, and nobody else's page in it.

use super::Response;
use super::request::Head;

/// Knows the port that the page is served on.
pub struct Guard {
    /// The port.
    pub port: u16,
}

impl Guard {
    /// Refuses other methods, other hosts (a foreign name that was made to lead here) and other origins (a
    /// foreign page in the same browser).
    pub fn admits(&self, head: &Head) -> Result<(), Response> {
        if !matches!(head.method.as_str(), "GET" | "POST") {
            return Err(Response::method_refusal());
        }
        let mut hosts = head.all("host");
        match (hosts.next(), hosts.next()) {
            (Some(host), None) if self.is_own(host) => {}
            (Some(_), None) => return Err(Response::refusal(421, "this page is served to 127.0.0.1 only")),
            _ => return Err(Response::refusal(400, "one host has to be named")),
        }
        let is_own_origin = |origin: &[u8]| origin.strip_prefix(b"http://").is_some_and(|host| self.is_own(host));
        let is_own_fetch = |site: &[u8]| matches!(site, b"same-origin" | b"none");
        if !head.all("origin").all(is_own_origin) || !head.all("sec-fetch-site").all(is_own_fetch) {
            return Err(Response::refusal(403, "asked for by another page"));
        }
        Ok(())
    }

    /// `127.0.0.1:PORT`, `localhost:PORT` or `[::1]:PORT`; the port may be left out where it is HTTP's own.
    fn is_own(&self, host: &[u8]) -> bool {
        let Ok(host) = std::str::from_utf8(host) else { return false };
        let names = ["127.0.0.1", "localhost", "[::1]"];
        let of_port = |name: &str| host.strip_suffix(&format!(":{}", self.port)).is_some_and(|rest| rest.eq_ignore_ascii_case(name));
        names.into_iter().any(|name| of_port(name) || (self.port == 80 && host.eq_ignore_ascii_case(name)))
    }
}
