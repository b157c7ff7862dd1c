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
mod kinds;
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
pub use kinds::Kind;
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
