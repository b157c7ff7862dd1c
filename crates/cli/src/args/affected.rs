//! The command line of `asleft affected`.

use super::{Jobs, Under};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// The form of a work list.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum WorkFormat {
    /// For a terminal
    Text,
    /// For a page or a ticket
    Markdown,
    /// For a spreadsheet: a row for each thing to do
    Csv,
    /// For programs; `asleft schema affected-report` describes it
    Json,
}

/// `asleft affected`
#[derive(Args)]
pub struct Affected {
    /// The older version: `quillbrook/2.0.0`, or the file of an overlay
    pub old: String,
    /// The newer version
    pub new: String,
    /// Site files, folders, .ndjson files of one site a line, .list files of one path a line, or `-`
    /// for lines of sites on standard input; any may be packed with gzip or zstd
    #[arg(required = true)]
    pub sites: Vec<PathBuf>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = WorkFormat::Text)]
    pub format: WorkFormat,
    /// How much of the machine is used.
    #[command(flatten)]
    pub jobs: Jobs,
}
