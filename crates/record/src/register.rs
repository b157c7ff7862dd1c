//! The register: one SQLite file in which an office keeps its records. It only grows.
//!
//! Each entry is a record with its signatures, a short header to search by, and a link: a hash over
//! the link before it and over all that the entry holds. Whoever alters, drops or inserts an entry
//! breaks every link that follows; triggers keep programs that mean well from trying. Profiles that
//! records were judged against are kept once each, by hash, so that they can be judged again.
//!
//! A write is durable before [`Register::add`] returns: write-ahead log, `synchronous = FULL`. Several
//! programs may write at once, each waiting for the other. When a writer ends and nobody else is at
//! work, it leaves the SHA-256 of the whole file beside it ([`sum`]), so that at rest even bytes that
//! hold nothing are covered.

mod adding;
mod backup;
mod due;
mod entry;
mod listing;
mod log;
mod schema;
pub mod sum;
mod verifying;

pub use adding::{Added, NewEntry};
pub use due::{Due, DueKind};
pub use entry::{Entry, Header};
pub use listing::Filter;
pub use verifying::{ChainError, Verified};

use rusqlite::config::DbConfig;
use rusqlite::limits::Limit;
use rusqlite::{Connection, ErrorCode, OpenFlags};
use std::cell::OnceCell;
use std::path::{Path, PathBuf};
use std::time::Duration;
use thiserror::Error;

/// The version of the format of registers. It moves when a table or a column changes.
pub const FORMAT: i32 = 1;

/// What is said of a log with a commit behind damage.
const LOG_DAMAGED: &str = "the log beside it (`-wal`) was altered, and entries that were acknowledged stand behind that place";

/// How long a writer waits for others.
const PATIENCE: Duration = Duration::from_secs(60);

/// Why a register cannot be used.
#[derive(Debug, Error)]
pub enum RegisterError {
    /// There is no file.
    #[error("no register there")]
    NotThere,
    /// It is another kind of file.
    #[error("not a register: {0}")]
    NotARegister(String),
    /// It was made by a later program.
    #[error("a register of format {0}; this program reads up to {FORMAT}, so use a later one")]
    LaterFormat(i32),
    /// Something in it is not as a writer left it.
    #[error("the register is damaged: {0}; `asleft register verify --register REGISTER` says more")]
    Damaged(String),
    /// There is no room for more.
    #[error("no room on the disk: nothing was added, and all entries of before are there ({0})")]
    NoRoom(String),
    /// It may not be written to.
    #[error("it cannot be written to: nothing was added ({0})")]
    ReadOnly(String),
    /// Others were at work on it for too long.
    #[error("others are at work on it; nothing was added, try again ({0})")]
    Busy(String),
    /// A file beside it, or the place itself.
    #[error("{0}")]
    File(#[from] std::io::Error),
    /// Anything else that SQLite says.
    #[error("{0}")]
    Other(rusqlite::Error),
}

impl From<rusqlite::Error> for RegisterError {
    fn from(error: rusqlite::Error) -> Self {
        let says = error.to_string();
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::NoRoom(says),
            // a file that may not grow fails in the middle of a write
            Some(ErrorCode::SystemIoFailure) if is_write_failure(&error) => Self::NoRoom(says),
            Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => Self::ReadOnly(says),
            Some(ErrorCode::CannotOpen) => Self::ReadOnly(says),
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Busy(says),
            Some(ErrorCode::DatabaseCorrupt) => Self::Damaged(says),
            Some(ErrorCode::TooBig) => Self::Damaged("it holds more in one entry than any record has".to_owned()),
            Some(ErrorCode::NotADatabase) => Self::NotARegister("no SQLite file".to_owned()),
            _ => Self::Other(error),
        }
    }
}

fn is_write_failure(error: &rusqlite::Error) -> bool {
    use rusqlite::ffi;
    let code = error.sqlite_error().map(|error| error.extended_code);
    matches!(
        code,
        Some(
            ffi::SQLITE_IOERR_WRITE
                | ffi::SQLITE_IOERR_TRUNCATE
                | ffi::SQLITE_IOERR_SHMOPEN
                | ffi::SQLITE_IOERR_SHMSIZE
                | ffi::SQLITE_IOERR_FSYNC
        )
    )
}

/// An open register.
#[derive(Debug)]
pub struct Register {
    db: Connection,
    path: PathBuf,
    /// That its links were worked out anew before anything was read.
    is_checked: OnceCell<()>,
}

impl Register {
    /// Opens a register to read it.
    ///
    /// # Errors
    /// See [`RegisterError`].
    pub fn open(path: &Path) -> Result<Self, RegisterError> {
        if !path.is_file() {
            return Err(RegisterError::NotThere);
        }
        are_files(path)?;
        let writable = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        match Self::opened(path, plain(path)?.into(), writable) {
            // where nothing can be written, nobody else writes either
            Err(RegisterError::ReadOnly(_) | RegisterError::NoRoom(_)) if !has_log(path) => {
                let name = format!("file:{}?immutable=1", uri_path(path)?);
                Self::opened(
                    path,
                    name.into(),
                    OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI | OpenFlags::SQLITE_OPEN_NO_MUTEX,
                )
            }
            opened => opened,
        }
        .and_then(|register| {
            register.db.pragma_update(None, "query_only", true)?;
            // a log that a writer left is evidence until somebody writes again
            register.db.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, has_log(path))?;
            schema::check(&register.db)?;
            Ok(register)
        })
    }

    /// Opens a register to add to it; makes it where there is none. Whether it was made.
    ///
    /// # Errors
    /// See [`RegisterError`].
    pub fn open_or_make(path: &Path) -> Result<(Self, bool), RegisterError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        are_files(path)?;
        // a log that is written on behind damage loses what stands there for good
        if log::is_damaged(path)? {
            return Err(RegisterError::Damaged(LOG_DAMAGED.to_owned()));
        }
        let mut register = Self::opened(path, plain(path)?.into(), flags)?;
        let is_new = schema::make(&mut register.db)?;
        schema::check(&register.db)?;
        // whoever writes on behind what was altered makes it look sound
        register.check_links()?;
        let _ = register.is_checked.set(());
        schema::write_ahead(&register.db, path)?;
        register.db.pragma_update(None, "synchronous", "FULL")?;
        Ok((register, is_new))
    }

    fn opened(path: &Path, name: std::ffi::OsString, flags: OpenFlags) -> Result<Self, RegisterError> {
        let db = Connection::open_with_flags(name, flags)?;
        db.busy_timeout(PATIENCE)?;
        // records, profiles and lines of sites are read whole, and none is longer than a file that is read whole
        db.set_limit(Limit::SQLITE_LIMIT_LENGTH, LONGEST_ROW)?;
        // nothing that a file brings along is run or trusted
        db.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
        db.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
        db.pragma_update(None, "cell_size_check", true)?;
        db.pragma_update(None, "mmap_size", 0)?;
        // the first look at the file itself
        db.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get::<_, i64>(0))?;
        Ok(Self { db, path: path.to_owned(), is_checked: OnceCell::new() })
    }

    /// Where it is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }
}

/// The longest value, and row, that is read or written, in bytes: a record and a site's file of 16 MB each, and what
/// stands beside them.
const LONGEST_ROW: i32 = 48 << 20;

/// The write-ahead log of a register.
fn log_of(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push("-wal");
    name.into()
}

/// Whether a writer left something in the log.
fn has_log(path: &Path) -> bool {
    std::fs::metadata(log_of(path)).is_ok_and(|log| log.len() > 0)
}

/// Whether a register and what is kept beside it are files, as far as they are there: nobody waits for a pipe.
fn are_files(path: &Path) -> Result<(), RegisterError> {
    for end in ["", "-wal", "-shm", "-journal", ".sha256"] {
        let mut name = path.as_os_str().to_owned();
        name.push(end);
        if std::fs::metadata(&name).is_ok_and(|there| !there.is_file()) {
            let beside = if end.is_empty() { String::new() } else { format!(" beside it, as `{}`", Path::new(&name).display()) };
            return Err(RegisterError::NotARegister(format!("something is there that is no file{beside}")));
        }
    }
    Ok(())
}

/// A path that is nothing but one: SQLite takes `:memory:` and what begins with `file:` for something else,
/// where nothing that is added is ever on a disk.
fn plain(path: &Path) -> Result<PathBuf, RegisterError> {
    Ok(std::path::absolute(path)?)
}

/// A path as a URI has it.
fn uri_path(path: &Path) -> Result<String, RegisterError> {
    Ok(plain(path)?.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23"))
}
