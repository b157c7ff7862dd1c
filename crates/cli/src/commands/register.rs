//! `asleft register`: the file in which an office keeps its records.

mod add;
mod checked;
mod export;
mod list;
mod roll_up;
mod show;

use crate::Exit;
use crate::args::{Register as Asked, RegisterBackup, RegisterCommand, Which};
use record::register::{Filter, Register, RegisterFault};
use std::io::{self, Write};
use std::path::Path;

/// Does what is asked.
pub fn run(args: &Asked) -> io::Result<Exit> {
    match &args.about {
        RegisterCommand::Add(args) => add::run(args),
        RegisterCommand::List(args) => list::run(args),
        RegisterCommand::Show(args) => show::run(args),
        RegisterCommand::Export(args) => export::run(args),
        RegisterCommand::RollUp(args) => roll_up::run(args),
        RegisterCommand::Verify(args) => checked::run(args),
        RegisterCommand::Backup(args) => backup(args),
    }
}

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

fn backup(args: &RegisterBackup) -> io::Result<Exit> {
    let register = open(&args.register.register)?;
    register.backup(&args.to).map_err(|fault| about(&args.to, fault))?;
    // a copy that nobody looked at is a hope
    let copy = open(&args.to)?;
    match copy.verify(None, &mut |_| {}) {
        Ok(verified) => {
            let entries =
                if verified.entries == 1 { "1 entry, as it was".to_owned() } else { format!("{} entries, as they were", verified.entries) };
            writeln!(terminal::stdout(), "{}: {entries} written", terminal::path(&args.to))?;
            Ok(Exit::Fine)
        }
        Err(fault) => {
            writeln!(terminal::stderr(), "asleft: {}: the copy is not sound: {fault}", terminal::path(&args.to))?;
            Ok(Exit::NotFine)
        }
    }
}
