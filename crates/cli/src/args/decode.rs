//! The command line of `asleft decode`.

use super::Readout;
use clap::Args;
use std::path::PathBuf;

/// `asleft decode`
#[derive(Args)]
pub struct Decode {
    /// A file of registers, as `capture --raw` writes it, or `-` for standard input
    pub file: PathBuf,
    /// Where the map of registers begins; without it 40000, 0 and 50000 are tried
    #[arg(long, value_name = "ADDRESS")]
    pub base: Option<u16>,
    /// What to do with what was read.
    #[command(flatten)]
    pub readout: Readout,
}
