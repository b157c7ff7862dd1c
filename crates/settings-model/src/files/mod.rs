//! The kinds of file that people keep: standards, overlays, sites. Each is one serde type, which
//! gives its schema and reads it from YAML with places or from JSON lines without.

mod column_map;
mod pieces;
mod profile;
mod site;
mod versions;

pub use column_map::{ColumnMapFile, ColumnNames};
pub use pieces::{ActivePower, ApparentPower, Day, FactWord, Measure, Named, Nominal, PhotoName, Quantity, Text};
pub use profile::{
    BLOCKS, BasisWord, Blocks, CitationText, Conditions, Edition, Extends, FrequencyBase, Issue, OlderAccepted, OverlayFile, PartOfRegions,
    PercentOf, PowerBase, Region, StandardFile, Statement, Statements, WhoWord,
};
pub use site::{
    Against, Answerable, Approval, Certified, Dates, Device, DeviceKind, Exemption, Export, Holding, PhaseName, Pin, Requirements,
    SiteApproval, SiteFile, StandsUnder, Supply, Work,
};
pub use versions::{Version, VersionRange};

use schemars::JsonSchema;
use serde::Deserialize;

/// The kinds of file, as the key `kind` names them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A base standard, one edition.
    Standard,
    /// A network operator's own requirements, one version.
    Overlay,
    /// One site and what its devices hold.
    Site,
    /// What an office calls the columns of its sheets.
    ColumnMap,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 4] = [Self::Standard, Self::Overlay, Self::Site, Self::ColumnMap];

    /// The word in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Standard => "standard",
            Self::Overlay => "overlay",
            Self::Site => "site",
            Self::ColumnMap => "column-map",
        }
    }
}
