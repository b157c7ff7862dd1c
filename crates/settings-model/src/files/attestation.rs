//! What an office read in its licensed copy: the kind of file in `attestations/`.

use super::Kind;
use super::pieces::{Day, Named};
use super::profile::{Conditions, Edition};
use super::versions::Version;
use crate::catalogue::Equipment;
use crate::located::At;
use crate::notation::Written;
use schemars::JsonSchema;
use serde::Deserialize;

/// What one office read in its licensed copy of one edition, or of one version of a network.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct AttestationFile {
    /// Always `attestation`.
    pub kind: Kind,
    /// The key of the standard that was read, such as `as-nzs-4777.2`.
    pub standard: Option<At<String>>,
    /// Its edition and amendment.
    pub edition: Option<At<Edition>>,
    /// In place of a standard, the key of the network whose requirements were read.
    pub network: Option<At<String>>,
    /// Their version.
    pub version: Option<At<Version>>,
    /// The office that answers for the reading.
    #[schemars(length(min = 1))]
    pub office: String,
    /// Who read it: a role, or a name that the office keeps.
    #[schemars(length(min = 1))]
    pub read_by: String,
    /// The day on which it was read.
    pub read_on: At<Day>,
    /// The copy that was read.
    pub copy: LicensedCopy,
    /// What was read, table by table.
    #[schemars(length(min = 1))]
    pub confirmed: Vec<At<Confirmed>>,
}

/// A copy of a document, in the words on its cover.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct LicensedCopy {
    /// The document, and how the office holds it: `licensed copy 17 of AS/NZS 4777.2:2020`.
    #[schemars(length(min = 1))]
    pub document: String,
    /// The amendments that it includes, in its own words: `incorporating amendments 1 and 2`, `none`.
    #[schemars(length(min = 1))]
    pub amendments: String,
}

/// What was read in one place of the copy. It has the blocks of the profile that it confirms.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Confirmed {
    /// The regions that it is read for; without it, every region of the standard that has the setting.
    #[serde(default)]
    #[schemars(length(min = 1))]
    pub regions: Vec<At<String>>,
    /// The clause or table; a reading may name its own.
    pub clause: Option<At<String>>,
    /// What it asks of inverters.
    #[serde(default)]
    pub settings: Readings,
    /// What it asks of a grid protection relay.
    #[serde(default)]
    #[schemars(schema_with = "crate::schema::relay_readings")]
    pub grid_protection_relay: Readings,
    /// What it asks of the installation as a whole.
    #[serde(default)]
    #[schemars(schema_with = "crate::schema::installation_readings")]
    pub installation: Readings,
}

impl Confirmed {
    /// What was read of one kind of equipment.
    #[must_use]
    pub fn on(&self, kind: Equipment) -> &Readings {
        match kind {
            Equipment::Inverter => &self.settings,
            Equipment::GridProtectionRelay => &self.grid_protection_relay,
            Equipment::Installation => &self.installation,
        }
    }
}

/// Readings by function and setting. Its schema comes from the catalogue (`crate::schema`).
#[derive(Clone, Debug, Default, Deserialize)]
pub struct Readings(pub Named<At<String>, Named<At<String>, At<Reading>>>);

/// What was read of one setting, under the words that the profile uses. A value left empty is not yet
/// read. Its schema comes from the catalogue (`crate::schema`).
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Reading {
    /// The value required.
    pub require: Option<At<Written>>,
    /// What complies.
    pub comply: Option<At<Written>>,
    /// What must hold besides.
    pub also: Option<At<Written>>,
    /// The range in which the value may be moved.
    pub adjustable: Option<At<Written>>,
    /// How far the response may lie from the required one.
    pub response_within: Option<At<(String, String)>>,
    /// A response that complies where it lies nowhere below this one.
    pub nowhere_below: Option<At<Written>>,
    /// A response that complies where it lies nowhere above this one.
    pub nowhere_above: Option<At<Written>>,
    /// How far apart the points of a curve must be.
    pub spacing: Option<At<String>>,
    /// The steps in which the adjustable range can be set.
    pub step: Option<At<String>>,
    /// How the value has to be known.
    pub evidence: Option<At<String>>,
    /// The clause or table, where it is not that of the whole group.
    pub clause: Option<At<String>>,
    /// For which sites, as the profile says it.
    pub when: Option<Conditions>,
    /// Readings for some sites each, as the profile has them.
    pub cases: Option<Vec<At<Reading>>>,
}
