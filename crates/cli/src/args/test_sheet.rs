//! The command line of `asleft test-sheet`.

use super::{Filled, Under};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// The form of a test sheet.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum TestSheetFormat {
    /// For a terminal
    Text,
    /// For a spreadsheet, with empty columns to fill in
    Csv,
    /// For paper: a page with empty places to fill in
    Html,
    /// For programs; `asleft schema test-sheet-report` describes it
    Json,
    /// A commissioning file to fill in, with every test of the site
    Commissioning,
}

/// `asleft test-sheet`
#[derive(Args)]
pub struct TestSheet {
    /// The site's file, or `-` for standard input
    pub site: PathBuf,
    /// What the devices hold, where a sheet says it.
    #[command(flatten)]
    pub filled: Filled,
    /// The commissioning file that says what was measured; each test is then judged
    #[arg(long, value_name = "FILE")]
    pub results: Option<PathBuf>,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = TestSheetFormat::Text)]
    pub format: TestSheetFormat,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}
