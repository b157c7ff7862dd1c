//! The command line of `asleft template`.

use super::Under;
use clap::Args;

/// `asleft template`
#[derive(Args)]
pub struct Template {
    /// A network such as `quillbrook`, or a standard such as `as-nzs-4777.2/2020-amd2`
    pub of: String,
    /// The region; the standard's first without it
    #[arg(long)]
    pub region: Option<String>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}
