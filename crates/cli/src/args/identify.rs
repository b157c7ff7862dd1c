//! The command line of `asleft identify`.

use super::{Filled, Format, Under};
use clap::Args;
use std::path::PathBuf;

/// `asleft identify`
#[derive(Args)]
pub struct Identify {
    /// The site's file, or `-` for standard input
    pub site: PathBuf,
    /// A sheet filled by hand, for the site.
    #[command(flatten)]
    pub filled: Filled,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}
