//! The command line of `asleft diff`.

use super::{Filled, Under};
use clap::{Args, ValueEnum};

/// The form of an answer that people pass on.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum NoteFormat {
    /// For a terminal
    Text,
    /// For a page or a ticket
    Markdown,
    /// For programs; `asleft schema diff-report` describes it
    Json,
}

/// `asleft diff`
#[derive(Args)]
pub struct Diff {
    /// A site's file, or `FILE:DEVICE`, `FILE:DEVICE:as-found`; or requirements: `quillbrook/2.0.0`,
    /// `as-nzs-4777.2/2020-amd2/australia-a`, or the file of a standard or an overlay
    #[arg(value_name = "WAS")]
    pub old: String,
    /// Another of the same kind; without it, a site's devices as found against as left
    #[arg(value_name = "IS")]
    pub new: Option<String>,
    /// A sheet filled by hand, for the site named first.
    #[command(flatten)]
    pub filled: Filled,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = NoteFormat::Text)]
    pub format: NoteFormat,
}
