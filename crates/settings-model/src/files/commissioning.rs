//! What is known of the work at a site beside its settings: who did it, with what it was measured,
//! which photos prove what, what tests came to, and what is still to be told to whom.

use super::Kind;
use super::pieces::{ActivePower, Day, Frequency, Measure, Named, Quantity, Time, Voltage};
use crate::located::At;
use crate::quantity::Dimension;
use schemars::JsonSchema;
use serde::Deserialize;

/// The work at one site.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct CommissioningFile {
    /// Always `commissioning`.
    pub kind: Kind,
    /// The site, by the name in its own file.
    #[schemars(length(min = 1))]
    pub site: At<String>,
    /// Who did the work, and when it ended.
    pub work: Work,
    /// What is known of each device besides, by its name in the site's file.
    #[serde(default)]
    pub devices: Named<At<String>, Papers>,
    /// With what was measured, by a name of your choice.
    #[serde(default)]
    pub instruments: Named<At<String>, Instrument>,
    /// Photos, by the number or name that the site's file uses.
    #[serde(default)]
    pub photos: Named<At<String>, Photo>,
    /// What tests came to, by their names on the test sheet, such as `inverter-1/supply-opened`.
    #[serde(default)]
    pub tests: Named<At<String>, Outcome>,
    /// What has to be told to a register or an operator.
    #[serde(default)]
    pub to_register: Vec<ToRegister>,
}

/// Who did the work. Roles and numbers, not names of people.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Work {
    /// The day on which it ended.
    pub date: At<Day>,
    /// The role, such as `licensed electrician`.
    #[schemars(length(min = 1))]
    pub role: String,
    /// The licence number.
    pub licence: Option<String>,
    /// The number of an accreditation besides.
    pub accreditation: Option<String>,
    /// The number of the certificate that was issued for the work.
    pub certificate: Option<String>,
}

/// A device's papers.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Papers {
    /// The number of the certificate to its standard.
    pub certificate: Option<String>,
    /// The last day on which the certificate holds.
    pub certificate_expires: Option<At<Day>>,
}

/// An instrument.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Instrument {
    /// What it is, such as `relay test set`.
    #[schemars(length(min = 1))]
    pub what: String,
    /// Its serial number.
    pub serial: Option<String>,
    /// When it was last calibrated.
    pub calibrated: Option<At<Day>>,
    /// The last day on which the calibration holds.
    pub calibration_ends: Option<At<Day>>,
    /// How far its readings may lie off, either way, as its manual says.
    #[serde(default)]
    pub accuracy: Accuracy,
}

/// How far readings may lie off, either way.
#[derive(Clone, Copy, Debug, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Accuracy {
    /// Of a time.
    pub time: Option<Quantity<Time>>,
    /// Of a voltage.
    pub voltage: Option<Quantity<Voltage>>,
    /// Of a frequency.
    pub frequency: Option<Quantity<Frequency>>,
    /// Of an active power.
    pub power: Option<Quantity<ActivePower>>,
}

/// A photo.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Photo {
    /// The name of its file in the folder of photos.
    #[schemars(length(min = 1))]
    pub file: At<String>,
    /// SHA-256 of that file, as `sha256sum` prints it; without it, whatever lies there is taken.
    #[schemars(regex(pattern = "^[0-9a-f]{64}$"), extend("x-sha256" = true))]
    pub sha256: Option<At<String>>,
    /// What it shows besides the settings that name it in the site's file, such as `inverter-1/nameplate`.
    #[serde(default)]
    pub shows: Vec<String>,
}

/// What a test came to: what was measured, or why it was not done and by when to try again.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Outcome {
    /// The day on which it was done.
    pub date: Option<At<Day>>,
    /// The instrument, by its name in this file; without it, it was timed by hand.
    pub instrument: Option<At<String>>,
    /// From the cause until the device ceased, or the relay operated, or the excess was gone.
    pub time: Option<Quantity<Time>>,
    /// From the return of the supply until the device connected.
    pub waited: Option<Quantity<Time>>,
    /// How fast power rose then, of rated active power.
    pub ramp: Option<Quantity<RampRate>>,
    /// Over how long that was watched.
    pub watched_for: Option<Quantity<Time>>,
    /// The most that flowed out of the site, after the time allowed for removing it.
    pub export: Option<Quantity<ActivePower>>,
    /// Where a relay's stage picked up.
    pub pick_up: Option<At<String>>,
    /// Where it let go again.
    pub drop_off: Option<At<String>>,
    /// What else was seen.
    pub saw: Option<String>,
    /// Why it was not done.
    pub not_done: Option<At<String>>,
    /// By when to try again.
    pub retry_by: Option<Day>,
}

/// Marks a [`Quantity`] of ramp rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RampRate {}
impl Measure for RampRate {
    const DIMENSION: Dimension = Dimension::RampRate;
}

/// Something to tell a register or an operator.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct ToRegister {
    /// What is to be told, such as `entry of the installation`.
    #[schemars(length(min = 1))]
    pub what: String,
    /// To whom.
    #[schemars(length(min = 1))]
    pub to: String,
    /// By when.
    pub by: Option<Day>,
    /// When it was done; left out while it is not.
    pub done: Option<Day>,
    /// The reference given for it.
    pub reference: Option<String>,
}

impl CommissioningFile {
    /// The instrument of this name.
    #[must_use]
    pub fn instrument(&self, name: &str) -> Option<&Instrument> {
        named(&self.instruments, name)
    }

    /// What a test came to.
    #[must_use]
    pub fn test(&self, name: &str) -> Option<&Outcome> {
        named(&self.tests, name)
    }

    /// The photo of this number or name.
    #[must_use]
    pub fn photo(&self, name: &str) -> Option<&Photo> {
        named(&self.photos, name)
    }

    /// The papers of a device.
    #[must_use]
    pub fn papers(&self, device: &str) -> Option<&Papers> {
        named(&self.devices, device)
    }
}

fn named<'f, T>(things: &'f Named<At<String>, T>, name: &str) -> Option<&'f T> {
    things.0.iter().find(|(key, _)| key.value == name).map(|(_, thing)| thing)
}
