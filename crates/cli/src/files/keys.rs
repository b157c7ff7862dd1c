//! Key files: private ones that nobody else may read, public ones for everybody.

use record::seal::{PrivateKey, PublicKey};
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

fn about(path: &Path, says: impl std::fmt::Display) -> io::Error {
    io::Error::other(format!("{}: {says}", terminal::path(path)))
}

/// The file of the public key that belongs to a private one's.
pub fn public_beside(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".pub");
    name.into()
}

/// Writes a new pair: the private key for its owner alone, the public one beside it. Neither file may
/// be there yet; where one cannot be written, neither stays.
pub fn write_new(key: &PrivateKey, path: &Path) -> io::Result<()> {
    let beside = public_beside(path);
    let is_there = |path: &Path| about(path, "is there already, and a key is never written over; name another file");
    if fs::symlink_metadata(&beside).is_ok() {
        return Err(is_there(&beside));
    }
    let new = |path: &Path, options: &mut OpenOptions, text: &[u8]| -> io::Result<()> {
        let mut file = options.write(true).create_new(true).open(path).map_err(|error| match error.kind() {
            io::ErrorKind::AlreadyExists => is_there(path),
            _ => about(path, error),
        })?;
        file.write_all(text).and_then(|()| file.sync_all()).map_err(|error| {
            let _ = fs::remove_file(path);
            about(path, error)
        })
    };
    new(path, owner_only(&mut OpenOptions::new()), key.text().as_bytes())?;
    new(&beside, &mut OpenOptions::new(), key.public().text().as_bytes()).inspect_err(|_| {
        let _ = fs::remove_file(path);
    })
}

#[cfg(unix)]
fn owner_only(options: &mut OpenOptions) -> &mut OpenOptions {
    use std::os::unix::fs::OpenOptionsExt;
    options.mode(0o600)
}

#[cfg(not(unix))]
fn owner_only(options: &mut OpenOptions) -> &mut OpenOptions {
    options
}

/// Reads a private key, unless others may read it too.
pub fn private(path: &Path) -> io::Result<PrivateKey> {
    let file = super::regular(path).map_err(|error| about(path, error))?;
    refuse_shared(&file).map_err(|says| about(path, says))?;
    drop(file);
    PrivateKey::of_text(&super::text(path)?).map_err(|fault| about(path, fault))
}

#[cfg(unix)]
fn refuse_shared(file: &File) -> Result<(), String> {
    use std::os::unix::fs::PermissionsExt;
    let mode = file.metadata().map_err(|error| error.to_string())?.permissions().mode() & 0o777;
    if mode & 0o077 == 0 {
        return Ok(());
    }
    Err(format!(
        "others may read this private key (mode {mode:03o}); take it from them with `chmod 600`, and think whether it is still yours alone"
    ))
}

#[cfg(not(unix))]
fn refuse_shared(_: &File) -> Result<(), String> {
    Ok(())
}

/// Reads a public key.
pub fn public(path: &Path) -> io::Result<PublicKey> {
    PublicKey::of_text(&super::text(path)?).map_err(|fault| about(path, fault))
}
