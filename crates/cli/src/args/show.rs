//! The command line of `asleft show`.

use super::Under;
use clap::Args;

/// `asleft show`
#[derive(Args)]
pub struct Show {
    /// Such as `overlays/quillbrook/3.0.0` or `standards/as-nzs-4777.2/2020-amd2`
    pub profile: String,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}
