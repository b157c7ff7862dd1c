//! What the schema of an attestation cannot say: what was read, and in which clause each value stands.

use super::anchors;
use crate::catalogue::SettingId;
use crate::document::{Kind, Node};
use crate::files::BLOCKS;
use crate::finding::Finding;

/// Adds what does not fit together.
pub(super) fn check(root: &Node, findings: &mut Vec<Finding>) {
    findings.extend(what_was_read(root));
    for confirmed in root.get("confirmed").map(Node::items).unwrap_or_default() {
        // a misspelt clause is reported as such
        let is_misspelt = confirmed.entries().iter().any(|(key, _)| !GROUP.contains(&key.text()));
        let of_group = is_misspelt || confirmed.get("clause").is_some_and(says_something);
        let blocks: Vec<&Node> = BLOCKS.iter().filter_map(|block| confirmed.get(block)).collect();
        if blocks.is_empty() && matches!(confirmed.kind, Kind::Map(_)) {
            let finding = Finding::unusable("says-nothing", confirmed.place, "nothing is confirmed here");
            findings.push(finding.hint("add `settings:` with what was read, or leave the group out"));
        }
        for (function, readings) in blocks.into_iter().flat_map(Node::entries) {
            for (key, reading) in readings.entries() {
                let setting = SettingId::find(function.text(), key.text());
                one(reading, setting, of_group, findings);
            }
        }
    }
}

/// Everything that a group may say.
const GROUP: [&str; 5] = ["regions", "clause", BLOCKS[0], BLOCKS[1], BLOCKS[2]];

fn says_something(node: &Node) -> bool {
    !matches!(node.kind, Kind::Null)
}

/// An edition of a standard, or a version of a network.
fn what_was_read(root: &Node) -> Option<Finding> {
    let finding = |key: &Node, says: &str, help: &str| Some(Finding::unusable("attests-to", key.place, says).hint(help));
    let first = root.entries().first().map(|(key, _)| key);
    match (root.entry("standard"), root.entry("edition"), root.entry("network"), root.entry("version")) {
        (None, None, None, None) => {
            finding(first?, "it does not say what was read", "add `standard: …` and its `edition`, or `network: …` and its `version`")
        }
        (Some(_), _, Some((network, _)), _) => finding(network, "a network beside a standard", "keep one: each has a file of its own"),
        (Some((key, _)), None, None, _) => {
            finding(key, "a standard without its edition", "add `edition: { year: …, amendment: … }`: the amendment is part of it")
        }
        (None, _, Some((key, _)), None) => finding(key, "a network without a version", "add `version: …`, as `asleft list` names it"),
        (None, Some((key, _)), None, None) => finding(key, "an edition of no standard", "add `standard: …`, as `asleft list` names it"),
        (None, None, None, Some((key, _))) => finding(key, "a version of no network", "add `network: …`, as `asleft list` names it"),
        (Some(_), _, None, Some((key, _))) => finding(key, "a version beside a standard", "leave it out: a standard has an `edition`"),
        (None, Some((key, _)), Some(_), _) => finding(key, "an edition beside a network", "leave it out: a network has a `version`"),
        _ => None,
    }
}

/// Everything that a reading may say besides its values.
const NO_VALUES: [&str; 3] = ["clause", "when", "cases"];

/// Checks a reading, and its cases.
fn one(reading: &Node, setting: Option<SettingId>, clause_above: bool, findings: &mut Vec<Finding>) {
    let clause = clause_above || reading.get("clause").is_some_and(says_something);
    let value = reading.entries().iter().find(|(key, value)| !NO_VALUES.contains(&key.text()) && says_something(value));
    if let (Some((verb, _)), false) = (value, clause) {
        let finding = Finding::unusable("no-clause", verb.place, "a value without the clause that it was read in");
        findings.push(finding.hint("add `clause: …` here, or to the whole group"));
    }
    let cases = reading.entry("cases");
    if let Some((cases, _)) = cases
        && let Some((other, _)) = reading.entries().iter().find(|(key, _)| !["cases", "clause"].contains(&key.text()))
    {
        let finding =
            Finding::unusable("cases", other.place, format!("`{}` beside `cases`", other.text())).because(cases.place, "the cases");
        findings.push(finding.hint("say it within each case, as the profile does"));
    }
    let sets = ["comply", "also", "adjustable"].iter().filter_map(|verb| reading.get(verb));
    let sets = setting.into_iter().flat_map(|setting| sets.clone().map(move |points| (setting, points)));
    findings.extend(sets.flat_map(|(setting, points)| anchors::missing(setting, points)));
    for case in cases.map(|(_, cases)| cases.items()).unwrap_or_default() {
        one(case, setting, clause, findings);
    }
}
