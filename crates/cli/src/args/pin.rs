//! The command line of `asleft pin`.

use super::Under;
use clap::Args;
use std::path::PathBuf;

/// `asleft pin`
#[derive(Args)]
pub struct Pin {
    /// The site's file, or `-` for standard input
    pub site: PathBuf,
    /// Write the pins into the file, in place of those it has
    #[arg(long)]
    pub write: bool,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}
