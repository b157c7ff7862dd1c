//! `asleft register`: the file in which an office keeps its records.

mod add;
mod checked;
mod export;
mod list;
mod roll_up;
mod show;

use crate::Exit;
use crate::args::{Register as Args, RegisterBackup, RegisterCommand};
use crate::files::register::{about, open};
use std::io::{self, Write};

/// Does what is asked.
pub fn run(args: &Args) -> io::Result<Exit> {
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

fn backup(args: &RegisterBackup) -> io::Result<Exit> {
    let register = open(&args.register.register)?;
    register.backup(&args.to).map_err(|fault| about(&args.to, fault))?;
    // a copy that nobody looked at is a hope
    let copy = open(&args.to)?;
    match copy.verify(None, &mut |_| {}) {
        Ok(verified) => {
            let entries =
                if verified.entries == 1 { "1 entry, unaltered".to_owned() } else { format!("{} entries, unaltered", verified.entries) };
            writeln!(terminal::stdout(), "{}: {entries} written", terminal::path(&args.to))?;
            Ok(Exit::Fine)
        }
        Err(fault) => {
            writeln!(terminal::stderr(), "asleft: {}: the copy is not sound: {fault}", terminal::path(&args.to))?;
            Ok(Exit::NotFine)
        }
    }
}
