//! A copy that is consistent whoever writes meanwhile, and stands by itself.

use super::{Register, RegisterFault, sum};
use rusqlite::Connection;
use std::path::Path;
use std::{fs, io};

impl Register {
    /// Writes a copy of one moment to a new file, with its sum beside it. The copy has no log and can
    /// be read from a medium that cannot be written to.
    ///
    /// # Errors
    /// Where something is there already, and what [`RegisterFault`] says; nothing is left behind then.
    pub fn backup(&self, to: &Path) -> Result<(), RegisterFault> {
        let is_taken = || io::Error::new(io::ErrorKind::AlreadyExists, "something is there already; name a new file");
        if sum::beside(to).exists() {
            return Err(is_taken().into());
        }
        // the name is taken first, so that nothing that comes meanwhile is written over
        fs::File::create_new(to).map_err(|error| if error.kind() == io::ErrorKind::AlreadyExists { is_taken() } else { error })?;
        let partial =
            to.with_file_name(format!(".{}.{}.partial", to.file_name().unwrap_or_default().to_string_lossy(), std::process::id()));
        let made = self.copy(&partial).and_then(|()| Ok(fs::File::open(&partial)?.sync_all()?));
        let moved = made.and_then(|()| Ok(fs::rename(&partial, to)?)).and_then(|()| Ok(sum::write(to)?));
        if moved.is_err() {
            let _ = (fs::remove_file(&partial), fs::remove_file(to));
        }
        moved
    }

    fn copy(&self, to: &Path) -> Result<(), RegisterFault> {
        let mut copy = Connection::open(to)?;
        {
            let backup = rusqlite::backup::Backup::new(&self.db, &mut copy)?;
            backup.run_to_completion(1 << 12, std::time::Duration::ZERO, None)?;
        }
        copy.pragma_update(None, "journal_mode", "DELETE")?;
        copy.close().map_err(|(_, error)| error.into())
    }
}
