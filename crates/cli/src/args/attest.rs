//! The command line of `asleft attest`.

use super::{Format, Jobs, Under};
use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

/// `asleft attest`
#[derive(Args)]
pub struct Attest {
    /// What to do.
    #[command(subcommand)]
    pub about: AttestCommand,
}

/// What to do about figures that nobody verified.
#[derive(Subcommand)]
pub enum AttestCommand {
    /// The figures that still rest on memory or a single source, most used first
    List(AttestList),
    /// An attestation to fill in from the copy, with every value left empty
    New(AttestNew),
    /// What of an attestation agrees with the profile, what does not, what is not yet read
    Check(AttestCheck),
}

/// The form of a list of figures.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ListFormat {
    /// For people
    Text,
    /// For a spreadsheet: a row for each figure
    Csv,
    /// For programs; `asleft schema attest-list-report` describes it
    Json,
}

/// `asleft attest list`
#[derive(Args)]
pub struct AttestList {
    /// Standards and versions of networks, such as `as-nzs-4777.2/2020-amd2`; without any, all at hand
    #[arg(value_name = "PROFILE")]
    pub named: Vec<String>,
    /// Every figure and every gap, with its source and when it was last confirmed: to go through a standard with the copy
    #[arg(long)]
    pub all: bool,
    /// Count which sites use each: files, folders, .ndjson or .list files, as `check` takes them
    #[arg(long = "site", value_name = "SITES", num_args = 1..)]
    pub sites: Vec<PathBuf>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = ListFormat::Text)]
    pub format: ListFormat,
    /// How much of the machine is used.
    #[command(flatten)]
    pub jobs: Jobs,
}

/// `asleft attest new`
#[derive(Args)]
pub struct AttestNew {
    /// A standard and its edition, such as `as-nzs-4777.2/2020-amd2`, or a network and its version
    pub profile: String,
    /// Only what holds in this region
    #[arg(long)]
    pub region: Option<String>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}

/// `asleft attest check`
#[derive(Args)]
pub struct AttestCheck {
    /// The attestation: a file, or one at hand such as `attestations/standards/hill-code/2030/fernhold`
    pub attestation: String,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}
