//! A site's values in the words of displays, turned into settings.
//!
//! What comes out is the same tree that a site's file is read from, each value at the place where the
//! display's words for it stand; so everything that is said of settings is said of them. No value is
//! dropped: one that cannot be read is a finding, as a setting left out might be taken for one that the
//! selected region brings.

use super::holding::Holding;
use super::reading::{Unfound, Unread};
use super::unit::{Lacks, Site};
use super::{Label, LabelMap};
use crate::document::{Kind, Node};
use crate::files::{self, Device, PercentOfSaid, SiteFile};
use crate::finding::Finding;
use crate::library::{Library, NotUsed, Request};
use crate::reader;
use crate::slip::one_of;
use crate::source::{Place, Sources};
use jiff::civil::Date;

/// The two moments at which a device is looked at.
const MOMENTS: [&str; 2] = ["as-found", "as-left"];
/// The key of values in the display's words.
pub(super) const DISPLAYED: &str = "displayed";

/// A site's tree with what its devices display turned into settings. Most sites state nothing so, and
/// come back as they are.
///
/// # Errors
/// Every value that cannot be read, at its own place.
pub fn displayed(root: Node, library: &mut Library, today: Date, sources: &mut Sources) -> Result<Node, Vec<Finding>> {
    if holdings(&root).next().is_none() {
        return Ok(root);
    }
    let mut findings = Vec::new();
    let mut settled: Vec<(String, Node)> = Vec::new();
    {
        let site: SiteFile<'_> = reader::typed(&root)?;
        for (name, device) in site.devices.iter() {
            let Some(node) = root.get("devices").and_then(|devices| devices.get(name)) else { continue };
            if holdings_of(node).next().is_some() {
                settled.extend(
                    device_settled(name, device, node, &site, (library, today, sources), &mut findings).map(|node| (name.to_owned(), node)),
                );
            }
        }
    }
    if !findings.is_empty() {
        findings.sort_by_key(|finding| finding.place);
        return Err(findings);
    }
    reader::checked(with_devices(root, settled), files::Kind::Site)
}

/// What is wrong with the display's words in a site's file that has other faults: all that can be told
/// without the facts that the file states.
#[must_use]
pub fn faults_beside(root: &Node, library: &mut Library, sources: &mut Sources) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (name, device) in root.get("devices").map(Node::entries).unwrap_or_default() {
        let displayed: Vec<&Node> = holdings_of(device).filter_map(|holding| holding.get(DISPLAYED)).collect();
        if displayed.is_empty() {
            continue;
        }
        let stated = ["labels", "model", "firmware"].map(|key| device.get(key).map(Node::text).filter(|text| !text.is_empty()));
        let Ok(Some(map)) = library.labels_for(stated, sources) else { continue };
        for (key, stated) in displayed.into_iter().flat_map(Node::entries) {
            let value = stated.get("value").unwrap_or(stated);
            match map.find(key.text()) {
                Err(unfound) => findings.push(unknown(name.text(), &map, key, unfound)),
                Ok(label) if !value.text().is_empty() => {
                    let slip = label.slip(value.text());
                    findings.extend(slip.map(|slip| unread(name.text(), label, value.place, Unread::Slip(slip))));
                }
                Ok(_) => {}
            }
        }
    }
    findings
}

fn holdings(root: &Node) -> impl Iterator<Item = &Node> {
    let devices = root.get("devices").map(Node::entries).unwrap_or_default();
    devices.iter().flat_map(|(_, device)| holdings_of(device))
}

fn holdings_of(device: &Node) -> impl Iterator<Item = &Node> {
    MOMENTS.iter().filter_map(|moment| device.get(moment)).filter(|holding| holding.get(DISPLAYED).is_some())
}

fn with_devices(mut root: Node, mut settled: Vec<(String, Node)>) -> Node {
    let Kind::Map(entries) = &mut root.kind else { return root };
    let Some((_, devices)) = entries.iter_mut().rfind(|(key, _)| key.text() == "devices") else { return root };
    let Kind::Map(devices) = &mut devices.kind else { return root };
    for (name, device) in devices {
        if let Some(at) = settled.iter().position(|(settled, _)| settled == name.text()) {
            *device = settled.swap_remove(at).1;
        }
    }
    root
}

/// What stands behind a site: profiles, the day asked about, and the texts read so far.
type Behind<'l> = (&'l mut Library, Date, &'l mut Sources);

fn device_settled(
    name: &str,
    device: &Device<'_>,
    node: &Node,
    site: &SiteFile<'_>,
    (library, today, sources): Behind<'_>,
    findings: &mut Vec<Finding>,
) -> Option<Node> {
    let map = match library.labels_of(device, sources) {
        Ok(Some(map)) => map,
        Ok(None) => {
            for (key, _) in holdings_of(node).filter_map(|holding| holding.entry(DISPLAYED)) {
                let finding = Finding::unusable("label-map", key.place, format!("{name}: no label map knows the words of this display"));
                findings.push(finding.hint("add `labels: …` to the device, naming its family; `asleft list labels` names those at hand"));
            }
            return None;
        }
        Err(NotUsed::Faulty(faults)) => {
            findings.extend(faults);
            return None;
        }
        Err(NotUsed::Because { part, says, hint, map }) => {
            let own = node.get(part).map(|stated| stated.place);
            let place = own.or_else(|| holdings_of(node).find_map(|holding| holding.entry(DISPLAYED)).map(|(key, _)| key.place));
            let mut finding = Finding::unusable("label-map", place.unwrap_or(node.place), format!("{name}: {says}")).hint(hint);
            if let Some(place) = map {
                finding = finding.because(place, "confirmed for this firmware");
            }
            findings.push(finding);
            return None;
        }
    };
    let standard = library.base_standard(Request::of_device(site, device), &site.facts(today, None), sources);
    let nominal = standard.as_ref().and_then(|standard| standard.file.nominal).map(|nominal| nominal.0);
    let facts = device.facts(site.facts(today, nominal));
    let at =
        Site { facts: &facts, percent_of: standard.as_ref().map(|standard| standard.file.percent_of.as_ref().map(PercentOfSaid::bases)) };
    let Kind::Map(mut entries) = node.kind.clone() else { return None };
    for (key, holding) in &mut entries {
        if MOMENTS.contains(&key.text()) && holding.get(DISPLAYED).is_some() {
            *holding = Holding::new(name, &map, at, holding).settled(findings);
        }
    }
    Some(Node { place: node.place, kind: Kind::Map(entries) })
}

/// A label that the map does not have, or has in several menus.
pub(super) fn unknown(device: &str, map: &LabelMap, key: &Node, unfound: Unfound) -> Finding {
    let finding = |says: String| Finding::unusable("unknown-label", key.place, format!("{device}: {says}"));
    match unfound {
        Unfound::Unknown(meant) => {
            let finding = finding(format!("{} has no label `{}`", map.name(), key.text()));
            match meant {
                Some(meant) => finding.hint(format!("did you mean `{meant}`?")),
                None => finding.hint("`asleft sheet SITE` lists the display's labels for the device"),
            }
        }
        Unfound::Ambiguous(paths) => {
            let finding = finding(format!("`{}` stands in {} menus of {}", key.text(), paths.len(), map.name()));
            let paths: Vec<String> = paths.iter().map(|path| format!("`{path}`")).collect();
            finding.hint(format!("write its menu in front: {}", one_of(&paths)))
        }
    }
}

/// A value that could not be read.
pub(super) fn unread(device: &str, label: &Label, place: Place, why: Unread) -> Finding {
    let finding = |says: &str| Finding::unusable("displayed-value", place, format!("{device}: \"{}\": {says}", label.words));
    let finding = match why {
        Unread::Slip(slip) => finding(&slip.says).hint(slip.help),
        Unread::Lacks(Lacks::Fact(fact)) => {
            let says = format!("it depends on a fact that is not stated: {}", fact.row().title);
            finding(&says).hint(format!("state {}", fact.row().stated_as))
        }
        Unread::Lacks(Lacks::PercentOf) => finding("the standard does not say of what its percentages are, and the display does")
            .hint("state it under `settings`, in the standard's own terms"),
    };
    finding.because(label.place, "what the display means by it")
}
