//! A register as the command line names it: opened, with faults that say which file they are about.

use crate::args::Which;
use record::register::{Filter, Register, RegisterFault};
use std::io;
use std::path::Path;

/// A fault of a register, with its file in front.
pub fn about(path: &Path, fault: impl std::fmt::Display) -> io::Error {
    io::Error::other(format!("{}: {fault}", terminal::path(path)))
}

/// Opens a register to read it.
pub fn open(path: &Path) -> io::Result<Register> {
    Register::open(path).map_err(|fault| about(path, fault))
}

/// The text of a profile that a register kept, by its hash in hexadecimal.
pub fn profile(register: &Register, sha256: &str) -> io::Result<Option<String>> {
    let Some(hash) = record::canonical::of_hex(sha256) else { return Ok(None) };
    register.profile(&hash).map_err(|fault| about(register.path(), fault))
}

/// The filter that the command line asks for.
pub fn filter(which: &Which, all: bool) -> Filter {
    Filter {
        sites: which.site.clone(),
        company: which.company.clone(),
        branch: which.branch.clone(),
        crew: which.crew.clone(),
        verdict: which.verdict.map(Into::into),
        since: which.since.map(|since| since.to_string()),
        all,
    }
}

/// Goes on with an error of writing out of a walk over entries.
pub fn written(result: io::Result<()>) -> Result<(), RegisterFault> {
    result.map_err(RegisterFault::File)
}

/// A fault of a walk over entries; a reader that went away stays one.
pub fn of_walk(path: &Path) -> impl FnOnce(RegisterFault) -> io::Error {
    move |fault| match fault {
        RegisterFault::File(error) => error,
        fault => about(path, fault),
    }
}
