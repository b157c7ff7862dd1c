//! A copy that is consistent whoever writes meanwhile, and stands by itself.

use super::{Register, RegisterError, plain, sum};
use rusqlite::{Connection, OpenFlags};
use std::path::Path;
use std::{fs, io};
use whole_file::Partial;

impl Register {
    /// Writes a copy of one moment to a new file, with its sum beside it. The copy has no log and can
    /// be read from a medium that cannot be written to.
    ///
    /// # Errors
    /// Where something is there already, and what [`RegisterError`] says; nothing is left behind then.
    pub fn backup(&self, to: &Path) -> Result<(), RegisterError> {
        let is_taken = || io::Error::new(io::ErrorKind::AlreadyExists, "something is there already; name a new file");
        if sum::beside(to).exists() {
            return Err(is_taken().into());
        }
        // the name is taken first, so that nothing that comes meanwhile is written over
        fs::File::create_new(to).map_err(|error| if error.kind() == io::ErrorKind::AlreadyExists { is_taken() } else { error })?;
        let made = self.moved_to(to).and_then(|()| Ok(sum::write(to)?));
        if made.is_err() {
            let _ = fs::remove_file(to);
        }
        made
    }

    fn moved_to(&self, to: &Path) -> Result<(), RegisterError> {
        let partial = Partial::beside(to)?;
        self.copy(partial.path())?;
        Ok(partial.keep()?)
    }

    fn copy(&self, to: &Path) -> Result<(), RegisterError> {
        // the file is there, so that none but it is written
        let mut copy = Connection::open_with_flags(plain(to)?, OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
        {
            let backup = rusqlite::backup::Backup::new(&self.db, &mut copy)?;
            backup.run_to_completion(1 << 12, std::time::Duration::ZERO, None)?;
        }
        copy.pragma_update(None, "journal_mode", "DELETE")?;
        copy.close().map_err(|(_, error)| error.into())
    }
}
