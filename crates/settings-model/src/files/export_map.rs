//! In what columns an operator wants to be told of sites.

use super::Kind;
use crate::located::At;
use schemars::JsonSchema;
use serde::Deserialize;

/// An operator's own columns for what a register says of sites.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ExportMapFile {
    /// Always `export-map`.
    pub kind: Kind,
    /// What a row is of.
    #[serde(default)]
    pub rows: RowsOf,
    /// The columns, from left to right.
    #[schemars(length(min = 1))]
    pub columns: Vec<ExportColumn>,
}

/// What a row is of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RowsOf {
    /// A site.
    #[default]
    Site,
    /// A device of a site.
    Device,
}

/// One column: its heading, and one of `is`, `setting` and `always`.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ExportColumn {
    /// Its heading.
    #[schemars(length(min = 1))]
    pub column: String,
    /// What it says of the site or the device.
    pub is: Option<ExportField>,
    /// The value that a device was left with, such as `sustained-overvoltage/threshold`.
    pub setting: Option<At<String>>,
    /// The same text in every row.
    pub always: Option<String>,
    /// In the operator's own words: what a value is written as, such as `complies: OK`.
    #[serde(default)]
    pub words: std::collections::BTreeMap<String, String>,
    /// Leave a value's unit out: `255 V` becomes `255`.
    #[serde(default)]
    pub without_unit: bool,
}

/// What a column may say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ExportField {
    /// The site's own name.
    Site,
    /// The network.
    Network,
    /// The network operator's number of the connection point.
    ConnectionPoint,
    /// The company that answers for it.
    Company,
    /// The branch.
    Branch,
    /// The crew.
    Crew,
    /// The day that the record was made for.
    AsOf,
    /// `complies`, `not-proven` or `does-not-comply`.
    Verdict,
    /// The same in words.
    Headline,
    /// The region.
    Region,
    /// Under what it stands, in words.
    Under,
    /// When it was applied for.
    Applied,
    /// When the operator approved it.
    Approved,
    /// When it was installed.
    Installed,
    /// When it was last altered.
    Altered,
    /// Phases of the supply.
    Phases,
    /// How export is limited.
    ExportKind,
    /// Net export that was approved.
    ExportApproved,
    /// The approval's reference.
    ExportReference,
    /// The licence number of who did the work.
    Licence,
    /// The number of the certificate that was issued for the work.
    WorkCertificate,
    /// When the work ended.
    WorkDate,
    /// The number of the register's entry.
    Entry,
    /// SHA-256 of the record.
    Record,
    /// Short names of the keys that sealed the record.
    SealedBy,
    /// The device's name in the site's file.
    Device,
    /// What it is.
    DeviceKind,
    /// Its model.
    Model,
    /// Its serial number.
    Serial,
    /// Its firmware.
    Firmware,
    /// Apparent power on its nameplate.
    Nameplate,
    /// The standard and edition that it is certified to.
    CertifiedTo,
    /// The number of its certificate.
    Certificate,
    /// The last day on which its certificate holds.
    CertificateExpires,
    /// The region selected on it.
    RegionSelected,
}

impl ExportField {
    /// The word in files, where it is of a device and not of the site.
    #[must_use]
    pub fn of_device(word: &str) -> bool {
        const OF_DEVICES: [&str; 10] = [
            "device",
            "device-kind",
            "model",
            "serial",
            "firmware",
            "nameplate",
            "certified-to",
            "certificate",
            "certificate-expires",
            "region-selected",
        ];
        OF_DEVICES.contains(&word)
    }
}
