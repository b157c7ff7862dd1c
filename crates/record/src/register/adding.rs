//! Adding: whole or not at all, and durable before it returns.

use super::entry::{BEGINNING, Header, Linked, signatures_of};
use super::{ChainError, Register, RegisterError, sum};
use crate::canonical::{self, HASH_BYTES, hex, sha256};
use crate::envelope::{Envelope, Signature};
use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};

/// What is to be added.
#[derive(Debug)]
pub struct NewEntry<'n> {
    /// The record, with its signatures.
    pub envelope: &'n Envelope,
    /// What it is found by.
    pub header: Header,
    /// The site's file as one line of JSON, as fleets are given.
    pub site_line: String,
    /// The texts of the profiles whose hashes the header names.
    pub profiles: Vec<String>,
}

/// What came of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Added {
    /// It is an entry now.
    Entry {
        /// Its number.
        number: u64,
        /// Its link.
        link: [u8; HASH_BYTES],
    },
    /// The same record, with all of these signatures, is there already; nothing was changed.
    Known {
        /// The number of that entry.
        number: u64,
    },
}

impl Register {
    /// Adds records, all of them or none. They are on the disk when this returns.
    ///
    /// # Errors
    /// See [`RegisterError`]; nothing was added then.
    pub fn add(&mut self, entries: &[NewEntry<'_>]) -> Result<Vec<Added>, RegisterError> {
        let transaction = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let added = entries.iter().map(|entry| add(&transaction, entry)).collect::<Result<Vec<_>, _>>()?;
        if added.iter().any(|one| matches!(one, Added::Entry { .. })) {
            // the file is not at rest from here on
            sum::remove(&self.path)?;
        }
        transaction.commit()?;
        Ok(added)
    }

    /// Ends the work of a writer: where nobody else is at work, the log is brought into the file, and
    /// the file's sum is left beside it. Whether it was.
    ///
    /// # Errors
    /// Nothing that was added is lost by one.
    pub fn settle(self) -> Result<bool, RegisterError> {
        sum::settle(&self.db, &self.path)
    }
}

fn add(db: &Connection, new: &NewEntry<'_>) -> Result<Added, RegisterError> {
    let (record, record_sha256) = (new.envelope.record_bytes(), new.envelope.hash());
    if let Some(number) = known(db, &record_sha256, &new.envelope.signatures)? {
        return Ok(Added::Known { number });
    }
    let last = db
        .prepare_cached("SELECT number, link FROM entry ORDER BY number DESC LIMIT 1")?
        .query_row([], |row| Ok((row.get(0)?, row.get(1)?)));
    let (last, before): (u64, [u8; HASH_BYTES]) = last.optional()?.unwrap_or((0, BEGINNING));
    let header = String::from_utf8(canonical::bytes(&new.header)).expect("JSON is UTF-8");
    let signatures = signatures_of(new.envelope);
    let number = last + 1;
    let linked = Linked {
        number,
        record_sha256: &record_sha256,
        record_bytes: record.len() as u64,
        header: &header,
        signatures: &signatures,
        site_line: &new.site_line,
    };
    let link = linked.after(&before);
    for text in &new.profiles {
        let mut insert = db.prepare_cached("INSERT INTO profile (sha256, text) VALUES (?1, ?2)")?;
        insert.execute(params![sha256(text.as_bytes()), text])?;
    }
    let mut insert = db.prepare_cached(
        "INSERT INTO entry (number, header, link, record_sha256, signatures, site_line, record) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    )?;
    insert.execute(params![number, header, link, record_sha256, signatures, new.site_line, record])?;
    Ok(Added::Entry { number, link })
}

/// The entry of this record that has all of these signatures.
fn known(db: &Connection, record_sha256: &[u8; HASH_BYTES], signatures: &[Signature]) -> Result<Option<u64>, RegisterError> {
    let mut select = db.prepare_cached("SELECT number, signatures, record FROM entry WHERE record_sha256 = ?1 ORDER BY number")?;
    let mut rows = select.query([record_sha256])?;
    while let Some(row) = rows.next()? {
        let (number, kept): (u64, String) = (row.get(0)?, row.get(1)?);
        // what is said to be there already has to be there
        let found = row.get_ref(2)?.as_blob().map(sha256).map_err(|error| RegisterError::Damaged(format!("entry {number}: {error}")))?;
        if found != *record_sha256 {
            return Err(RegisterError::Damaged(ChainError::Record { number, found: hex(&found), stated: hex(record_sha256) }.to_string()));
        }
        let kept: Vec<Signature> =
            serde_json::from_str(&kept).map_err(|error| RegisterError::Damaged(format!("entry {number}: {error}")))?;
        if signatures.iter().all(|signature| kept.contains(signature)) {
            return Ok(Some(number));
        }
    }
    Ok(None)
}
