//! A site: its facts, its devices, and what each was found and left with.

use super::pieces::{ActivePower, ApparentPower, Day, Named, Nominal, Quantity, Text};
use super::versions::Version;
use super::{Edition, Kind};
use crate::claim::Evidence;
use crate::exact::Exact;
use crate::facts::{FactId, Facts};
use crate::notation::Written;
use crate::settings::Settings;
use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, de};

/// One site.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct SiteFile<'a> {
    /// Always `site`.
    pub kind: Kind,
    /// The site's own name or number.
    #[serde(borrow)]
    pub site: Text<'a>,
    /// The network operator, as its overlay files name it.
    #[serde(borrow)]
    pub network: Option<Text<'a>>,
    /// Under which requirements the site stands.
    #[serde(borrow)]
    pub requirements: Requirements<'a>,
    /// The dates that decide which version of a requirement governs.
    #[serde(default)]
    pub dates: Dates,
    /// The supply at the site.
    #[serde(default)]
    pub supply: Supply,
    /// Export to the network, as the operator approved it.
    #[serde(borrow)]
    pub export: Option<Export<'a>>,
    /// Inverters by a name of your choice.
    #[serde(borrow)]
    #[schemars(extend("minProperties" = 1))]
    pub devices: Named<Text<'a>, Device<'a>>,
    /// Departures approved for this site alone.
    #[serde(borrow, default)]
    pub site_specific_approvals: Vec<SiteApproval<'a>>,
}

/// Under which requirements a site stands.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Requirements<'a> {
    /// Range of overlay versions, such as `^2.1`; without it, the version that the site's dates call for.
    #[serde(borrow)]
    #[schemars(extend("x-version-range" = true))]
    pub overlay: Option<Text<'a>>,
    /// The base standard, where no network operator adds to it: `as-nzs-4777.2/2020`.
    #[serde(borrow)]
    pub standard: Option<Text<'a>>,
    /// Region of the base standard.
    #[serde(borrow)]
    pub region: Text<'a>,
}

/// The dates that decide which version of a requirement governs.
#[derive(Clone, Copy, Debug, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Dates {
    /// Application to connect.
    pub applied: Option<Day>,
    /// The operator's approval.
    pub approved: Option<Day>,
    /// Installation.
    pub installed: Option<Day>,
}

/// The supply at the site.
#[derive(Clone, Copy, Debug, Default, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Supply {
    /// 1 or 3.
    #[serde(default, deserialize_with = "phases")]
    #[schemars(range(min = 1, max = 3))]
    pub phases: Option<u8>,
    /// Nominal voltage; without it, the standard's own.
    pub nominal: Option<Nominal>,
}

fn phases<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<u8>, D::Error> {
    let phases = Option::<u8>::deserialize(deserializer)?;
    match phases {
        None | Some(1..=3) => Ok(phases),
        Some(_) => Err(de::Error::custom("a supply has 1 to 3 phases")),
    }
}

/// How export is limited.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ExportKind {
    /// No export is allowed.
    None,
    /// One limit that does not change.
    Fixed,
    /// The operator sends the limit.
    Dynamic,
}

/// Export to the network, as the operator approved it.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Export<'a> {
    /// How export is limited.
    pub kind: ExportKind,
    /// Net export of the whole site that was approved.
    pub approved: Option<Quantity<ActivePower>>,
    /// The approval's own reference.
    #[serde(borrow)]
    pub reference: Option<Text<'a>>,
}

/// An inverter.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Device<'a> {
    /// To what the device is certified; without it, a region's values are not taken as set.
    #[serde(borrow)]
    pub certified: Option<Certified<'a>>,
    /// Apparent power on the nameplate, of the whole device.
    pub nameplate: Option<Quantity<ApparentPower>>,
    /// What it held before the work.
    #[serde(borrow)]
    pub as_found: Option<Holding<'a>>,
    /// What it was left with.
    #[serde(borrow)]
    pub as_left: Option<Holding<'a>>,
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
    /// The values.
    #[serde(default)]
    pub settings: Settings,
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
    /// The approval on paper: reference, role and dates. Without a reference a departure is a breach.
    #[serde(borrow)]
    pub approval: Approval<'a>,
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
    /// When it was granted.
    pub granted: Day,
    /// The last day on which it holds.
    pub until: Option<Day>,
}

impl SiteFile<'_> {
    /// Whether its parts fit together without a closer look: one network or one standard, devices of
    /// different names, no approvals. A site that was read from a line and is not plain has to go
    /// through [`crate::reader::read`], which says what does not fit.
    #[must_use]
    pub fn is_plain(&self) -> bool {
        let Requirements { overlay, standard, .. } = &self.requirements;
        let stands = matches!((&self.network, standard, overlay), (Some(_), None, _) | (None, Some(_), None));
        let names = || self.devices.iter().map(|(name, _)| name);
        let distinct = names().enumerate().all(|(n, name)| names().take(n).all(|earlier| earlier != name));
        stands && distinct && self.site_specific_approvals.is_empty()
    }

    /// The facts that requirements may depend on, as of a day.
    #[must_use]
    pub fn facts(&self, today: jiff::civil::Date, standard_nominal: Option<Exact>) -> Facts {
        let mut facts = Facts::default();
        let mut number = |id, n: Option<Exact>| {
            if let Some(n) = n {
                facts.set_number(id, n);
            }
        };
        number(FactId::NominalVoltage, self.supply.nominal.map(|n| n.0).or(standard_nominal));
        number(FactId::Phases, self.supply.phases.map(|n| Exact::from(i64::from(n))));
        number(FactId::ApprovedExport, self.export.as_ref().and_then(|e| e.approved).map(|q| q.number));
        number(FactId::NameplateTotal, self.nameplate_total());
        let dates =
            [(FactId::Applied, self.dates.applied), (FactId::Approved, self.dates.approved), (FactId::Installed, self.dates.installed)];
        for (id, day) in dates {
            number(id, day.map(|day| crate::facts::days(day.0)));
        }
        number(FactId::Today, Some(crate::facts::days(today)));
        if let Some(export) = &self.export {
            facts.set(FactId::ExportKind, crate::facts::FactValue::Word(export.kind as u8));
        }
        facts
    }

    /// `None` while any device's nameplate is not stated.
    fn nameplate_total(&self) -> Option<Exact> {
        let mut devices = self.devices.iter().map(|(_, device)| device.nameplate.map(|q| q.number));
        let first = devices.next()??;
        devices.try_fold(first, |sum, one| Some(sum + one?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::FactShape;

    /// `facts` relies on it.
    #[test]
    fn kinds_of_export_stand_in_the_order_of_the_fact_catalogue() {
        let words = [ExportKind::None, ExportKind::Fixed, ExportKind::Dynamic].map(|kind| format!("{kind:?}").to_lowercase());
        assert_eq!(FactId::ExportKind.row().shape, FactShape::Choice(&["none", "fixed", "dynamic"]));
        assert_eq!(words, ["none", "fixed", "dynamic"]);
    }
}
