//! The command line of `asleft man`.

use clap::Args;

/// `asleft man`
#[derive(Args)]
pub struct Man {
    /// The verb; the whole program without it
    pub verb: Option<String>,
}
