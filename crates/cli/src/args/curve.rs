//! The command line of `asleft curve`.

use super::{Drawing, Filled, Format, Under};
use clap::builder::PossibleValuesParser;
use clap::{Args, ValueEnum};
use settings_model::facts::FactId;

/// Of what the response to high frequency takes its percentages.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FallOf {
    /// The power at the moment of passing its start
    Momentary,
    /// Rated power
    Rated,
}

/// `asleft curve`
#[derive(Args)]
pub struct Curve {
    /// Site files (`FILE`, `FILE:DEVICE`, `FILE:DEVICE:as-found`), or requirements in one region, such
    /// as `as-nzs-4777.2/2020-amd2/australia-a`
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<String>,
    /// The responses, such as `volt-var,volt-watt`; without it, all that the places fit. `power` is what
    /// a device gives with all of them together
    #[arg(long, value_delimiter = ',', value_name = "FUNCTION")]
    pub of: Vec<String>,
    /// Of power: what its source could give, such as `6 kW`; rated active power without it
    #[arg(long, value_name = "POWER", allow_hyphen_values = true)]
    pub available: Option<String>,
    /// Of power: the frequency, such as `50.5 Hz`; nominal without it
    #[arg(long, value_name = "FREQUENCY")]
    pub frequency: Option<String>,
    /// Of power of requirements: what a device that holds them is rated at, such as `5 kVA`
    #[arg(long, value_name = "POWER")]
    pub rated: Option<String>,
    /// Of power of requirements: what the device is fed from
    #[arg(long, value_name = "SOURCE", default_value = "solar", value_parser = PossibleValuesParser::new(FactId::EnergySource.words()))]
    pub source: String,
    /// Of requirements that leave it to each site: the nominal voltage, such as `230 V`
    #[arg(long, value_name = "VOLTS")]
    pub nominal: Option<String>,
    /// Of power: of what the response to high frequency takes its percentages, in place of what the standard says
    #[arg(long, value_enum)]
    pub fall_of: Option<FallOf>,
    /// Where: `230,245,253..260:1`, `0.92..1.08:0.02 pu`, `50.2..52:0.1 Hz`; without it, where curves bend
    #[arg(long, value_name = "PLACES", allow_hyphen_values = true)]
    pub at: Option<String>,
    /// How it is drawn.
    #[command(flatten)]
    pub drawing: Drawing,
    /// A sheet filled by hand, for the site named first.
    #[command(flatten)]
    pub filled: Filled,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}
