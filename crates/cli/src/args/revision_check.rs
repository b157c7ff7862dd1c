//! The command line of `asleft revision-check`.

use super::{Format, Under};
use clap::Args;
use std::path::PathBuf;

/// `asleft revision-check`
#[derive(Args)]
pub struct RevisionCheck {
    /// The older requirements: `quillbrook/2.0.0`, or the file of an overlay or a standard
    pub old: String,
    /// The newer ones
    pub new: String,
    /// Write every example, a site that a change makes non-compliant, to a file in this folder
    #[arg(long, value_name = "FOLDER")]
    pub examples: Option<PathBuf>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}
