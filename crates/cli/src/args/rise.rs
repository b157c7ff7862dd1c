//! The command line of `asleft rise`.

use super::{Drawing, Filled, Format, Under};
use clap::Args;
use std::path::PathBuf;

/// `asleft rise`
#[derive(Args)]
pub struct Rise {
    /// The site's file, or `-` for standard input
    pub site: PathBuf,
    /// Voltage at the point of supply with the inverters off: `244 V`, `235..253:2 V`, `1.06 pu`
    #[arg(long, value_name = "VOLTS")]
    pub supply: Option<String>,
    /// An inverter that is off; may be given again
    #[arg(long, value_name = "DEVICE")]
    pub off: Vec<String>,
    /// Shares of rated active power at which the inverters settle
    #[arg(long, value_name = "SHARES", default_value = "50,100 %")]
    pub output: String,
    /// How it is drawn.
    #[command(flatten)]
    pub drawing: Drawing,
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
