//! Seals: Ed25519 signatures over hashes, and the keys that make and check them.
//!
//! What is signed is never a bare hash: a word before it says what the hash is of, so that a signature
//! over a record can never be passed off as one over a profile. Keys are kept as RFC 8410 has them, so
//! that other programs read them and can check a signature over [`Sealed::message`].

mod key;
mod profile;

pub use key::{KeyFault, PrivateKey, PublicKey};
pub use profile::{NotSigned, ProfileSeal};

use crate::canonical::{HASH_BYTES, hex, of_hex};
use crate::envelope::{Envelope, Signature};
use std::fmt;

/// What a signed hash is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sealed {
    /// A record's canonical bytes.
    Record,
    /// The bytes of a profile's file.
    Profile,
}

impl Sealed {
    /// The bytes that are signed: what the hash is of, a newline, the hash.
    #[must_use]
    pub fn message(self, hash: &[u8; HASH_BYTES]) -> Vec<u8> {
        let what: &[u8] = match self {
            Self::Record => b"asleft record, seal 1\n",
            Self::Profile => b"asleft profile, seal 1\n",
        };
        [what, hash].concat()
    }
}

/// Why a signature does not hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SealError {
    /// Its key is none.
    Key,
    /// It is not a signature as this program writes them.
    Form,
    /// It is of something else, or by another key than the one of this short name.
    DoesNotHold(String),
}

impl fmt::Display for SealError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Key => f.write_str("it names no Ed25519 key"),
            Self::Form => f.write_str("it is no Ed25519 signature"),
            Self::DoesNotHold(key) => write!(f, "it names {key}, and that key did not sign this"),
        }
    }
}

impl std::error::Error for SealError {}

impl Signature {
    /// By whom it is, if it holds.
    ///
    /// # Errors
    /// Why it does not hold.
    pub fn holds(&self, sealed: Sealed, hash: &[u8; HASH_BYTES]) -> Result<PublicKey, SealError> {
        let key = PublicKey::of_hex(&self.key).ok_or(SealError::Key)?;
        let bytes = of_hex(&self.signature).ok_or(SealError::Form)?;
        if key.signed(&sealed.message(hash), &bytes) { Ok(key) } else { Err(SealError::DoesNotHold(key.fingerprint())) }
    }
}

impl Envelope {
    /// Adds a signature by a key; whether it is new. A key that signed already does not sign again.
    pub fn seal(&mut self, key: &PrivateKey) -> bool {
        let signature = key.sign(Sealed::Record, &self.hash());
        let is_new = self.signatures.iter().all(|earlier| earlier.key != signature.key);
        if is_new {
            self.signatures.push(signature);
        }
        is_new
    }
}

/// A signature as it is written.
fn written(key: &PublicKey, signature: &[u8]) -> Signature {
    Signature { key: key.hex(), signature: hex(signature) }
}
