//! `asleft completions`: for a shell.

use crate::Exit;
use crate::args::{Args, Completions};
use clap::CommandFactory;
use std::io;

/// Prints the completions of one shell.
pub fn run(args: &Completions) -> io::Result<Exit> {
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut Args::command(), "asleft", &mut text);
    io::Write::write_all(&mut terminal::stdout(), &text)?;
    Ok(Exit::Fine)
}
