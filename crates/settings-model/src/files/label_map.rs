//! A label map: what the display of a family of devices calls each setting, and what it means by it.

use super::Kind;
use super::firmware::FirmwareRange;
use super::pieces::{Day, Named, Quantity, Time};
use crate::located::At;
use schemars::JsonSchema;
use serde::Deserialize;

/// What the display of one family of devices says, for a range of its firmware.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct LabelMapFile {
    /// Always `label-map`.
    pub kind: Kind,
    /// The family's key, which is the name of its folder.
    pub family: At<String>,
    /// Its name in print.
    pub title: String,
    /// Whether family and display are made up, for teaching and testing.
    #[serde(default)]
    pub invented: bool,
    /// The models it is for, as their nameplates say.
    #[schemars(length(min = 1))]
    pub models: Vec<At<String>>,
    /// The firmware it is for.
    pub firmware: At<FirmwareRange>,
    /// Standards and editions that the family is certified to: `lint` asks whether their settings are found.
    #[serde(default)]
    pub certified_to: Vec<At<String>>,
    /// Who compared it with the device.
    pub confirmed: ConfirmedBy,
    /// What a clearing time on this display holds besides the trip delay, where the manual states it as
    /// one figure; without it neither is worked out from the other.
    pub own_time: Option<Quantity<Time>>,
    /// The display's labels.
    #[schemars(length(min = 1))]
    pub labels: Vec<LabelText>,
}

/// Who compared a label map with the device, when and how.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ConfirmedBy {
    /// By which office or role; not a person's name.
    #[schemars(length(min = 1))]
    pub by: String,
    /// When.
    pub on: Day,
    /// On a device, or from its manual alone.
    pub how: HowConfirmed,
}

/// How a label map was confirmed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
pub enum HowConfirmed {
    /// Each label was set on a device, and its effect seen.
    #[serde(rename = "on a device")]
    OnADevice,
    /// From the device's manual.
    #[serde(rename = "from the manual")]
    FromTheManual,
}

impl HowConfirmed {
    /// The words in files and in print.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::OnADevice => "on a device",
            Self::FromTheManual => "from the manual",
        }
    }
}

/// One label of a display, or a part of a curve that the device has fixed.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(extend("minProperties" = 1))]
pub struct LabelText {
    /// The display's words.
    pub display: Option<At<String>>,
    /// In which menu they are found: `Protection > Voltage`.
    pub menu: Option<String>,
    /// The setting that it is, such as `overvoltage-1/threshold`; of a time, this says which time is meant.
    /// `region-selected` for the region.
    #[schemars(extend("x-labelled" = true))]
    pub setting: Option<At<String>>,
    /// Of a curve, which part: `point 2`, or `level at point 2`.
    #[schemars(extend("examples" = ["point 2", "level at point 2"]))]
    pub part: Option<At<String>>,
    /// What its number counts, between what or of what: `V line-line`, `% of nominal voltage`, `cycles of 50 Hz`.
    #[schemars(extend("examples" = ["V line-neutral", "cycles of 50 Hz"]))]
    pub unit: Option<At<String>>,
    /// From one value that it can show to the next: `1 V`.
    pub resolution: Option<At<String>>,
    /// Whether the device holds more digits than it shows; otherwise it holds just what it shows.
    pub rounded: Option<At<bool>>,
    /// Which way a number without a minus sign goes, of reactive power.
    pub positive: Option<At<DirectionWord>>,
    /// The words behind the number that say which way reactive power goes.
    pub directions: Option<At<DirectionWords>>,
    /// The display's words, and the catalogue's for each.
    #[serde(default)]
    pub words: Named<String, At<String>>,
    /// The display's words for modes, and for each the settings that it means.
    #[serde(default)]
    pub modes: Named<String, Named<String, At<String>>>,
    /// Of a part that the display does not show: what the device has it fixed at, in `unit`.
    pub fixed: Option<At<String>>,
    /// What else to know.
    pub note: Option<String>,
}

/// Which way reactive power goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DirectionWord {
    /// Lowers the voltage.
    Absorbing,
    /// Raises it.
    Supplying,
}

/// A display's words for the two ways of reactive power.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct DirectionWords {
    /// Lowers the voltage.
    #[schemars(length(min = 1))]
    pub absorbing: String,
    /// Raises it.
    #[schemars(length(min = 1))]
    pub supplying: String,
}
