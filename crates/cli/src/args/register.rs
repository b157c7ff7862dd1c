//! The command line of `asleft register`.

use super::{Format, OnPaper, Profiles};
use clap::{Args, Subcommand, ValueEnum};
use jiff::civil::Date;
use rules::provenance::Verdict;
use std::path::PathBuf;

/// `asleft register`
#[derive(Args)]
pub struct Register {
    /// What to do.
    #[command(subcommand)]
    pub about: RegisterCommand,
}

/// What to do with a register.
#[derive(Subcommand)]
pub enum RegisterCommand {
    /// Adds records; each is said to be there once it is on the disk
    Add(RegisterAdd),
    /// The newest state of each site
    List(RegisterList),
    /// One entry, or the newest of a site
    Show(RegisterShow),
    /// The newest state of each site for `check` and `affected`, or in an operator's own columns
    Export(RegisterExport),
    /// What the sites of each company, branch and crew came to
    RollUp(RegisterRollUp),
    /// Whether the register is as it was written: every hash worked out anew
    Verify(RegisterVerify),
    /// A copy of one moment, whoever writes meanwhile
    Backup(RegisterBackup),
}

/// Which register.
#[derive(Clone, Args)]
pub struct InRegister {
    /// The register's file
    #[arg(long, value_name = "FILE", env = "ASLEFT_REGISTER")]
    pub register: PathBuf,
}

/// What a record came to.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum VerdictWord {
    /// It is shown to be as required
    Complies,
    /// Not everything was shown to be right
    NotProven,
    /// Something is not as required
    DoesNotComply,
}

impl From<VerdictWord> for Verdict {
    fn from(word: VerdictWord) -> Self {
        match word {
            VerdictWord::Complies => Self::Complies,
            VerdictWord::NotProven => Self::NotProven,
            VerdictWord::DoesNotComply => Self::DoesNotComply,
        }
    }
}

/// Which sites.
#[derive(Clone, Args)]
pub struct Which {
    /// Only this site; may be given again
    #[arg(long, value_name = "SITE")]
    pub site: Vec<String>,
    /// Only sites of this company
    #[arg(long)]
    pub company: Option<String>,
    /// Only sites of this branch
    #[arg(long)]
    pub branch: Option<String>,
    /// Only sites of this crew
    #[arg(long)]
    pub crew: Option<String>,
    /// Only sites that came to this
    #[arg(long, value_enum)]
    pub verdict: Option<VerdictWord>,
    /// Only records made for this day or a later one
    #[arg(long, value_name = "DATE", value_parser = super::date)]
    pub since: Option<Date>,
}

/// `asleft register add`
#[derive(Args)]
pub struct RegisterAdd {
    /// The records
    #[arg(required = true)]
    pub records: Vec<PathBuf>,
    /// Which register; it is made where there is none.
    #[command(flatten)]
    pub register: InRegister,
    /// Where the profiles are that the records were judged against; the register keeps them.
    #[command(flatten)]
    pub profiles: Profiles,
}

/// `asleft register list`
#[derive(Args)]
pub struct RegisterList {
    /// Which register.
    #[command(flatten)]
    pub register: InRegister,
    /// Which sites.
    #[command(flatten)]
    pub which: Which,
    /// Every entry, and not only the newest state of each site
    #[arg(long)]
    pub all: bool,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// `asleft register show`
#[derive(Args)]
pub struct RegisterShow {
    /// The number of an entry, or the name of a site
    pub entry: String,
    /// Which register.
    #[command(flatten)]
    pub register: InRegister,
    /// Print the record's own file, byte for byte as it was added
    #[arg(long)]
    pub record: bool,
}

/// The form of an export.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ExportFormat {
    /// One site a line, as `check` and `affected` take them
    Ndjson,
    /// A table in the columns of an export map
    Csv,
}

/// `asleft register export`
#[derive(Args)]
pub struct RegisterExport {
    /// Which register.
    #[command(flatten)]
    pub register: InRegister,
    /// Which sites.
    #[command(flatten)]
    pub which: Which,
    /// The form of the answer; csv where columns are given
    #[arg(long, value_enum)]
    pub format: Option<ExportFormat>,
    /// An operator's own columns (`asleft schema export-map`)
    #[arg(long, value_name = "FILE")]
    pub columns: Option<PathBuf>,
}

/// `asleft register roll-up`
#[derive(Args)]
pub struct RegisterRollUp {
    /// Which register.
    #[command(flatten)]
    pub register: InRegister,
    /// Which sites.
    #[command(flatten)]
    pub which: Which,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text, conflicts_with = "out")]
    pub format: Format,
    /// A paper instead, with the sites that do not comply or are not proven, and what is due: `.html` is a page,
    /// `.pdf` a PDF
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// How it is printed.
    #[command(flatten)]
    pub on: OnPaper,
    /// The day from which it counts what is due, such as 2026-02-03; today without it
    #[arg(long, value_name = "DATE", value_parser = super::date)]
    pub as_of: Option<Date>,
}

/// `asleft register verify`
#[derive(Args)]
pub struct RegisterVerify {
    /// Which register.
    #[command(flatten)]
    pub register: InRegister,
    /// A link that was noted down before, and has to be there still: then nothing was cut off or written anew
    #[arg(long, value_name = "LINK")]
    pub noted: Option<String>,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}

/// `asleft register backup`
#[derive(Args)]
pub struct RegisterBackup {
    /// A new file for the copy
    pub to: PathBuf,
    /// Which register.
    #[command(flatten)]
    pub register: InRegister,
}
