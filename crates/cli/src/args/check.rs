//! The command line of `asleft check`.

use super::{Filled, Jobs, Under};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// The form of an answer about many sites.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CheckFormat {
    /// For people; of one site a line, only those with something to say, and a summary
    Text,
    /// One object with a list of all sites; `asleft schema check-report` describes it
    Json,
    /// One site a line, each as in that list, without a summary
    Ndjson,
    /// One finding a line: `file:line:column: outcome[name]: what is wrong`
    Lines,
    /// SARIF 2.1.0, for code scanning and viewers
    Sarif,
}

/// `asleft check`
#[derive(Args)]
pub struct Check {
    /// Site files, folders, .ndjson files of one site a line, .list files of one path a line, or `-`
    /// for lines of sites on standard input; any may be packed with gzip or zstd
    #[arg(required = true)]
    pub sites: Vec<PathBuf>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = CheckFormat::Text)]
    pub format: CheckFormat,
    /// For people: show every consequence and note of a finding
    #[arg(long)]
    pub all: bool,
    /// A sheet filled by hand, for the one site named.
    #[command(flatten)]
    pub filled: Filled,
    /// How much of the machine is used.
    #[command(flatten)]
    pub jobs: Jobs,
    /// Exit 1 where figures that nobody verified decided
    #[arg(long)]
    pub require_verified: bool,
    /// Judge each site by exactly what it pins, whatever its dates call for now
    #[arg(long)]
    pub pinned: bool,
}
