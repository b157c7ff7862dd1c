//! `asleft attest`: figures that an office reads in its licensed copy.

mod check;
mod list;
mod new;

use crate::Exit;
use crate::args::{Attest, AttestCommand};
use std::io;

/// Does what is asked about figures.
pub fn run(args: &Attest) -> io::Result<Exit> {
    match &args.about {
        AttestCommand::List(args) => list::run(args),
        AttestCommand::New(args) => new::run(args),
        AttestCommand::Check(args) => check::run(args),
    }
}

/// What every answer about attestations ends with.
const CAUTION: &str = "An attestation is its office's word. The licensed copy and the network operator's own document decide.";
