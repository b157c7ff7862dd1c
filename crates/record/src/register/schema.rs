//! The tables of a register, and whether a file has these and no others.

use super::{FORMAT, RegisterError};
use rusqlite::{Connection, TransactionBehavior};

/// `aslf`, in the header of the file.
const APPLICATION: i32 = 0x6173_6c66;

/// Every table, index and trigger, by name. What a file says of itself is compared with these word for word.
const SCHEMA: [(&str, &str); 10] = [
    (
        "entry",
        "CREATE TABLE entry (
  number INTEGER PRIMARY KEY CHECK (number > 0),
  header TEXT NOT NULL,
  link BLOB NOT NULL CHECK (length(link) = 32),
  record_sha256 BLOB NOT NULL CHECK (length(record_sha256) = 32),
  signatures TEXT NOT NULL,
  site_line TEXT NOT NULL,
  record BLOB NOT NULL,
  site TEXT NOT NULL GENERATED ALWAYS AS (header ->> '$.site') VIRTUAL,
  as_of TEXT NOT NULL GENERATED ALWAYS AS (header ->> '$.as-of') VIRTUAL
) STRICT",
    ),
    ("entry_by_site", "CREATE INDEX entry_by_site ON entry (site, as_of, number)"),
    ("entry_by_record", "CREATE INDEX entry_by_record ON entry (record_sha256)"),
    (
        "profile",
        "CREATE TABLE profile (
  sha256 BLOB PRIMARY KEY CHECK (length(sha256) = 32),
  text TEXT NOT NULL
) STRICT",
    ),
    (
        "entry_is_next",
        "CREATE TRIGGER entry_is_next BEFORE INSERT ON entry
WHEN NEW.number IS NOT (SELECT coalesce(max(number), 0) + 1 FROM entry)
BEGIN SELECT raise(ABORT, 'an entry follows the last one'); END",
    ),
    (
        "entry_stays_as_it_is",
        "CREATE TRIGGER entry_stays_as_it_is BEFORE UPDATE ON entry
BEGIN SELECT raise(ABORT, 'the register only grows'); END",
    ),
    (
        "entry_stays",
        "CREATE TRIGGER entry_stays BEFORE DELETE ON entry
BEGIN SELECT raise(ABORT, 'the register only grows'); END",
    ),
    (
        "profile_is_kept_once",
        "CREATE TRIGGER profile_is_kept_once BEFORE INSERT ON profile
WHEN EXISTS (SELECT 1 FROM profile WHERE sha256 = NEW.sha256)
BEGIN SELECT raise(IGNORE); END",
    ),
    (
        "profile_stays_as_it_is",
        "CREATE TRIGGER profile_stays_as_it_is BEFORE UPDATE ON profile
BEGIN SELECT raise(ABORT, 'the register only grows'); END",
    ),
    (
        "profile_stays",
        "CREATE TRIGGER profile_stays BEFORE DELETE ON profile
BEGIN SELECT raise(ABORT, 'the register only grows'); END",
    ),
];

/// Makes the tables in a file that has nothing yet; whether it had nothing.
pub(super) fn make(db: &mut Connection) -> Result<bool, RegisterError> {
    if !is_empty(db)? {
        return Ok(false);
    }
    db.pragma_update(None, "journal_mode", "WAL")?;
    let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // another writer may have been first
    if !is_empty(&transaction)? {
        return Ok(false);
    }
    for (_, sql) in SCHEMA {
        transaction.execute_batch(sql)?;
    }
    transaction.pragma_update(None, "application_id", APPLICATION)?;
    transaction.pragma_update(None, "user_version", FORMAT)?;
    transaction.commit()?;
    Ok(true)
}

/// A copy that is written to has a log again.
pub(super) fn write_ahead(db: &Connection, path: &std::path::Path) -> Result<(), RegisterError> {
    let mode: String = db.pragma_query_value(None, "journal_mode", |row| row.get(0))?;
    if mode != "wal" {
        super::sum::remove(path)?;
        db.pragma_update(None, "journal_mode", "WAL")?;
    }
    Ok(())
}

fn is_empty(db: &Connection) -> Result<bool, RegisterError> {
    let objects: i64 = db.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    Ok(objects == 0 && pragma(db, "application_id")? == 0 && pragma(db, "user_version")? == 0)
}

fn pragma(db: &Connection, name: &str) -> rusqlite::Result<i32> {
    db.pragma_query_value(None, name, |row| row.get(0))
}

/// Whether a file is a register of this format, with the tables that this program makes and nothing else.
pub(super) fn check(db: &Connection) -> Result<(), RegisterError> {
    if pragma(db, "application_id")? != APPLICATION {
        return Err(RegisterError::NotARegister("an SQLite file of something else".to_owned()));
    }
    match pragma(db, "user_version")? {
        FORMAT => {}
        later if later > FORMAT => return Err(RegisterError::LaterFormat(later)),
        other => return Err(RegisterError::NotARegister(format!("its format says {other}"))),
    }
    let mut statement = db.prepare("SELECT name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite_autoindex_%' ORDER BY rowid")?;
    let found = statement.query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, Option<String>>(1)?)))?;
    let found = found.collect::<Result<Vec<_>, _>>()?;
    for (name, sql) in &found {
        match SCHEMA.iter().find(|(known, _)| known == name) {
            None => return Err(RegisterError::NotARegister(format!("it has `{name}`, which no register has"))),
            Some((_, known)) if Some(*known) != sql.as_deref() => {
                return Err(RegisterError::NotARegister(format!("its `{name}` is not as this program makes it")));
            }
            Some(_) => {}
        }
    }
    match SCHEMA.iter().find(|(name, _)| found.iter().all(|(other, _)| other != name)) {
        Some((name, _)) => Err(RegisterError::NotARegister(format!("its `{name}` is missing"))),
        None => Ok(()),
    }
}
