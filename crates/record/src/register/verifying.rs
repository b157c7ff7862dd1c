//! Whether a register is as it was written: every hash worked out anew, the first fault named.

use super::entry::{BEGINNING, Header, Linked};
use super::listing::text;
use super::sum::{self, Rest};
use super::{LOG_DAMAGED, Register, RegisterError, has_log, log};
use crate::canonical::{HASH_BYTES, hex, of_hex, sha256};
use crate::envelope::Signature;
use crate::seal::Sealed;
use rusqlite::Row;
use std::collections::BTreeSet;
use thiserror::Error;

/// What a register that is as it was written comes to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verified {
    /// How many entries it has.
    pub entries: u64,
    /// How many profiles are kept with them.
    pub profiles: u64,
    /// How many signatures there are; each holds.
    pub signatures: u64,
    /// The link of the last entry: it stands for all of them.
    pub head: [u8; HASH_BYTES],
    /// Whether the file as a whole is as its last writer left it.
    pub rest: Rest,
}

/// The first fault of a register.
#[derive(Debug, Error)]
pub enum ChainError {
    /// An entry is not where it belongs.
    #[error("entry {expected} is missing: entry {found} stands in its place")]
    Missing {
        /// The number that comes next.
        expected: u64,
        /// The number found.
        found: u64,
    },
    /// A record was altered.
    #[error("the record of entry {number} was altered: its SHA-256 is {found}, and {stated} stands beside it")]
    Record {
        /// The entry.
        number: u64,
        /// The hash that it has.
        found: String,
        /// The hash that it had.
        stated: String,
    },
    /// An entry was altered, or the chain before it.
    #[error("the link of entry {0} does not fit: the entry was altered, or one before it was altered, put in or taken out")]
    Link(u64),
    /// A signature does not hold.
    #[error("a signature of entry {number} does not hold: {says}")]
    Signature {
        /// The entry.
        number: u64,
        /// Why.
        says: String,
    },
    /// An entry cannot be read.
    #[error("entry {number} cannot be read: {says}")]
    Unreadable {
        /// The entry.
        number: u64,
        /// Why.
        says: String,
    },
    /// A profile was altered.
    #[error("a kept profile was altered: its SHA-256 is {found}, and {stated} stands beside it")]
    Profile {
        /// The hash that it has.
        found: String,
        /// The hash that it had.
        stated: String,
    },
    /// A profile that an entry needs is gone.
    #[error("the profile {sha256}, which entry {number} was judged against, is gone")]
    ProfileGone {
        /// The entry.
        number: u64,
        /// The profile.
        sha256: String,
    },
    /// A link that somebody noted down is not in the chain.
    #[error("no entry has the link {0}: the register was cut short or written anew since that was noted")]
    HeadGone(String),
    /// The database itself is damaged.
    #[error("the database is damaged: {0}")]
    Database(String),
    /// All that it holds is sound, and yet its bytes are not those that its last writer left.
    #[error("bytes of the file were altered since its last writer left it; what the entries hold is as it was")]
    Sum,
    /// It cannot be used at all.
    #[error("{0}")]
    Register(RegisterError),
}

impl From<RegisterError> for ChainError {
    fn from(fault: RegisterError) -> Self {
        match fault {
            RegisterError::Damaged(says) => Self::Database(says),
            other => Self::Register(other),
        }
    }
}

impl From<rusqlite::Error> for ChainError {
    fn from(error: rusqlite::Error) -> Self {
        RegisterError::from(error).into()
    }
}

impl Register {
    /// Works out every hash and link anew, checks every signature, and has the database look at itself.
    /// `noted` is the link of an entry that somebody kept elsewhere, which has to be there still.
    ///
    /// # Errors
    /// The first fault.
    pub fn verify(&self, noted: Option<&str>, progress: &mut dyn FnMut(u64)) -> Result<Verified, ChainError> {
        // one moment of the register, whoever writes meanwhile
        let moment = self.db.is_autocommit().then(|| self.db.unchecked_transaction()).transpose()?;
        if log::is_damaged(&self.path).map_err(RegisterError::from)? {
            return Err(ChainError::Database(LOG_DAMAGED.to_owned()));
        }
        let profiles = self.profiles()?;
        let chain = self.chain(noted, &profiles, progress)?;
        let says: String = self.db.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
        if says != "ok" {
            return Err(ChainError::Database(says));
        }
        if !has_log(&self.path) {
            let size: u64 =
                self.db.query_row("SELECT page_count * page_size FROM pragma_page_count, pragma_page_size", [], |row| row.get(0))?;
            let found = std::fs::metadata(&self.path).map_err(RegisterError::from)?.len();
            if found != size {
                return Err(ChainError::Database(format!("the file has {found} bytes, where {size} belong")));
            }
        }
        drop(moment);
        let rest = sum::rest(&self.path).map_err(RegisterError::from)?;
        if rest == Rest::Altered {
            return Err(ChainError::Sum);
        }
        let Chain { entries, signatures, head, .. } = chain;
        Ok(Verified { entries, profiles: profiles.len() as u64, signatures, head, rest })
    }

    fn profiles(&self) -> Result<BTreeSet<String>, ChainError> {
        let mut select = self.db.prepare("SELECT sha256, text FROM profile")?;
        let mut rows = select.query([])?;
        let mut kept = BTreeSet::new();
        while let Some(row) = rows.next()? {
            let stated: [u8; HASH_BYTES] = row.get(0)?;
            let found = sha256(text(row, 1)?.as_bytes());
            if found != stated {
                return Err(ChainError::Profile { found: hex(&found), stated: hex(&stated) });
            }
            kept.insert(hex(&stated));
        }
        Ok(kept)
    }

    fn chain(&self, noted: Option<&str>, profiles: &BTreeSet<String>, progress: &mut dyn FnMut(u64)) -> Result<Chain, ChainError> {
        let mut chain = Chain { entries: 0, signatures: 0, head: BEGINNING, has_noted: noted.is_none() };
        self.each_link("record", &mut |entry, link, row| {
            let (number, stated) = (entry.number, entry.record_sha256);
            let unreadable = |error: &dyn std::fmt::Display| ChainError::Unreadable { number, says: error.to_string() };
            let found = sha256(row.get_ref(7)?.as_blob().map_err(|error| unreadable(&error))?);
            if found != *stated {
                return Err(ChainError::Record { number, found: hex(&found), stated: hex(stated) });
            }
            let signatures = signed(number, entry.signatures, stated);
            chain.signatures += signatures.map_err(|fault| fault.unwrap_or_else(|error| unreadable(&error)))?;
            let header: Header = serde_json::from_str(entry.header).map_err(|error| unreadable(&error))?;
            if let Some(gone) = header.profiles.into_iter().find(|sha256| !profiles.contains(sha256)) {
                return Err(ChainError::ProfileGone { number, sha256: gone });
            }
            chain.has_noted |= noted.is_some_and(|noted| of_hex(noted) == Some(*link));
            (chain.entries, chain.head) = (number, *link);
            progress(number);
            Ok(())
        })?;
        match noted {
            Some(noted) if !chain.has_noted => Err(ChainError::HeadGone(noted.to_owned())),
            _ => Ok(chain),
        }
    }

    /// Works out every link anew, once, before anything is read: what is read from here on, at this moment
    /// of the register, is what its writers wrote. Records and profiles are held against their hashes when
    /// one is asked for.
    ///
    /// # Errors
    /// The first fault.
    pub(super) fn sound(&self) -> Result<(), RegisterError> {
        if self.is_checked.get().is_none() {
            // whatever is added or altered meanwhile is not seen
            self.db.execute_batch("BEGIN")?;
            self.check_links()?;
            let _ = self.is_checked.set(());
        }
        Ok(())
    }

    /// Works out every link anew.
    ///
    /// # Errors
    /// The first fault.
    pub(super) fn check_links(&self) -> Result<(), RegisterError> {
        self.each_link("NULL", &mut |_, _, _| Ok(())).map_err(|fault| match fault {
            ChainError::Register(fault) => fault,
            fault => RegisterError::Damaged(fault.to_string()),
        })
    }

    /// Every entry in order, with its link, which is held against what it is of after `look`. The last
    /// column of a row is `record`.
    fn each_link(&self, record: &str, look: &mut Look<'_>) -> Result<(), ChainError> {
        let columns = "number, header, link, record_sha256, signatures, site_line, length(record)";
        let mut select = self.db.prepare(&format!("SELECT {columns}, {record} FROM entry ORDER BY number"))?;
        let mut rows = select.query([])?;
        let (mut entries, mut before) = (0, BEGINNING);
        loop {
            // what cannot be read is the next entry
            let next = entries + 1;
            let unreadable = |error: &dyn std::fmt::Display| ChainError::Unreadable { number: next, says: error.to_string() };
            let Some(row) = rows.next().map_err(|error| unreadable(&error))? else { return Ok(()) };
            let number: u64 = row.get(0).map_err(|error| unreadable(&error))?;
            if number != next {
                return Err(ChainError::Missing { expected: next, found: number });
            }
            let column = |n| text(row, n).map_err(|error| unreadable(&error));
            let entry = Linked {
                number,
                record_sha256: &row.get(3).map_err(|error| unreadable(&error))?,
                record_bytes: row.get(6).map_err(|error| unreadable(&error))?,
                header: column(1)?,
                signatures: column(4)?,
                site_line: column(5)?,
            };
            let link: [u8; HASH_BYTES] = row.get(2).map_err(|error| unreadable(&error))?;
            look(&entry, &link, row)?;
            if entry.after(&before) != link {
                return Err(ChainError::Link(number));
            }
            (entries, before) = (number, link);
        }
    }
}

/// Looks at an entry, its link and its row.
type Look<'l> = dyn FnMut(&Linked<'_>, &[u8; HASH_BYTES], &Row<'_>) -> Result<(), ChainError> + 'l;

struct Chain {
    entries: u64,
    signatures: u64,
    head: [u8; HASH_BYTES],
    has_noted: bool,
}

/// How many signatures an entry has, if all of them hold.
fn signed(number: u64, signatures: &str, hash: &[u8; HASH_BYTES]) -> Result<u64, Result<ChainError, serde_json::Error>> {
    let signatures: Vec<Signature> = serde_json::from_str(signatures).map_err(Err)?;
    for signature in &signatures {
        signature.holds(Sealed::Record, hash).map_err(|fault| Ok(ChainError::Signature { number, says: fault.to_string() }))?;
    }
    Ok(signatures.len() as u64)
}
