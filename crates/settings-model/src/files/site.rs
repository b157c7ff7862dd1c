//! A site: its facts, its devices, and what each was found and left with.

mod deciding;
mod line;

use super::cables::Cable;
use super::pieces::{Day, FactQuantity, FactWord, Named, Nominal, PhotoName, Text};
use super::profile::WhoWord;
use super::training::Training;
use super::versions::Version;
use super::{Edition, Kind};
use crate::catalogue::Equipment;
use crate::claim::Evidence;
use crate::facts::FactId;
use crate::notation::Written;
use crate::settings::{Figures, Settings};
use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, de};
use std::borrow::Cow;

/// One site.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct SiteFile<'a> {
    /// Always `site`.
    pub kind: Kind,
    /// The site's own name or number.
    #[serde(borrow)]
    pub site: Text<'a>,
    /// Made for a lesson: everything that is said of the site is marked as training.
    #[serde(borrow)]
    pub training: Option<Training<'a>>,
    /// The network operator, as its overlay files name it.
    #[serde(borrow)]
    pub network: Option<Text<'a>>,
    /// The requirements that hold for the site.
    #[serde(borrow)]
    pub requirements: Requirements<'a>,
    /// The dates that decide which version of a requirement governs.
    #[serde(default)]
    pub dates: Dates,
    /// What was done here, where that decides what is asked.
    #[serde(borrow)]
    pub work: Option<Work<'a>>,
    /// The supply at the site.
    #[serde(borrow, default)]
    pub supply: Supply<'a>,
    /// Export to the network, as the operator approved it.
    #[serde(borrow)]
    pub export: Option<Export<'a>>,
    /// Who answers for the site, for counting by crew, branch and company: names of teams, not of people.
    #[serde(borrow)]
    pub answerable: Option<Answerable<'a>>,
    /// Figures of the installation that are calculated for it; ratings are added up from the devices.
    #[serde(default)]
    #[schemars(schema_with = "crate::schema::installation_figures")]
    pub installation: Figures,
    /// The cables between the network and the inverters, by a name of your choice.
    #[serde(borrow, default)]
    pub cables: Named<Text<'a>, Cable<'a>>,
    /// Inverters and grid protection relays, by a name of your choice.
    #[serde(borrow)]
    #[schemars(extend("minProperties" = 1))]
    pub devices: Named<Text<'a>, Device<'a>>,
    /// Departures approved for this site alone.
    #[serde(borrow, default)]
    pub site_specific_approvals: Vec<SiteApproval<'a>>,
    /// What it was judged against, lowest layer first, so that it can be judged so again; `asleft pin`
    /// writes it.
    #[serde(borrow, default)]
    pub pinned: Vec<Pin<'a>>,
}

/// A profile that a site was judged against, by name and content.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Pin<'a> {
    /// Such as `overlays/quillbrook/3.0.0`.
    #[serde(borrow)]
    pub profile: Text<'a>,
    /// SHA-256 of its file, as `sha256sum` prints it.
    #[serde(borrow)]
    #[schemars(regex(pattern = "^[0-9a-f]{64}$"), extend("x-sha256" = true))]
    pub sha256: Text<'a>,
}

/// Under which requirements a site stands.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Requirements<'a> {
    /// Range of overlay versions, such as `^2.1`; without it, the version that the site's dates call for.
    #[serde(borrow)]
    #[schemars(extend("x-version-range" = true))]
    pub overlay: Option<Text<'a>>,
    /// The base standard, where no network operator adds to it: `as-nzs-4777.2/2020-amd2`.
    #[serde(borrow)]
    pub standard: Option<Text<'a>>,
    /// The standard of installation, where no network operator names one: `as-nzs-4777.1/2024`.
    #[serde(borrow)]
    pub installation: Option<Text<'a>>,
    /// Region of the base standard.
    #[serde(borrow)]
    pub region: Text<'a>,
    /// Which of several ways to comply the site takes, where the operator offers a choice.
    pub route: Option<FactWord<{ FactId::Route as u8 }>>,
}

/// What was done at the site.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Work<'a> {
    /// What kind of work.
    pub kind: Option<FactWord<{ FactId::Work as u8 }>>,
    /// What the operator exempted it from, if anything.
    #[serde(borrow)]
    pub exemption: Option<Exemption<'a>>,
}

/// An exemption that the network operator granted.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Exemption<'a> {
    /// The operator's reference for it.
    #[serde(borrow)]
    pub reference: Text<'a>,
    /// The reason given.
    #[serde(borrow)]
    pub reason: Text<'a>,
}

/// Who answers for a site.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Answerable<'a> {
    /// The crew.
    #[serde(borrow)]
    pub crew: Option<Text<'a>>,
    /// The branch.
    #[serde(borrow)]
    pub branch: Option<Text<'a>>,
    /// The company.
    #[serde(borrow)]
    pub company: Option<Text<'a>>,
}

/// The dates that decide which version of a requirement governs.
#[derive(Clone, Copy, Debug, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Dates {
    /// Application to connect.
    pub applied: Option<Day>,
    /// The operator's approval.
    pub approved: Option<Day>,
    /// The last day on which that approval holds while nothing is installed, where it lapses.
    pub approved_until: Option<Day>,
    /// Installation.
    pub installed: Option<Day>,
    /// The last alteration.
    pub altered: Option<Day>,
}

/// The supply at the site.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Supply<'a> {
    /// 1 or 3.
    #[serde(default, deserialize_with = "phases")]
    #[schemars(range(min = 1, max = 3))]
    pub phases: Option<u8>,
    /// Nominal voltage; without it, the standard's own.
    pub nominal: Option<Nominal>,
    /// Part of the network that the site is connected to.
    pub sub_network: Option<FactWord<{ FactId::SubNetwork as u8 }>>,
    /// The network operator's number of the connection point.
    #[serde(borrow)]
    pub connection_point: Option<Text<'a>>,
}

fn phases<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<u8>, D::Error> {
    let phases = Option::<u8>::deserialize(deserializer)?;
    match phases {
        None | Some(1..=3) => Ok(phases),
        Some(_) => Err(de::Error::custom("a supply has 1 to 3 phases")),
    }
}

/// Export to the network, as the operator approved it.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Export<'a> {
    /// How export is limited.
    pub kind: FactWord<{ FactId::ExportKind as u8 }>,
    /// Net export of the whole site that was approved.
    pub approved: Option<FactQuantity<{ FactId::ApprovedExport as u8 }>>,
    /// The approval's own reference.
    #[serde(borrow)]
    pub reference: Option<Text<'a>>,
}

/// An inverter or a grid protection relay.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Device<'a> {
    /// What it is; an inverter, unless it says otherwise.
    #[serde(default)]
    pub kind: DeviceKind,
    /// To what the device is certified; without it, a region's values are not taken as set.
    #[serde(borrow)]
    pub certified: Option<Certified<'a>>,
    /// An older edition that it stands under, such as a device connected before a newer one; without
    /// it, the edition of the site.
    #[serde(borrow)]
    pub stands_under: Option<StandsUnder<'a>>,
    /// What it is fed from.
    pub source: Option<FactWord<{ FactId::EnergySource as u8 }>>,
    /// Apparent power on the nameplate, of the whole device.
    pub nameplate: Option<FactQuantity<{ FactId::Nameplate as u8 }>>,
    /// Rated active power, of the whole device.
    pub rated_power: Option<FactQuantity<{ FactId::RatedPower as u8 }>>,
    /// What it is limited to, where that is less than its nameplate.
    pub limited_to: Option<FactQuantity<{ FactId::LimitedTo as u8 }>>,
    /// How many phases it feeds; on a single-phase supply that is clear without it.
    #[serde(default, deserialize_with = "phases")]
    #[schemars(range(min = 1, max = 3))]
    pub phases: Option<u8>,
    /// When it was installed, where that is not when the site was: an addition, say.
    pub installed: Option<Day>,
    /// On which phase a single-phase device sits.
    pub on_phase: Option<PhaseName>,
    /// Model, as on the nameplate.
    #[serde(borrow)]
    pub model: Option<Text<'a>>,
    /// Serial number.
    #[serde(borrow)]
    pub serial: Option<Text<'a>>,
    /// Firmware, as the device shows it.
    #[serde(borrow)]
    pub firmware: Option<Text<'a>>,
    /// Its family, as label maps name it; without it, the one that model and firmware lead to.
    #[serde(borrow)]
    pub labels: Option<Text<'a>>,
    /// What it held before the work.
    #[serde(borrow)]
    pub as_found: Option<Holding<'a>>,
    /// What it was left with.
    #[serde(borrow)]
    pub as_left: Option<Holding<'a>>,
}

/// The edition that a device stands under, where that is not the site's.
#[derive(Clone, Debug, PartialEq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct StandsUnder<'a> {
    /// The standard and edition: `as-nzs-4777.2/2015`.
    #[serde(borrow)]
    pub standard: Text<'a>,
    /// Its region, as that edition names it.
    #[serde(borrow)]
    pub region: Text<'a>,
}

/// What a device is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DeviceKind {
    /// An inverter.
    #[default]
    Inverter,
    /// A relay that protects the connection as a whole.
    GridProtectionRelay,
}

impl From<DeviceKind> for Equipment {
    fn from(kind: DeviceKind) -> Self {
        match kind {
            DeviceKind::Inverter => Self::Inverter,
            DeviceKind::GridProtectionRelay => Self::GridProtectionRelay,
        }
    }
}

/// A phase of the supply.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
pub enum PhaseName {
    /// The first.
    L1,
    /// The second.
    L2,
    /// The third.
    L3,
}

/// To what a device is certified.
#[derive(Clone, Debug, PartialEq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Certified<'a> {
    /// The standard's key, such as `as-nzs-4777.2`.
    #[serde(borrow)]
    pub standard: Text<'a>,
    /// Edition and amendment.
    pub edition: Edition,
}

/// What a device held at one moment, and how that is known.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Holding<'a> {
    /// When it was looked at.
    pub date: Option<Day>,
    /// By which role, such as `licensed installer`; a role, not a name.
    #[serde(borrow)]
    pub role: Option<Text<'a>>,
    /// How every value below is known, unless it says otherwise itself.
    pub known_by: Option<Evidence>,
    /// The region selected on the device: stands for the values that are not listed.
    #[serde(borrow)]
    pub region_selected: Option<Text<'a>>,
    /// The photo that shows the region as selected.
    pub region_photo: Option<PhotoName>,
    /// How the values that are known by reading were read.
    #[serde(borrow)]
    pub captured: Option<CaptureNote<'a>>,
    /// The values.
    #[serde(default)]
    pub settings: Settings,
    /// The values in the words of the display, as its label map knows them.
    pub displayed: Option<Displayed>,
}

/// How values were read from a device, as `asleft capture` states it.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct CaptureNote<'a> {
    /// The peer: `tcp 192.0.2.7:502`, a serial port, or a file of registers.
    #[serde(borrow)]
    pub peer: Text<'a>,
    /// The unit id.
    pub unit: Option<u8>,
    /// Where its map of registers begins.
    pub base: u16,
    /// When, in UTC: `2026-11-26T09:12:03Z`.
    #[serde(borrow)]
    pub at: Option<Text<'a>>,
    /// What the reading left open, each with its name in front: while there is any, nothing is proven.
    #[serde(borrow, default)]
    pub left_open: Vec<Text<'a>>,
    /// Limits of active power that were in force, for which there is no setting: `active power is limited to 50 % …`.
    #[serde(borrow, default)]
    pub limited: Vec<Text<'a>>,
    /// What else acted beside the settings.
    #[serde(borrow, default)]
    pub acts_beside: Vec<Text<'a>>,
    /// Settings whose registers the device has and does not implement, such as `reconnection/upper-voltage`.
    #[serde(borrow, default)]
    pub not_implemented: Vec<Text<'a>>,
}

/// Values in the words of a display. They become [`Settings`] before a site is judged; see
/// [`crate::labels::displayed()`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Displayed;

impl<'de> Deserialize<'de> for Displayed {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        de::IgnoredAny::deserialize(deserializer).map(|_| Self)
    }
}

/// A departure approved for this site alone. It replaces what the layers below require.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(extend("x-approval" = true, "allOf" = crate::schema::approved_values()))]
pub struct SiteApproval<'a> {
    /// The setting, such as `sustained-overvoltage/threshold`, with the device in front where only one is meant.
    #[serde(borrow)]
    pub setting: Text<'a>,
    /// The value required instead.
    pub require: Option<Written>,
    /// What complies instead.
    pub comply: Option<Written>,
    /// The overlay version that it departs from.
    #[serde(borrow)]
    pub against: Option<Against<'a>>,
    /// Why it may reach outside the adjustable range, move what is fixed, or stand against another version.
    #[serde(borrow)]
    pub exception: Option<Exception<'a>>,
    /// The approval on paper: reference, role and dates. Without a reference a departure is a breach.
    #[serde(borrow)]
    pub approval: Approval<'a>,
}

/// Why an approval reaches further than the requirement leaves; the headline of the site names it.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Exception<'a> {
    /// The network operator's reference for it.
    #[serde(borrow)]
    pub reference: Text<'a>,
    /// The reason given.
    #[serde(borrow)]
    pub reason: Text<'a>,
}

/// The overlay version that an approval departs from.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Against<'a> {
    /// The network.
    #[serde(borrow)]
    pub network: Text<'a>,
    /// The version.
    pub version: Version,
}

/// An approval.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Approval<'a> {
    /// The network operator's reference for it.
    #[serde(borrow)]
    pub reference: Text<'a>,
    /// The role that approved it, such as `network protection engineer`.
    #[serde(borrow)]
    pub role: Text<'a>,
    /// For whom that role speaks, where its own words do not say so.
    pub by: Option<WhoWord>,
    /// When it was granted.
    pub granted: Day,
    /// The last day on which it holds.
    pub until: Option<Day>,
}

impl SiteFile<'_> {
    /// What has to stand on everything that is said of the site, where it was made for a lesson.
    #[must_use]
    pub fn training_notice(&self) -> Option<&'static str> {
        self.training.as_ref().map(|_| super::training::NOTICE)
    }

    /// The site's name as it is printed: one that was made for a lesson carries its mark.
    #[must_use]
    pub fn title(&self) -> Cow<'_, str> {
        match self.training_notice() {
            None => Cow::Borrowed(&self.site),
            Some(notice) => Cow::Owned(format!("{} [{notice}]", self.site)),
        }
    }
}
