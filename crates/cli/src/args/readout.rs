//! What to do with registers once they are read: from a device, or from a file.

use super::{Format, Under};
use clap::Args;
use std::path::PathBuf;

/// What to do with what was read.
#[derive(Args)]
pub struct Readout {
    /// The site of the device: judge it with the values read, and take everything else from its file
    #[arg(long, value_name = "SITE", conflicts_with = "site", group = "of-site")]
    pub judge: Option<PathBuf>,
    /// The site of the device, whose file the values are laid into without being judged
    #[arg(long, value_name = "SITE", group = "of-site")]
    pub site: Option<PathBuf>,
    /// Which device of the site it is; without it, the one with the serial number that was read, or its only inverter
    #[arg(long, value_name = "NAME", requires = "of-site")]
    pub device: Option<String>,
    /// The values are what the device was found with, before the work; without it, what it was left with
    #[arg(long, requires = "of-site")]
    pub as_found: bool,
    /// Write a site's file with the values and the registers that say them; `-` for standard output
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Write over files that are there already
    #[arg(long)]
    pub replace: bool,
    /// List every point of every model too
    #[arg(long)]
    pub points: bool,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}
