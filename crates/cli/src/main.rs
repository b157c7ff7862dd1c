//! `asleft`: what each grid-protection setting must be, and whether what was left complies.

mod args;
mod commands;
mod files;
mod logs;
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
pub enum Exit {
    /// It complies, or the question was answered.
    Fine,
    /// It does not comply, or that could not be proven.
    NotFine,
    /// The question could not be put: bad input or use.
    CouldNotTell,
}

fn main() -> ExitCode {
    let args = match args::Args::try_parse() {
        Ok(args) => args,
        Err(error) => {
            let _ = error.print();
            return ExitCode::from(if error.use_stderr() { 2 } else { 0 });
        }
    };
    match commands::run(args) {
        Ok(Exit::Fine) => ExitCode::SUCCESS,
        Ok(Exit::NotFine) => ExitCode::from(1),
        Ok(Exit::CouldNotTell) => ExitCode::from(2),
        // a reader that went away is a quiet end, as with `asleft check … | head`
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => ExitCode::SUCCESS,
        Err(error) => {
            let _ = writeln!(io::stderr(), "asleft: {error}");
            ExitCode::from(2)
        }
    }
}
