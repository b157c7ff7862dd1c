//! A device: what it is, what it held before, and what it was left with.

use rules::provenance::Standing;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use settings_model::catalogue::Equipment;
use settings_model::claim::Evidence;

/// A device, or the installation as a whole.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Device {
    /// Its name in the site's file; `installation` for the whole.
    pub name: String,
    /// What it is.
    pub kind: Equipment,
    /// The layers that it stands under, in words.
    pub under: String,
    /// Model, as on the nameplate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub model: Option<String>,
    /// Serial number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// Firmware, as the device shows it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub firmware: Option<String>,
    /// Apparent power on the nameplate.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nameplate: Option<String>,
    /// To what it is certified.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub certified: Option<Certified>,
    /// The moment before the work.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub as_found: Option<Moment>,
    /// The moment after it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub as_left: Option<Moment>,
    /// Its settings, in the order of the catalogue: what is required, and what else was stated.
    pub settings: Vec<SettingHeld>,
}

/// To what a device is certified.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Certified {
    /// Standard and edition, `as-nzs-4777.2/2020-amd2`; absent where the site's file does not say.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
    /// The certificate's number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub certificate: Option<String>,
    /// The last day on which the certificate holds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expires: Option<String>,
}

/// When and by whom a device was looked at.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Moment {
    /// The day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// The role, not a name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub role: Option<String>,
    /// The region selected on the device.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub region_selected: Option<String>,
    /// The photo that shows it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub region_photo: Option<String>,
}

/// One setting of a device.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct SettingHeld {
    /// Its key, `sustained-overvoltage/threshold`.
    pub setting: String,
    /// Its name in print.
    pub title: String,
    /// What has to be set; absent where nothing asks for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub required: Option<String>,
    /// What complies.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub complies_within: Option<String>,
    /// Who asks for it, in which line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// How sure the figure is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<Standing>,
    /// What it was found with.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub as_found: Option<RecordedValue>,
    /// What it was left with.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub as_left: Option<RecordedValue>,
    /// What it came to.
    pub state: SettingState,
}

/// A value and how it is known.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct RecordedValue {
    /// The value, with its unit.
    pub value: String,
    /// How it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub known_by: Option<Evidence>,
    /// The photo that shows it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub photo: Option<String>,
    /// The register that it was read from: `707/40433 = 880` is model, register and what it held.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub read_from: Option<String>,
}

/// What a setting came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SettingState {
    /// Its value is as required.
    Complies,
    /// Nobody looked: the region selected on a certified device stands for it.
    CoveredByRegion,
    /// Nobody sets it: the device's type test stands for it.
    ByTypeTest,
    /// It is asked for, and its content was not seen by those who wrote the profile.
    NotChecked,
    /// It was not shown to be as required.
    NotProven,
    /// It is not as required.
    DoesNotComply,
    /// Nothing asks for it.
    NotRequired,
}
