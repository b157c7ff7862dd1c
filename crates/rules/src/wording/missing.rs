//! What is missing: values that are not stated, and facts that demands depend on.

use super::Wording;
use crate::assess::RegionStands;
use crate::judge::{MissingEvidence, UnmetClaim, UnmetKind};
use crate::phrase::{complies_within, missing_evidence_remedy, origin};
use crate::provenance::of_line;
use settings_model::catalogue::{Equipment, Harm, HeldBy, SettingId};
use settings_model::facts::FactId;
use settings_model::finding::{Because, Finding, Folded, Outcome};
use std::collections::BTreeMap;

impl Wording<'_> {
    /// One finding for each fact that is not stated, with all that depends on it.
    pub(super) fn of_hanging(&self, hanging: &[&UnmetClaim]) -> Vec<(Harm, Finding)> {
        let mut by_fact: BTreeMap<FactId, Vec<&UnmetClaim>> = BTreeMap::new();
        for fault in hanging {
            by_fact.entry(hangs_on(fault).expect("only those that hang")).or_default().push(fault);
        }
        let one = |(fact, faults): (FactId, Vec<&UnmetClaim>)| {
            if let [only] = faults[..] {
                let primary = self.of_setting(only.setting, &faults);
                return (primary.harm, primary.finding);
            }
            let (name, count) = (self.device.name, faults.len());
            let headline =
                format!("{name}: what is required of {count} settings depends on a fact that is not stated: {}", fact.row().title);
            let place = match self.device.kind {
                Equipment::Installation => self.site.place(&["devices"]),
                _ => self.site.place(&["devices", name]),
            };
            let mut finding = Finding::new(Outcome::NotProven, "fact-not-stated", place, headline);
            finding.setting = Some(name.to_owned());
            finding.folded = by_function(faults.iter().map(|fault| fault.setting));
            (Harm::Departs, finding.hint(missing_evidence_remedy(MissingEvidence::Hangs(fact))))
        };
        by_fact.into_iter().map(one).collect()
    }

    /// One finding for all that the network operator says, and nobody has said here.
    pub(super) fn of_left_open(&self, left_open: &[&UnmetClaim]) -> Finding {
        let name = self.device.name;
        if let [only] = left_open {
            return self.of_setting(only.setting, left_open).finding;
        }
        let place = self.site.place(&["devices", name, "as-left", "settings"]);
        let headline =
            format!("{name}: {} settings lie within their ranges; the network operator decides the value of each", left_open.len());
        let mut finding = Finding::new(Outcome::NotProven, "left-to-the-operator", place, headline);
        finding.setting = Some(name.to_owned());
        finding.folded = by_function(left_open.iter().map(|fault| fault.setting));
        finding.hint(missing_evidence_remedy(MissingEvidence::LeftOpen))
    }

    pub(super) fn of_unstated(&self, unstated: &[&UnmetClaim]) -> Finding {
        let path: &[&str] = match self.device.kind {
            Equipment::Installation => &["installation"],
            _ => &["devices", self.device.name, "as-left", "settings"],
        };
        let names: Vec<String> = unstated.iter().map(|fault| fault.setting.to_string()).collect();
        let region = match self.device.region {
            _ if self.device.kind == Equipment::Installation => None,
            RegionStands::Yes => Some("what the network asks differs from the region, so the selected region does not stand for it"),
            RegionStands::NotCertified => {
                Some("a selected region stands for values only on a device stated to be certified to the standard")
            }
            _ => Some("no region is stated as selected, so every value needs evidence of its own"),
        };
        let headline = match &names[..] {
            [one] => format!("{}: {one} is not stated", self.device.name),
            _ => format!("{}: {} required settings are not stated", self.device.name, names.len()),
        };
        let mut finding = Finding::new(Outcome::NotProven, "not-stated", self.site.place(path), headline);
        finding.notes.extend(region.map(str::to_owned));
        finding.setting = match &names[..] {
            [one] => Some(format!("{}/{one}", self.device.name)),
            _ => Some(self.device.name.to_owned()),
        };
        if let [one] = unstated
            && let Some(resolved) = self.device.counted.requirement.get(one.setting)
        {
            let wanted = complies_within(&resolved.entry, &self.device.facts).unwrap_or_default();
            let why = one.claim.why;
            let origin = origin(why, self.rulebook, &self.device.departures, one.setting);
            let text = Some(format!("{wanted} required by {origin}"));
            finding.because.push(Because {
                place: self.place_of_why(why, one.setting),
                label: "required here".to_owned(),
                text,
                basis: of_line(why, self.rulebook),
            });
        } else {
            finding.folded = by_function(unstated.iter().map(|fault| fault.setting));
        }
        finding.hint(match self.device.region {
            RegionStands::NotStated if self.device.kind == Equipment::Inverter && unstated.len() > FEW => {
                let certificate = &self.device.certificate;
                certificate.keeps_from_selecting(&self.rulebook.region_title).unwrap_or_else(|| {
                    format!(
                        "first see on the device which region is selected, and record it as `region-selected`. Only if it is not {}, select that; this \
                         may reset what was entered. Then read and state what the sheet lists under ENTER",
                        self.rulebook.region_title
                    )
                })
            }
            _ if self.device.kind == Equipment::Installation => of_installation(unstated),
            _ => missing_evidence_remedy(MissingEvidence::NotStated),
        })
    }
}

/// Where a file says what was calculated for the whole site, and what its devices add up to.
fn of_installation(unstated: &[&UnmetClaim]) -> String {
    let held = |by: HeldBy| unstated.iter().any(|fault| fault.setting.parameter().held_by == by);
    let calculated = "write it under `installation`, as `voltage-rise: { total: … % }`; or describe the cables under `cables`, and \
                      `asleft rise SITE` works it out";
    let added_up = "state at each device what it is added up from: `nameplate`, `phases`, `on-phase`";
    let remedies = [(HeldBy::Calculated, calculated), (HeldBy::AddedUp, added_up)];
    let remedies: Vec<&str> = remedies.into_iter().filter(|(by, _)| held(*by)).map(|(_, remedy)| remedy).collect();
    remedies.join("; ")
}

/// Whether a value lies within a range in which the network operator says the value.
pub(super) fn is_left_open(fault: &UnmetClaim) -> bool {
    fault.kind == UnmetKind::NotProven(MissingEvidence::LeftOpen)
}

/// The fact that a demand depends on.
pub(super) fn hangs_on(fault: &UnmetClaim) -> Option<FactId> {
    match fault.kind {
        UnmetKind::NotProven(MissingEvidence::Hangs(fact)) => Some(fact),
        _ => None,
    }
}

/// `overvoltage-1: state, threshold`, a line for each function.
pub(super) fn by_function(settings: impl Iterator<Item = SettingId>) -> Vec<Folded> {
    let mut lines: Vec<(SettingId, String)> = Vec::new();
    for setting in settings {
        match lines.last_mut() {
            Some((last, line)) if last.same_function(setting) => line.push_str(&format!(", {}", setting.parameter().key)),
            _ => lines.push((setting, setting.to_string().replace('/', ": "))),
        }
    }
    lines.into_iter().map(|(_, line)| line.into()).collect()
}

/// More than this many settings are not read one by one where a region could stand for them.
const FEW: usize = 8;
