//! The kinds of file that people keep: standards, overlays, sites, label maps, attestations and more.
//! Each is one serde type, which
//! gives its schema and reads it from YAML with places or from JSON lines without.

mod attestation;
mod cables;
mod column_map;
mod commissioning;
mod exercise_key;
mod export_map;
mod firmware;
mod label_map;
mod percent_of;
mod pieces;
mod profile;
mod register_image;
mod scenario;
mod site;
pub mod training;
mod versions;

pub use attestation::{AttestationFile, Confirmed, LicensedCopy, Reading, Readings};
pub use cables::{Cable, CablePart, Conductor, DropFigure, Material, PerLength, WAYS, WholeImpedance};
pub use column_map::{ColumnMapFile, ColumnNames};
pub use commissioning::{Accuracy, CommissioningFile, Instrument, Outcome, Papers, Photo, RampRate, ToRegister};
pub use exercise_key::{ExerciseKeyFile, FaultKey, StudentKey, TouchedKey};
pub use export_map::{ExportColumn, ExportField, ExportMapFile, RowsOf};
pub use firmware::{Firmware, FirmwareRange};
pub use label_map::{ConfirmedBy, DirectionWord, DirectionWords, HowConfirmed, LabelMapFile, LabelText};
pub use percent_of::{FrequencyBase, PercentOf, PercentOfSaid, Percentage, PowerBase};
pub use pieces::{
    ActivePower, ApparentPower, Area, Day, FactQuantity, FactWord, ImpedancePerLength, Length, Measure, Month, Named, Nominal, Percent,
    PhotoName, Quantity, Resistance, Text, Time, VoltageDrop,
};
pub use profile::{
    BLOCKS, Blocks, CitationText, Conditions, Edition, Extends, Issue, OlderAccepted, OverlayFile, PartOfRegions, Region,
    ResponseToleranceSaid, StandardFile, Statement, Statements, WhoWord,
};
pub use register_image::{ImageRead, RegisterImageFile, RegisterRun};
pub use scenario::{Begin, LevelOf, Link, ScenarioFile, Step};
pub use site::{
    Against, Answerable, Approval, CaptureNote, Certified, Dates, Device, DeviceKind, Displayed, Exception, Exemption, Export, Holding,
    PhaseName, Pin, Requirements, SiteApproval, SiteFile, StandsUnder, Supply, Work,
};
pub use training::{Diagnosed, Training};
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
    /// What the display of a family of devices says.
    LabelMap,
    /// What an office calls the columns of its sheets.
    ColumnMap,
    /// What an office read in its licensed copy of an edition.
    Attestation,
    /// What happens to a device in a lesson.
    Scenario,
    /// The answers of an exercise.
    ExerciseKey,
    /// What is known of the work at a site beside its settings.
    Commissioning,
    /// In what columns an operator wants to be told of sites.
    ExportMap,
    /// Registers of a device, as they were read.
    RegisterImage,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 11] = [
        Self::Standard,
        Self::Overlay,
        Self::Site,
        Self::LabelMap,
        Self::ColumnMap,
        Self::Attestation,
        Self::Scenario,
        Self::ExerciseKey,
        Self::Commissioning,
        Self::ExportMap,
        Self::RegisterImage,
    ];

    /// The word in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Standard => "standard",
            Self::Overlay => "overlay",
            Self::Site => "site",
            Self::LabelMap => "label-map",
            Self::ColumnMap => "column-map",
            Self::Attestation => "attestation",
            Self::Scenario => "scenario",
            Self::ExerciseKey => "exercise-key",
            Self::Commissioning => "commissioning",
            Self::ExportMap => "export-map",
            Self::RegisterImage => "register-image",
        }
    }
}
