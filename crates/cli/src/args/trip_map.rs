//! The command line of `asleft trip-map`.

use super::{Drawing, Format, Under};
use clap::{Args, ValueEnum};

/// What a trip map measures.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum MapOf {
    /// Voltage
    Voltage,
    /// Frequency
    Frequency,
}

/// `asleft trip-map`
#[derive(Args)]
pub struct TripMap {
    /// A site file (`FILE`, `FILE:DEVICE`, `FILE:DEVICE:as-found`), or requirements in one region, such
    /// as `as-nzs-4777.2/2020-amd2/australia-a`
    #[arg(value_name = "FILE")]
    pub file: String,
    /// Voltage or frequency; both without it
    #[arg(long, value_enum)]
    pub of: Option<MapOf>,
    /// Of requirements that leave it to each site: the nominal voltage, such as `230 V`
    #[arg(long, value_name = "VOLTS")]
    pub nominal: Option<String>,
    /// How it is drawn.
    #[command(flatten)]
    pub drawing: Drawing,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}
