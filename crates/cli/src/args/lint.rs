//! The command line of `asleft lint`.

use super::{Format, Under};
use clap::Args;

/// `asleft lint`
#[derive(Args)]
pub struct Lint {
    /// Standards, overlays, label maps and scenarios, by name (`quillbrook/3.0.0`) or by file; without any, all at hand
    #[arg(value_name = "PROFILE")]
    pub named: Vec<String>,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}
