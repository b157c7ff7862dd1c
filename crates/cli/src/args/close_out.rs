//! The command line of `asleft close-out`.

use super::{Filled, Under};
use clap::Args;
use std::path::PathBuf;

/// `asleft close-out`
#[derive(Args)]
pub struct CloseOut {
    /// The site's file, or `-` for standard input
    pub site: PathBuf,
    /// What the devices hold, where a sheet says it.
    #[command(flatten)]
    pub filled: Filled,
    /// Who did the work, with what, which photos prove what, what tests came to (`asleft schema commissioning`)
    #[arg(long, value_name = "FILE")]
    pub commissioning: Option<PathBuf>,
    /// The folder of the photos; files and folders whose names begin with a dot are passed over
    #[arg(long, value_name = "FOLDER")]
    pub photos: Option<PathBuf>,
    /// Where to write the record; `-` for standard output. Nothing is written that is not named here
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace a record that is there already and says something else
    #[arg(long)]
    pub replace: bool,
    /// Say what the record would come to, and write none
    #[arg(long, conflicts_with_all = ["out", "replace"])]
    pub dry_run: bool,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}
