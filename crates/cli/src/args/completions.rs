//! The command line of `asleft completions`.

use clap::Args;

/// `asleft completions`
#[derive(Args)]
pub struct Completions {
    /// The shell
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}
