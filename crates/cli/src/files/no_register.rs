//! In place of the register in a build without one: none is ever opened.

use record::Envelope;
use std::io;
use std::path::Path;

/// There is none.
pub enum Register {}

/// See the build with a register; nothing names one here.
pub fn open(path: &Path) -> io::Result<Register> {
    Err(io::Error::other(format!("{}: this build has no register", terminal::path(path))))
}

/// See the build with a register.
pub fn profile(register: &Register, _: &str) -> io::Result<Option<String>> {
    match *register {}
}

/// See the build with a register.
pub fn newest(register: &Register, _: &str) -> io::Result<Option<Vec<u8>>> {
    match *register {}
}

/// See the build with a register.
pub fn entry_of(register: &Register, _: &Envelope) -> io::Result<Option<(u64, Option<String>)>> {
    match *register {}
}
