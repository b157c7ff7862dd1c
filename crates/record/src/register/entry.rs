//! What an entry holds, and the link that ties it to the one before.

use super::due::Due;
use crate::canonical::{self, HASH_BYTES, hex};
use crate::envelope::{Envelope, Signature};
use crate::parts::{Answerable, Record};
use rules::provenance::{Figures, Judgement, Standing, Verdict};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// What an entry is found by: what matters of its record, and when it was added.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Header {
    /// The site.
    pub site: String,
    /// The day that the record was made for.
    pub as_of: String,
    /// What it came to.
    pub verdict: Verdict,
    /// The same in words.
    pub headline: String,
    /// How its required figures are known; absent in entries of before, whose records say it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub figures: Option<Figures>,
    /// How the surest of the figures is known that it breaks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub broken_by: Option<Standing>,
    /// Under what, in words.
    pub under: String,
    /// Who answers for the site.
    pub answerable: Answerable,
    /// What is due, and when.
    pub due: Vec<Due>,
    /// SHA-256 of the profiles that are kept with it.
    pub profiles: Vec<String>,
    /// When it was added, by the clock of who added it.
    pub added: String,
}

impl Header {
    /// Of a record.
    #[must_use]
    pub fn of(record: &Record, profiles: Vec<String>, added: String) -> Self {
        Self {
            site: record.site.name.clone(),
            as_of: record.made.as_of.clone(),
            verdict: record.verdict.outcome,
            headline: record.verdict.headline.clone(),
            figures: Some(record.verdict.figures),
            broken_by: record.verdict.whole().broken_by,
            under: record.requirement.under.clone(),
            answerable: record.site.answerable.clone(),
            due: Due::of(record),
            profiles,
            added,
        }
    }
}

impl Header {
    /// What it came to, and by which figures.
    #[must_use]
    pub fn judgement(&self) -> Judgement {
        Judgement { verdict: self.verdict, figures: self.figures.unwrap_or_default(), broken_by: self.broken_by }
    }
}

/// An entry, without its record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Its number, from 1.
    pub number: u64,
    /// What it is found by.
    pub header: Header,
    /// Its link.
    pub link: [u8; HASH_BYTES],
    /// The hash of its record.
    pub record_sha256: [u8; HASH_BYTES],
    /// Who sealed its record.
    pub signatures: Vec<Signature>,
}

/// What stands before the first entry.
pub(super) const BEGINNING: [u8; HASH_BYTES] = [0; HASH_BYTES];

/// All that a link is over, apart from the link before it.
pub(super) struct Linked<'e> {
    pub number: u64,
    pub record_sha256: &'e [u8; HASH_BYTES],
    pub record_bytes: u64,
    pub header: &'e str,
    pub signatures: &'e str,
    pub site_line: &'e str,
}

impl Linked<'_> {
    /// The link of an entry: over the one before it, its number, its record's hash and length, and all
    /// else that it holds, each with its length, so that nothing can move from one to the next.
    pub(super) fn after(&self, before: &[u8; HASH_BYTES]) -> [u8; HASH_BYTES] {
        let mut hash = Sha256::new();
        hash.update(b"asleft register, link 1\n");
        hash.update(before);
        hash.update(self.number.to_be_bytes());
        hash.update(self.record_sha256);
        hash.update(self.record_bytes.to_be_bytes());
        for text in [self.header, self.signatures, self.site_line] {
            hash.update((text.len() as u64).to_be_bytes());
            hash.update(text);
        }
        hash.finalize().into()
    }
}

/// The bytes of a record's file, of the parts that an entry keeps.
pub(super) fn file_of(record: &[u8], record_sha256: &[u8; HASH_BYTES], signatures: &str) -> Vec<u8> {
    // the keys of an envelope in the order of RFC 8785
    [b"{\"record\":", record, b",\"sha256\":\"", hex(record_sha256).as_bytes(), b"\",\"signatures\":", signatures.as_bytes(), b"}"].concat()
}

/// The signatures of an envelope as an entry keeps them.
pub(super) fn signatures_of(envelope: &Envelope) -> String {
    String::from_utf8(canonical::bytes(&envelope.signatures)).expect("JSON is UTF-8")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_moves_from_one_part_to_the_next() {
        let of = |header, signatures, site_line| {
            Linked { number: 1, record_sha256: &[7; 32], record_bytes: 9, header, signatures, site_line }.after(&BEGINNING)
        };
        assert_ne!(of("ab", "c", "d"), of("a", "bc", "d"));
        assert_ne!(of("ab", "c", "d"), of("ab", "cd", ""));
        assert_eq!(of("ab", "c", "d"), of("ab", "c", "d"));
    }
}
