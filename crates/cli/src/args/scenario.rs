//! The command line of `asleft scenario`.

use super::{Drawing, Format, Under};
use clap::Args;
use clap::builder::PossibleValuesParser;
use settings_model::facts::FactId;

/// `asleft scenario`
#[derive(Args)]
pub struct Scenario {
    /// A site's file (`FILE`, `FILE:DEVICE`, `FILE:DEVICE:as-found`), or requirements in one region, such
    /// as `as-nzs-4777.2/2020-amd2/australia-a`
    #[arg(value_name = "SITE|STANDARD")]
    pub of: String,
    /// A scenario that is shipped (`asleft list scenarios`), or the file of another
    pub scenario: String,
    /// Play the settings of another in the same scenario, beside the first; may be given again
    #[arg(long, value_name = "OTHER")]
    pub with: Vec<String>,
    /// Of requirements without a site: what the device is rated at
    #[arg(long, value_name = "POWER", default_value = "5 kVA")]
    pub rated: String,
    /// Of requirements without a site: what the device is fed from
    #[arg(long, value_name = "SOURCE", default_value = "solar", value_parser = PossibleValuesParser::new(FactId::EnergySource.words()))]
    pub source: String,
    /// Of requirements that leave it to each site: the nominal voltage, such as `230 V`
    #[arg(long, value_name = "VOLTS")]
    pub nominal: Option<String>,
    /// How it is drawn.
    #[command(flatten)]
    pub drawing: Drawing,
    /// Draw the file in landscape, for a slide
    #[arg(long, requires = "svg")]
    pub slide: bool,
    /// Where requirements come from.
    #[command(flatten)]
    pub under: Under,
    /// The form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub format: Format,
}
