//! The file that a record is kept in: the record, its hash, and signatures over the hash.

use crate::canonical::{self, HASH_BYTES};
use crate::parts::{FORMAT, Record};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::fmt;

/// A record with its hash, as it is kept in a file: one canonical JSON object.
///
/// The record stays the JSON that was read: a record of a later format keeps every byte, and its hash
/// can be checked, though this program may not be able to say what it means.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Envelope {
    /// The record.
    #[schemars(with = "Record")]
    record: Value,
    /// SHA-256 of the record's canonical form (RFC 8785), in hexadecimal.
    #[schemars(regex(pattern = "^[0-9a-f]{64}$"))]
    sha256: String,
    /// Who sealed it; empty where nobody did.
    pub signatures: Vec<Signature>,
}

/// A signature over the hash of a record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Signature {
    /// The public key.
    pub key: String,
    /// The signature.
    pub signature: String,
}

/// What keeps a file from being a record that can be trusted to say what it said when it was made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Broken {
    /// It is no JSON.
    NotJson(String),
    /// It is JSON, and no record.
    NotARecord(String),
    /// It says the same in other bytes than it was written in; the first that differs, from 1.
    NotCanonical(usize),
    /// The record has another hash than the one beside it: it was altered.
    Altered {
        /// The hash that stands beside it.
        stated: String,
        /// The hash that it has.
        found: String,
    },
    /// It was made by a later program, whose records say things that this one does not know.
    LaterFormat(u64),
}

impl fmt::Display for Broken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotJson(says) => write!(f, "no JSON: {says}"),
            Self::NotARecord(says) => write!(f, "not a record: {says}"),
            Self::NotCanonical(byte) => write!(f, "byte {byte} is not as a record is written (RFC 8785): the file was altered"),
            Self::Altered { stated, found } => write!(f, "the record was altered: its SHA-256 is {found}, and {stated} stands beside it"),
            Self::LaterFormat(format) => write!(f, "a record of format {format}; this program reads up to {FORMAT}"),
        }
    }
}

impl std::error::Error for Broken {}

impl Envelope {
    /// Around a record, with its hash and no signature.
    ///
    /// # Panics
    /// Never: a record is JSON.
    #[must_use]
    pub fn around(record: &Record) -> Self {
        let record = serde_json::to_value(record).expect("a record is JSON");
        let sha256 = canonical::hex(&canonical::sha256(&canonical::bytes(&record)));
        Self { record, sha256, signatures: Vec::new() }
    }

    /// Reads the bytes of a file, and holds the record against its hash.
    ///
    /// # Errors
    /// What was altered, or keeps the bytes from being a record at all. Signatures are not looked at.
    pub fn read(bytes: &[u8]) -> Result<Self, Broken> {
        let json: Value = serde_json::from_slice(bytes).map_err(|error| Broken::NotJson(error.to_string()))?;
        let envelope: Self = serde_json::from_value(json).map_err(|error| Broken::NotARecord(error.to_string()))?;
        let canonical = envelope.bytes();
        if canonical != bytes {
            let same = canonical.iter().zip(bytes).take_while(|(one, other)| one == other).count();
            return Err(Broken::NotCanonical(same + 1));
        }
        let found = canonical::hex(&envelope.hash());
        if found != envelope.sha256 {
            return Err(Broken::Altered { stated: envelope.sha256, found });
        }
        Ok(envelope)
    }

    /// The bytes of its file.
    #[must_use]
    pub fn bytes(&self) -> Vec<u8> {
        canonical::bytes(self)
    }

    /// The hash that is signed: of the record's canonical bytes, worked out anew.
    #[must_use]
    pub fn hash(&self) -> [u8; HASH_BYTES] {
        canonical::sha256(&self.record_bytes())
    }

    /// The hash in hexadecimal, as the file states it.
    #[must_use]
    pub fn sha256(&self) -> &str {
        &self.sha256
    }

    /// The canonical bytes of the record.
    #[must_use]
    pub fn record_bytes(&self) -> Vec<u8> {
        canonical::bytes(&self.record)
    }

    /// The record as JSON.
    #[must_use]
    pub fn json(&self) -> &Value {
        &self.record
    }

    /// What the record says.
    ///
    /// # Errors
    /// Where it was made by a later program, or is not of this shape.
    pub fn record(&self) -> Result<Record, Broken> {
        match self.record.get("format").and_then(Value::as_u64) {
            Some(format) if format > u64::from(FORMAT) => Err(Broken::LaterFormat(format)),
            _ => Record::deserialize(&self.record).map_err(|error| Broken::NotARecord(error.to_string())),
        }
    }
}
