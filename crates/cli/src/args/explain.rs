//! The command line of `asleft explain`.

use super::Under;
use clap::Args;
use std::path::PathBuf;

/// `asleft explain`
#[derive(Args)]
pub struct Explain {
    /// A setting such as `overvoltage-1/threshold`, a function such as `volt-var`, or a rule such as `two-reactive-modes`
    pub setting: String,
    /// For one site: what each of its layers asks, and what came of it
    #[arg(long, value_name = "SITE")]
    pub site: Option<PathBuf>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}
