//! The sum of a register at rest: SHA-256 of the whole file, in a file beside it that `sha256sum -c`
//! reads too.
//!
//! The links cover all that entries hold. A database has bytes that hold nothing besides, and copies
//! of columns in its indexes; the sum covers those too, from the moment when the last writer went until
//! the next one comes, who takes it away before it writes. Without a sum, a writer was stopped before
//! its end: what it acknowledged is in the file and its log.

use super::{RegisterError, has_log};
use crate::canonical::{HASH_BYTES, hex, sha256_of};
use rusqlite::Connection;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use whole_file::Partial;

/// The file beside a register that holds its sum.
#[must_use]
pub fn beside(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".sha256");
    name.into()
}

/// More than a sum and the longest name of a file.
const LONGEST: u64 = 1024;

/// How a register and its sum stand to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rest {
    /// The file is byte for byte as its last writer left it.
    AsLeft,
    /// It is not.
    Altered,
    /// There is no sum: a writer is at work, or was stopped before its end.
    NoSum,
}

/// Holds a register against its sum.
///
/// # Errors
/// Where a file cannot be read.
pub fn rest(path: &Path) -> io::Result<Rest> {
    let mut stated = Vec::new();
    match File::open(beside(path)).and_then(|file| file.take(LONGEST).read_to_end(&mut stated)) {
        Ok(_) => {}
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Rest::NoSum),
        Err(error) => return Err(error),
    };
    Ok(if stated == line(path, &of_file(path)?) { Rest::AsLeft } else { Rest::Altered })
}

/// As `sha256sum` prints it.
fn line(path: &Path, sum: &[u8; HASH_BYTES]) -> Vec<u8> {
    let name = path.file_name().map(|name| name.to_string_lossy()).unwrap_or_default();
    format!("{}  {name}\n", hex(sum)).into_bytes()
}

pub(super) fn of_file(path: &Path) -> io::Result<[u8; HASH_BYTES]> {
    sha256_of(File::open(path)?)
}

/// Takes the sum away: the file is about to change.
pub(super) fn remove(path: &Path) -> io::Result<()> {
    match fs::remove_file(beside(path)) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

/// Writes the sum of a file that nobody writes to.
pub(super) fn write(path: &Path) -> io::Result<()> {
    let (sum, place) = (of_file(path)?, beside(path));
    let mut partial = Partial::beside(&place)?;
    partial.write_all(&line(path, &sum))?;
    partial.keep()
}

/// Brings the log into the file and writes the sum, unless others are at work.
pub(super) fn settle(db: &Connection, path: &Path) -> Result<bool, RegisterError> {
    db.busy_timeout(std::time::Duration::ZERO)?;
    let busy: i64 = db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    // from here on nobody begins to write
    if busy != 0 || db.execute_batch("BEGIN IMMEDIATE").is_err() {
        return Ok(false);
    }
    let is_at_rest = !has_log(path);
    let written = if is_at_rest { write(path) } else { Ok(()) };
    db.execute_batch("ROLLBACK")?;
    written?;
    Ok(is_at_rest)
}
