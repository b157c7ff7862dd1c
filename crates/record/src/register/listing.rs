//! Finding entries.

use super::entry::{Entry, Header, file_of};
use super::{ChainError, Register, RegisterError};
use crate::canonical::{HASH_BYTES, hex, sha256};
use rules::provenance::Verdict;
use rusqlite::{OptionalExtension, Row, params};

/// Which entries are asked for; what is `None` or empty asks for nothing.
#[derive(Clone, Debug, Default)]
pub struct Filter {
    /// Of these sites.
    pub sites: Vec<String>,
    /// Of this company.
    pub company: Option<String>,
    /// Of this branch.
    pub branch: Option<String>,
    /// Of this crew.
    pub crew: Option<String>,
    /// That came to this.
    pub verdict: Option<Verdict>,
    /// Made for this day or a later one: `2026-02-03`.
    pub since: Option<String>,
    /// Every entry, and not only the newest state of each site.
    pub all: bool,
}

impl Filter {
    fn admits(&self, header: &Header) -> bool {
        let is = |wanted: &Option<String>, found: &Option<String>| wanted.is_none() || wanted == found;
        let who = &header.answerable;
        is(&self.company, &who.company)
            && is(&self.branch, &who.branch)
            && is(&self.crew, &who.crew)
            && self.verdict.is_none_or(|wanted| wanted == header.verdict)
            && self.since.as_ref().is_none_or(|since| *since <= header.as_of)
    }
}

/// The columns of an entry without its record.
const SHORT: &str = "number, header, link, record_sha256, signatures, iif(header ->> '$.figures' IS NULL, CAST(record AS TEXT) -> '$.verdict.figures', NULL)";
/// That there is no later state of the same site. The day that a record was made for comes first, so
/// that an old record that is registered late does not become the newest.
const NEWEST: &str =
    "number = (SELECT number FROM entry AS of_site WHERE of_site.site = entry.site ORDER BY as_of DESC, number DESC LIMIT 1)";

impl Register {
    /// The entries that a filter admits, by site and then by number; of each, its site line too.
    ///
    /// # Errors
    /// See [`RegisterError`].
    pub fn each(&self, filter: &Filter, take: &mut dyn FnMut(Entry, &str) -> Result<(), RegisterError>) -> Result<(), RegisterError> {
        self.sound()?;
        let newest = if filter.all { "true" } else { NEWEST };
        let mut of = |place: &str, site: Option<&String>| -> Result<(), RegisterError> {
            let mut select =
                self.db.prepare(&format!("SELECT {SHORT}, site_line FROM entry WHERE {place} AND {newest} ORDER BY site, number"))?;
            let mut rows = match site {
                Some(site) => select.query([site])?,
                None => select.query([])?,
            };
            while let Some(row) = rows.next()? {
                let entry = short(row)?;
                if filter.admits(&entry.header) {
                    take(entry, text(row, 6)?)?;
                }
            }
            Ok(())
        };
        if filter.sites.is_empty() {
            return of("true", None);
        }
        filter.sites.iter().try_for_each(|site| of("site = ?1", Some(site)))
    }

    /// The entry of this number.
    ///
    /// # Errors
    /// See [`RegisterError`].
    pub fn entry(&self, number: u64) -> Result<Option<Entry>, RegisterError> {
        self.sound()?;
        let mut select = self.db.prepare_cached(&format!("SELECT {SHORT} FROM entry WHERE number = ?1"))?;
        let mut rows = select.query([number])?;
        rows.next()?.map(short).transpose()
    }

    /// The entries of a record, by its hash.
    ///
    /// # Errors
    /// See [`RegisterError`].
    pub fn of_record(&self, record_sha256: &[u8; HASH_BYTES]) -> Result<Vec<Entry>, RegisterError> {
        self.sound()?;
        let mut select = self.db.prepare_cached(&format!("SELECT {SHORT} FROM entry WHERE record_sha256 = ?1 ORDER BY number"))?;
        let mut rows = select.query([record_sha256])?;
        let mut entries = Vec::new();
        while let Some(row) = rows.next()? {
            entries.push(short(row)?);
        }
        Ok(entries)
    }

    /// The bytes of the file that the record of an entry came in.
    ///
    /// # Errors
    /// See [`RegisterError`]; a record that has another hash than its entry says is damage.
    pub fn file(&self, number: u64) -> Result<Option<Vec<u8>>, RegisterError> {
        self.sound()?;
        let mut select = self.db.prepare_cached("SELECT record, record_sha256, signatures FROM entry WHERE number = ?1")?;
        let parts = select.query_row([number], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)));
        let Some((record, stated, signatures)) = parts.optional()? else { return Ok(None) };
        let (record, stated, signatures): (Vec<u8>, [u8; HASH_BYTES], String) = (record, stated, signatures);
        let found = sha256(&record);
        if found != stated {
            return Err(RegisterError::Damaged(ChainError::Record { number, found: hex(&found), stated: hex(&stated) }.to_string()));
        }
        Ok(Some(file_of(&record, &stated, &signatures)))
    }

    /// The text of a profile, by its hash.
    ///
    /// # Errors
    /// See [`RegisterError`]; a text that has another hash is damage.
    pub fn profile(&self, stated: &[u8; HASH_BYTES]) -> Result<Option<String>, RegisterError> {
        let mut select = self.db.prepare_cached("SELECT text FROM profile WHERE sha256 = ?1")?;
        let Some(text) = select.query_row(params![stated], |row| row.get::<_, String>(0)).optional()? else { return Ok(None) };
        let found = sha256(text.as_bytes());
        match found == *stated {
            true => Ok(Some(text)),
            false => Err(RegisterError::Damaged(ChainError::Profile { found: hex(&found), stated: hex(stated) }.to_string())),
        }
    }

    /// How many entries there are.
    ///
    /// # Errors
    /// See [`RegisterError`].
    pub fn len(&self) -> Result<u64, RegisterError> {
        self.sound()?;
        Ok(self.db.query_row("SELECT coalesce(max(number), 0) FROM entry", [], |row| row.get(0))?)
    }

    /// Whether there is none.
    ///
    /// # Errors
    /// See [`RegisterError`].
    pub fn is_empty(&self) -> Result<bool, RegisterError> {
        self.len().map(|entries| entries == 0)
    }
}

fn short(row: &Row<'_>) -> Result<Entry, RegisterError> {
    let number: u64 = row.get(0)?;
    let damaged = |error: serde_json::Error| RegisterError::Damaged(format!("entry {number}: {error}"));
    let mut header: Header = serde_json::from_str(text(row, 1)?).map_err(damaged)?;
    if header.figures.is_none() {
        header.figures = Some(serde_json::from_str(text(row, 5)?).map_err(damaged)?);
    }
    Ok(Entry {
        number,
        header,
        link: row.get(2)?,
        record_sha256: row.get(3)?,
        signatures: serde_json::from_str(text(row, 4)?).map_err(damaged)?,
    })
}

/// The text of a column, without a copy.
pub(super) fn text<'r>(row: &'r Row<'_>, column: usize) -> Result<&'r str, RegisterError> {
    row.get_ref(column)?.as_str().map_err(|error| RegisterError::Damaged(format!("column {column}: {error}")))
}
