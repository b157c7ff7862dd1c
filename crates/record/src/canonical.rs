//! The one way to write a piece of JSON: RFC 8785, the JSON Canonicalization Scheme. Keys in the order
//! of their UTF-16 units, numbers as ECMAScript prints them, no space anywhere.

use serde::Serialize;
use sha2::{Digest, Sha256};
use std::io::{self, Read};

/// How many bytes SHA-256 gives.
pub const HASH_BYTES: usize = 32;

/// The canonical bytes of a value.
///
/// # Panics
/// For what JSON cannot say: maps whose keys are no text, numbers that are not finite. The types of
/// this crate have neither.
#[must_use]
pub fn bytes(value: &impl Serialize) -> Vec<u8> {
    serde_jcs::to_vec(value).expect("records hold text, whole numbers, lists and maps")
}

/// SHA-256 of bytes.
#[must_use]
pub fn sha256(bytes: &[u8]) -> [u8; HASH_BYTES] {
    Sha256::digest(bytes).into()
}

/// SHA-256 of all that is read.
///
/// # Errors
/// What reading ends in.
pub fn sha256_of(mut input: impl Read) -> io::Result<[u8; HASH_BYTES]> {
    let (mut hasher, mut block) = (Sha256::new(), vec![0; 1 << 16]);
    loop {
        match input.read(&mut block) {
            Ok(0) => return Ok(hasher.finalize().into()),
            Ok(read) => hasher.update(&block[..read]),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
}

/// A hash in hexadecimal, as `sha256sum` prints it.
#[must_use]
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Bytes of just as many pairs of hexadecimal digits, as [`hex`] writes them.
#[must_use]
pub fn of_hex<const N: usize>(text: &str) -> Option<[u8; N]> {
    let digit = |byte: u8| match byte {
        b'0'..=b'9' => Some(byte - b'0'),
        b'a'..=b'f' => Some(byte - b'a' + 10),
        _ => None,
    };
    let mut bytes = [0; N];
    if text.len() != 2 * N {
        return None;
    }
    for (byte, pair) in bytes.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
        *byte = digit(pair[0])? << 4 | digit(pair[1])?;
    }
    Some(bytes)
}
