//! The command lines of `asleft seal` and `asleft sign-profile`.

use clap::Args;
use std::path::PathBuf;

/// `asleft seal`
#[derive(Args)]
pub struct Seal {
    /// The record; the signature is added to its file, whole or not at all
    pub record: PathBuf,
    /// The private key
    #[arg(long, value_name = "FILE", env = "ASLEFT_KEY")]
    pub key: PathBuf,
}

/// `asleft sign-profile`
#[derive(Args)]
pub struct SignProfile {
    /// The requirement files; each one's signatures are kept beside it, in a file that ends in `.sig`
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// The private key
    #[arg(long, value_name = "FILE", env = "ASLEFT_KEY")]
    pub key: PathBuf,
}
