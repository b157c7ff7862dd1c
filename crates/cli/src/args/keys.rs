//! The command line of `asleft keys`.

use clap::{Args, Subcommand};
use std::path::PathBuf;

/// `asleft keys`
#[derive(Args)]
pub struct Keys {
    /// What to do.
    #[command(subcommand)]
    pub about: KeysCommand,
}

/// What to do with keys.
#[derive(Subcommand)]
pub enum KeysCommand {
    /// A new pair: a private key to sign with, and beside it a public key (`.pub`) to check by
    New(KeysNew),
    /// The public key of a key file, with the short name to compare on the telephone
    Show(KeysShow),
}

/// `asleft keys new`
#[derive(Args)]
pub struct KeysNew {
    /// Where to keep the private key; only its owner may read it, and it is never written over
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,
}

/// `asleft keys show`
#[derive(Args)]
pub struct KeysShow {
    /// A key file, private or public; a private key itself is never printed
    pub file: PathBuf,
}
