//! Files that somebody names, opened: only what is a file, unpacked where it is packed, folders entered once.
//!
//! Says nothing of what a file holds. How a file is written: `whole-file`.

pub mod folders;
pub mod not_text;
mod unpacked;

use std::fs;
use std::io::{self, Read};
use std::path::Path;

pub use unpacked::unpacked;

/// A file to read from, unpacked where it is packed.
///
/// # Errors
/// Where it cannot be opened, or is no file.
pub fn open(path: &Path) -> io::Result<Box<dyn Read + Send>> {
    unpacked(regular(path)?)
}

/// Why a file cannot be read or written, in plain words.
#[must_use]
pub fn why(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "this user may not open it".to_owned(),
        // the number of the system's message says nothing more
        _ => error.to_string().split(" (os error ").next().unwrap_or_default().to_owned(),
    }
}

/// Opens a file to read, as it is. Pipes and devices may have no end, or nothing to say for ever, so they are
/// refused before they are opened; files of the system that are no files on a disk, as soon as they show it.
///
/// # Errors
/// Where it cannot be opened, or is no file.
pub fn regular(path: &Path) -> io::Result<fs::File> {
    let about = fs::metadata(path)?;
    if about.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    if !about.is_file() {
        return Err(no_file("a pipe, a device or a socket, and no file"));
    }
    let mut file = without_waiting(path)?;
    // files of the system itself say that they are empty, and may have something to say for ever, or wait for it
    if about.len() == 0 && !matches!(file.read(&mut [0]), Ok(0)) {
        return Err(no_file("a file of the system, which has no length of its own"));
    }
    Ok(file)
}

fn no_file(what: &str) -> io::Error {
    io::Error::other(format!("{what}; write what it gives into a file, and name that"))
}

/// A file whose reader never waits for somebody to write. Reading what lies on a disk is the same either way.
#[cfg(unix)]
fn without_waiting(path: &Path) -> io::Result<fs::File> {
    use rustix::fs::{Mode, OFlags, open};
    let opened = open(path, OFlags::RDONLY | OFlags::NONBLOCK | OFlags::CLOEXEC, Mode::empty());
    let file = fs::File::from(opened?);
    // what the name stands for may have changed meanwhile
    if file.metadata()?.is_file() { Ok(file) } else { Err(no_file("a pipe, a device or a socket, and no file")) }
}

#[cfg(not(unix))]
fn without_waiting(path: &Path) -> io::Result<fs::File> {
    fs::File::open(path)
}

/// Standard input, unpacked where it is packed.
///
/// # Errors
/// Where it cannot be read.
pub fn standard_input() -> io::Result<Box<dyn Read + Send>> {
    unpacked(io::stdin())
}

/// What the name of a file ends in, in small letters.
#[must_use]
pub fn extension(path: &Path) -> Option<String> {
    path.extension().map(|extension| extension.to_string_lossy().to_lowercase())
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::regular;
    use std::io::Read;
    use std::path::Path;

    /// A file of the system says that it is empty, and one of them waits for whatever comes next.
    #[test]
    fn what_has_no_length_of_its_own_is_no_file() {
        for path in ["/proc/self/environ", "/proc/self/status", "/proc/kmsg"].map(Path::new).into_iter().filter(|path| path.exists()) {
            assert!(regular(path).is_err(), "{}", path.display());
        }
        let empty = tempfile::NamedTempFile::new().unwrap();
        assert_eq!(regular(empty.path()).unwrap().read(&mut [0]).unwrap(), 0);
    }
}
