//! The command line of `asleft list`.

use super::Under;
use clap::{Args, ValueEnum};

/// What to list.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Listed {
    /// Standards with their regions, networks with their versions
    Profiles,
    /// Every setting
    Settings,
    /// Every fact that a requirement may depend on
    Facts,
    /// Every rule that ties settings
    Rules,
    /// Families of devices whose display's words are known
    Labels,
    /// Scenarios for a class
    Scenarios,
}

/// `asleft list`
#[derive(Args)]
pub struct List {
    /// What to list
    #[arg(value_enum, default_value_t = Listed::Profiles)]
    pub what: Listed,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
}
