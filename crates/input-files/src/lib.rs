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
/// refused before they are opened.
///
/// # Errors
/// Where it cannot be opened, or is no file.
pub fn regular(path: &Path) -> io::Result<fs::File> {
    let about = fs::metadata(path)?;
    if about.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    if !about.is_file() {
        return Err(io::Error::other("a pipe, a device or a socket, and no file; write what it gives into a file, and name that"));
    }
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
