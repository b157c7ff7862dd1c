//! The command line of `asleft sheet`.

use super::Under;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// The form of a sheet.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SheetFormat {
    /// For a terminal
    Text,
    /// For a spreadsheet, with empty columns to fill in
    Csv,
    /// For paper and for a phone: a page with empty places to fill in
    Html,
    /// For programs; `asleft schema sheet-report` describes it
    Json,
}

/// `asleft sheet`
#[derive(Args)]
pub struct Sheet {
    /// The site's file, or `-` for standard input
    pub site: PathBuf,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// Everything: what the region brings, what the type test proves, and where each figure was found
    #[arg(long)]
    pub all: bool,
    /// The form of the answer; the table for a spreadsheet and JSON always hold everything
    #[arg(long, value_enum, default_value_t = SheetFormat::Text)]
    pub format: SheetFormat,
}
