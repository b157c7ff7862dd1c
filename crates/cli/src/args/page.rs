//! The command line of `asleft page`.

use super::Under;
use clap::Args;

/// `asleft page`
#[derive(Args)]
pub struct Page {
    /// Site files (`FILE`, `FILE:DEVICE`, `FILE:DEVICE:as-found`) or requirements to choose among, beside the
    /// standards; without any, some invented example sites
    #[arg(value_name = "FILE")]
    pub files: Vec<String>,
    /// The port to serve on, on this machine only; without it, a free one
    #[arg(long, value_name = "N", default_value_t = 0, hide_default_value = true)]
    pub port: u16,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}
