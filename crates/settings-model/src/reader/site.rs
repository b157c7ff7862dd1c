//! What a site's schema cannot say: its parts must fit together.

use super::{anchors, cables};
use crate::catalogue::{Equipment, FUNCTIONS};
use crate::document::Node;
use crate::finding::{Finding, nearest};
use crate::notation;
use crate::schema::setting_of_path;
use crate::slip::listed;

/// Adds what does not fit together.
pub(super) fn check(root: &Node, findings: &mut Vec<Finding>) {
    findings.extend(requirements(root));
    findings.extend(lapsed_before_it_held(root));
    cables::check(root, findings);
    findings.extend(functions_of_inverters(root));
    let devices: Vec<&str> = root.get("devices").map(Node::entries).unwrap_or_default().iter().map(|(name, _)| name.text()).collect();
    if devices.is_empty() {
        return; // that is reported by itself
    }
    let approvals = root.get("site-specific-approvals").map(Node::items).unwrap_or_default();
    let points = approvals.iter().filter_map(|approval| Some((setting_of_path(approval.get("setting")?.text())?, approval.get("comply")?)));
    findings.extend(points.flat_map(|(setting, points)| anchors::missing(setting, points)));
    findings.extend(approvals.iter().filter_map(|approval| no_device(approval.get("setting")?, &devices)));
}

/// A relay has no functions of an inverter: what states them is an inverter, and would be asked nothing as a relay.
fn functions_of_inverters(root: &Node) -> Vec<Finding> {
    let devices = root.get("devices").map(Node::entries).unwrap_or_default().iter();
    let relays = devices.filter(|(_, device)| device.get("kind").is_some_and(|kind| kind.text() == Equipment::GridProtectionRelay.word()));
    let holdings = relays.flat_map(|(name, device)| ["as-found", "as-left"].map(|moment| (name, device.get(moment))));
    let settings = holdings.filter_map(|(name, holding)| Some((name, holding?.get("settings")?)));
    let functions = settings.flat_map(|(name, settings)| settings.entries().iter().map(move |(key, _)| (name, key)));
    let foreign = functions.filter_map(|(name, key)| {
        let function = FUNCTIONS.iter().find(|function| function.key == key.text())?;
        let is_foreign = !function.held_by.contains(&Equipment::GridProtectionRelay) && function.held_by.contains(&Equipment::Inverter);
        is_foreign.then(|| {
            let says = format!("a grid protection relay has no `{}`", function.key);
            let finding = Finding::unusable("function-of-an-inverter", key.place, says);
            finding.hint(format!("if `{}` is an inverter, leave `kind` out of it", name.text()))
        })
    });
    foreign.collect()
}

/// An approval holds from its day on.
fn lapsed_before_it_held(root: &Node) -> Option<Finding> {
    let dates = root.get("dates")?;
    let day = |key: &str| notation::date(dates.get(key)?.text()).ok();
    let (approved, until) = (day("approved")?, day("approved-until")?);
    (until < approved).then(|| {
        let says = format!("holds until {until}, before it was given on {approved}");
        let finding = Finding::unusable("dates", dates.get("approved-until")?.place, says);
        Some(finding.hint("compare both with the approval itself"))
    })?
}

/// A site stands under a network's overlay, which says on which standard, or under a standard alone.
fn requirements(root: &Node) -> Option<Finding> {
    let (key, requirements) = root.entry("requirements")?;
    let misspelt =
        |group: &Node, key: &str| group.get(key).is_none() && group.entries().iter().any(|(k, _)| nearest(k.text(), [key]).is_some());
    if misspelt(root, "network") || misspelt(requirements, "standard") || misspelt(requirements, "overlay") {
        return None; // reported as unknown keys
    }
    let (overlay, standard) = (requirements.entry("overlay"), requirements.entry("standard"));
    let finding = |place, says: &str, help: &str| Some(Finding::unusable("requirements", place, says).hint(help));
    match (root.get("network"), standard, overlay) {
        (Some(_), Some((standard, _)), _) => {
            let help = "leave `standard` out: the network's overlay says which standard it extends";
            finding(standard.place, "a standard beside a network", help)
        }
        (None, _, Some((overlay, _))) => {
            finding(overlay.place, "a range of overlay versions, and no network", "add `network: …` to the site, or leave `overlay` out")
        }
        (None, None, None) if !requirements.entries().is_empty() => finding(
            key.place,
            "neither a network nor a standard is named",
            "add `network: …` to the site, or `standard: …` here where no operator adds to it",
        ),
        _ => None,
    }
}

/// An approval for a device that the site lacks would be passed over in silence.
fn no_device(setting: &Node, devices: &[&str]) -> Option<Finding> {
    setting_of_path(setting.text())?;
    let [device, _, _] = setting.text().split('/').collect::<Vec<_>>()[..] else { return None };
    if devices.contains(&device) {
        return None;
    }
    let finding = Finding::unusable("unknown-device", setting.place, format!("the site has no device `{device}`"));
    Some(match nearest(device, devices.iter().copied()) {
        Some(meant) => finding.hint(format!("did you mean `{meant}`?")),
        None => finding.hint(format!("its devices: {}; without a device in front, all are meant", listed(devices))),
    })
}
