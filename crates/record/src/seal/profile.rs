//! The file beside a profile that holds its signatures.

use super::{PrivateKey, PublicKey, SealError, Sealed};
use crate::canonical::{self, hex, sha256};
use crate::envelope::Signature;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Signatures over a profile's text, kept in a file beside it: `3.0.0.yaml.sig`. Canonical JSON, as
/// records are.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ProfileSeal {
    /// SHA-256 of the profile's file, in hexadecimal, as `sha256sum` prints it.
    #[schemars(regex(pattern = "^[0-9a-f]{64}$"))]
    pub sha256: String,
    /// Who signed it.
    pub signatures: Vec<Signature>,
}

impl ProfileSeal {
    /// For a text, with no signature yet.
    #[must_use]
    pub fn of(text: &[u8]) -> Self {
        Self { sha256: hex(&sha256(text)), signatures: Vec::new() }
    }

    /// Reads the bytes of a file; `None` where they are not what this program writes.
    #[must_use]
    pub fn read(bytes: &[u8]) -> Option<Self> {
        let seal: Self = serde_json::from_slice(bytes).ok()?;
        (seal.bytes() == bytes).then_some(seal)
    }

    /// The bytes of its file.
    #[must_use]
    pub fn bytes(&self) -> Vec<u8> {
        canonical::bytes(self)
    }

    /// Adds a signature over a text; whether it is new.
    pub fn sign(&mut self, key: &PrivateKey, text: &[u8]) -> bool {
        let signature = key.sign(Sealed::Profile, &sha256(text));
        let is_new = self.signatures.iter().all(|earlier| earlier.key != signature.key);
        if is_new {
            self.signatures.push(signature);
        }
        is_new
    }

    /// Whether one of these keys signed this text, and every signature in the file holds.
    ///
    /// # Errors
    /// Why not.
    pub fn is_by(&self, keys: &[PublicKey], text: &[u8]) -> Result<PublicKey, NotSigned> {
        let hash = sha256(text);
        if hex(&hash) != self.sha256 {
            return Err(NotSigned::Altered);
        }
        let mut by = Vec::new();
        for signature in &self.signatures {
            by.push(signature.holds(Sealed::Profile, &hash).map_err(NotSigned::Fault)?);
        }
        let ours = by.iter().find(|key| keys.contains(key)).copied();
        ours.ok_or_else(|| NotSigned::ByOthers(by.iter().map(PublicKey::fingerprint).collect()))
    }
}

/// Why a profile does not count as signed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotSigned {
    /// The text is another than the one that was signed.
    Altered,
    /// A signature does not hold.
    Fault(SealError),
    /// It is signed by these keys, and by none of those that are wanted.
    ByOthers(Vec<String>),
}
