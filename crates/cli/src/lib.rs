//! `asleft`: what each grid-protection setting must be, and whether what was left complies.

mod args;
mod commands;
mod files;
#[cfg(feature = "fuzzing")]
pub mod fuzzing;
mod pipeline;
mod render;
mod report;
mod texts;
mod walk;

use clap::Parser;
use std::io::{self, Write};
use std::process::ExitCode;

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Exit {
    /// It complies, or the question was answered.
    Fine,
    /// It does not comply, or that could not be proven.
    NotFine,
    /// The question could not be put: bad input or use.
    CouldNotTell,
}

impl Exit {
    /// What the shell is told.
    fn code(self) -> u8 {
        match self {
            Self::Fine => 0,
            Self::NotFine => 1,
            Self::CouldNotTell => 2,
        }
    }
}

/// Does what the command line asks; the program's exit code.
#[must_use]
pub fn run() -> ExitCode {
    let args = match args::Args::try_parse() {
        Ok(args) => args,
        Err(error) => {
            // what was typed, or stood in a list, is among the words of an error
            let _ = if error.use_stderr() { write!(terminal::stderr(), "{}", error.render()) } else { error.print() };
            return ExitCode::from(if error.use_stderr() { 2 } else { 0 });
        }
    };
    match commands::run(args) {
        Ok(exit) => ExitCode::from(exit.code()),
        // a reader that went away is a quiet end, as with `asleft list … | head`, and no proof that something is fine
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => ExitCode::from(Exit::CouldNotTell.code()),
        Err(error) => {
            let says = format!("asleft: {}", terminal::escaped(&error.to_string()));
            let _ = writeln!(terminal::stderr(), "{}", render::wrapped(&says, render::width(), 8));
            ExitCode::from(2)
        }
    }
}
