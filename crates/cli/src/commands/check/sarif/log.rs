//! The parts of a log that are written, as the standard names them.

use super::rules_named::sentence;
use rules::provenance::{Judgement, Standing};
use serde::Serialize;
use serde_json::{Value, json};
use settings_model::finding::Outcome;

/// Where OASIS keeps the schema.
pub const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";
/// The version of [`Result::fingerprint`]'s recipe.
const FINGERPRINT: &str = "finding/v1";

/// A result (3.27).
pub struct Result<'j> {
    /// The finding's name.
    pub rule: &'static str,
    /// `error`, `warning` or `note`.
    pub level: &'static str,
    /// What is wrong, and what to do.
    pub message: String,
    /// Where.
    pub at: Located,
    /// The lines that explain it.
    pub related: Vec<Related>,
    /// What stays the same from run to run.
    pub fingerprint: String,
    /// What kind of message.
    pub outcome: Outcome,
    /// How the figure is known that decides it.
    pub basis: Option<Standing>,
    /// What the site came to, and the figures that it rests on.
    pub judgement: &'j Judgement,
    /// The site's headline, with its reservations.
    pub headline: String,
    /// The site's name.
    pub site: Option<&'j str>,
    /// That the site was made for a lesson.
    pub training: Option<&'static str>,
}

/// A location (3.28).
pub struct Located {
    /// The file.
    pub uri: String,
    /// Where in it; absent for the file as a whole.
    pub region: Option<Region>,
    /// Site, device and setting.
    pub logical: Option<String>,
}

/// A region (3.30) on one line, counted from 1.
pub struct Region {
    /// The line.
    pub line: usize,
    /// The first column, and one past the last.
    pub columns: Option<(usize, usize)>,
}

impl Region {
    /// A line as a whole.
    pub fn line(line: usize) -> Self {
        Self { line, columns: None }
    }
}

/// A location that explains a result.
pub struct Related {
    /// Where.
    pub at: Located,
    /// What it says.
    pub text: String,
}

impl Serialize for Result<'_> {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        let mut result = json!({
            "ruleId": self.rule,
            "level": self.level,
            "message": { "text": self.message },
            "locations": [self.at.json()],
            "partialFingerprints": { FINGERPRINT: self.fingerprint },
            "properties": {
                "outcome": self.outcome,
                "site": self.site,
                "verdict": self.judgement.verdict,
                "headline": self.headline,
                "figures": self.judgement.figures,
            },
        });
        if let Some(basis) = self.basis {
            result["properties"]["basis"] = json!(basis);
        }
        if let Some(notice) = self.training {
            result["properties"]["training"] = json!(notice);
        }
        if !self.related.is_empty() {
            let related = self.related.iter().map(|one| {
                let mut at = one.at.json();
                at["message"] = json!({ "text": one.text });
                at
            });
            result["relatedLocations"] = related.collect();
        }
        result.serialize(serializer)
    }
}

impl Located {
    fn json(&self) -> Value {
        let mut physical = json!({ "artifactLocation": { "uri": self.uri } });
        if let Some(region) = &self.region {
            physical["region"] = match region.columns {
                Some((start, end)) => json!({ "startLine": region.line, "startColumn": start, "endColumn": end }),
                None => json!({ "startLine": region.line }),
            };
        }
        let mut at = json!({ "physicalLocation": physical });
        if let Some(name) = &self.logical {
            at["logicalLocations"] = json!([{ "fullyQualifiedName": name }]);
        }
        at
    }
}

/// The tool (3.18), with the rules (3.49) that its results name.
pub fn tool(names: &[&'static str]) -> Value {
    let rule = |name: &&'static str| match sentence(name) {
        Some(says) => json!({ "id": name, "shortDescription": { "text": says } }),
        None => json!({ "id": name }),
    };
    json!({ "driver": {
        "name": "asleft",
        "semanticVersion": env!("CARGO_PKG_VERSION"),
        "rules": names.iter().map(rule).collect::<Value>(),
    } })
}

/// A notification (3.58): what kept the question from being put.
pub struct Notification {
    /// The finding that is meant.
    pub rule: Option<&'static str>,
    /// How many sites, or what happened.
    pub says: String,
}

/// How it ran (3.20): whether the question could be put everywhere, and not what the answer was.
pub fn invocation(exit_code: u8, notifications: &[Notification]) -> Value {
    let notification = |one: &Notification| {
        let mut told = json!({ "level": "error", "message": { "text": one.says } });
        if let Some(rule) = one.rule {
            told["associatedRule"] = json!({ "id": rule });
        }
        told
    };
    let mut invocation = json!({ "executionSuccessful": notifications.is_empty(), "exitCode": exit_code });
    if !notifications.is_empty() {
        invocation["toolExecutionNotifications"] = notifications.iter().map(notification).collect();
    }
    invocation
}

/// A file's name as a URI reference (RFC 3986). Names that begin `shipped:` are URIs as they are.
pub fn uri(name: &str) -> String {
    let name = name.replace('\\', "/");
    let is_rooted = name.starts_with('/') || name.as_bytes().get(1..3) == Some(b":/");
    let mut uri = if is_rooted { format!("file://{}", if name.starts_with('/') { "" } else { "/" }) } else { String::new() };
    for byte in name.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => uri.push(char::from(byte)),
            b':' if is_rooted || name.starts_with("shipped:") => uri.push(':'),
            _ => uri.push_str(&format!("%{byte:02X}")),
        }
    }
    uri
}

#[cfg(test)]
mod tests {
    use super::uri;

    #[test]
    fn names_of_files_become_uris() {
        for (name, expected) in [
            ("tests/sites/larkspur-row-3.yaml", "tests/sites/larkspur-row-3.yaml"),
            ("standard input", "standard%20input"),
            ("a:b.yaml", "a%3Ab.yaml"),
            ("/srv/Żar/1.yaml", "file:///srv/%C5%BBar/1.yaml"),
            ("C:\\sites\\1.yaml", "file:///C:/sites/1.yaml"),
            ("shipped:overlays/quillbrook/2.0.0.yaml", "shipped:overlays/quillbrook/2.0.0.yaml"),
        ] {
            assert_eq!(uri(name), expected);
        }
    }
}
