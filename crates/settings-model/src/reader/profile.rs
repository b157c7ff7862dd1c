//! What the schema of a standard or an overlay cannot say: what it stands on, how cases follow one
//! another, and on which source each statement rests.

use super::anchors;
use super::expected::SAY_SOMETHING;
use crate::catalogue::SettingId;
use crate::document::{Kind, Node};
use crate::facts::FactId;
use crate::files::BLOCKS;
use crate::finding::{Finding, nearest};
use crate::slip::listed;
use crate::source::Place;

/// Bytes of a standard times its regions, each of which takes in the whole file: the largest that is shipped has 145 kB.
const MOST_LAID_OUT: u64 = 8_000_000;

/// Adds what does not fit together.
pub(super) fn check(root: &Node, findings: &mut Vec<Finding>) {
    findings.extend(too_many_regions(root));
    findings.extend(extends(root));
    findings.extend(windows_on_devices(root));
    let sources = root.get("sources").map(|sources| sources.entries().iter().map(|(key, _)| key.text()).collect::<Vec<_>>());
    let said = named(root, "percent-of").iter().filter_map(|(_, said)| said.get("source"));
    findings.extend(said.filter_map(|source| unknown_source(source, sources.as_deref())));
    let (regions, parts) = (named(root, "regions"), named(root, "parts"));
    findings.extend(parts_that_do_not_fit(regions, parts));
    let holders = regions.iter().chain(parts).map(|(_, holder)| holder).chain([root]);
    let blocks = holders.flat_map(|holder| BLOCKS.iter().filter_map(|block| holder.get(block)));
    let statements = blocks.flat_map(Node::entries).flat_map(|(name, function)| function.entries().iter().map(move |said| (name, said)));
    for (function, (key, statement)) in statements {
        let cases = statement.get("cases").map(Node::items).unwrap_or_default();
        let setting = SettingId::find(function.text(), key.text());
        let said = StatementContext { setting, key: key.place, listed: sources.as_deref() };
        if cases.is_empty() {
            said.one(statement, findings);
        } else {
            findings.extend(beside_cases(statement));
            for (n, case) in cases.iter().enumerate() {
                findings.extend(case_in_line(case, n + 1 == cases.len()));
                said.one(case, findings);
            }
        }
    }
}

/// Each region is laid out by itself, with all that the file says of every region.
fn too_many_regions(root: &Node) -> Option<Finding> {
    let (key, regions) = root.entry("regions")?;
    let (count, bytes) = (regions.entries().len() as u64, u64::from(root.place.end - root.place.start));
    let says = || format!("{count} regions in a file of {bytes} bytes are more than anybody can have meant");
    let hint = "keep the regions of one document in a file, each with what it alone asks";
    (count > 1 && count * bytes > MOST_LAID_OUT).then(|| Finding::unusable("many-regions", key.place, says()).hint(hint))
}

/// The entries of a group of the file.
fn named<'n>(root: &'n Node, group: &str) -> &'n [(Node, Node)] {
    root.get(group).map(Node::entries).unwrap_or_default()
}

/// The one of some names that is the same.
fn earlier<'n>(names: &'n [Node], name: &Node) -> Option<&'n Node> {
    names.iter().find(|earlier| earlier.text() == name.text())
}

/// Regions are made of parts that are there, and every part is in some region.
fn parts_that_do_not_fit(regions: &[(Node, Node)], parts: &[(Node, Node)]) -> Vec<Finding> {
    let used = || regions.iter().filter_map(|(_, region)| region.get("made-of")).flat_map(Node::items);
    let known: Vec<&str> = parts.iter().map(|(name, _)| name.text()).collect();
    let unknown = used().filter(|name| !name.text().is_empty() && !known.contains(&name.text())).map(|name| {
        let finding = Finding::unusable("unknown-part", name.place, format!("`{}` is not among the file's parts", name.text()));
        match nearest(name.text(), known.iter().copied()) {
            Some(meant) => finding.hint(format!("did you mean `{meant}`?")),
            None if known.is_empty() => finding.hint("add it under `parts`"),
            None => finding.hint(format!("add it under `parts`, or name one of {}", listed(&known))),
        }
    });
    let unused = parts.iter().filter(|(name, _)| used().all(|used| used.text() != name.text())).map(|(name, _)| {
        let finding = Finding::unusable("unused-part", name.place, format!("no region is made of `{}`, so it says nothing", name.text()));
        finding.hint("name it under some region's `made-of`, or leave it out")
    });
    let lists = regions.iter().filter_map(|(_, region)| region.get("made-of")).map(Node::items);
    let twice = lists.flat_map(|names| names.iter().enumerate().filter_map(|(n, name)| Some((name, earlier(&names[..n], name)?))));
    let twice = twice.map(|(name, first)| {
        let finding = Finding::unusable("part-twice", name.place, format!("`{}` is named twice", name.text()));
        finding.because(first.place, "here first").hint("leave it out here: a part says the same each time")
    });
    unknown.chain(unused).chain(twice).collect()
}

/// An overlay stands on a standard, or on another network's overlay.
fn extends(root: &Node) -> Option<Finding> {
    let (key, extends) = root.entry("extends")?;
    let finding = |place, says: &str, help: &str| Some(Finding::unusable("extends", place, says).hint(help));
    match (extends.entry("standard"), extends.entry("network"), extends.entry("version")) {
        (Some(_), Some((network, _)), _) => {
            finding(network.place, "a network beside a standard", "keep one: the other network's overlay says which standard it extends")
        }
        (None, None, _) => finding(
            key.place,
            "the overlay does not say what it extends",
            "add `standard: …`, or `network: …` with a range of its versions as `version: …`",
        ),
        (Some(_), None, Some((version, _))) => {
            finding(version.place, "a range of versions, and no network", "leave `version` out: a standard's edition is part of its name")
        }
        _ => None,
    }
}

/// Which version governs is a question about a site, so its conditions ask nothing of a device.
fn windows_on_devices(root: &Node) -> Vec<Finding> {
    let lines = root.get("in-force").map(Node::items).unwrap_or_default().iter();
    let older = root.get("older-accepted").and_then(|older| older.get("when"));
    let keys = lines.chain(older).flat_map(Node::entries).map(|(key, _)| key);
    let of_device = keys.filter(|key| FactId::named(key.text()).is_some_and(|fact| fact.row().of_device));
    let finding = |key: &Node| {
        let says = format!("`{}` is a fact of each device, and a version governs a whole site", key.text());
        Finding::unusable("in-force", key.place, says).hint("ask for it in the statements themselves, under `when`")
    };
    of_device.map(finding).collect()
}

/// What a statement may say.
const VERBS: [&str; 8] = ["require", "comply", "also", "nowhere-below", "nowhere-above", "adjustable", "evidence", "gap"];
/// The verbs that take points whose coordinates are intervals.
const SETS: [&str; 3] = ["comply", "also", "adjustable"];

/// What a statement says outside its cases would be passed over in silence.
fn beside_cases(statement: &Node) -> Option<Finding> {
    let cases = statement.entry("cases")?.0.place;
    let (key, _) = statement.entries().iter().find(|(key, _)| key.text() != "cases")?;
    let finding = Finding::unusable("cases", key.place, format!("`{}` beside `cases`", key.text())).because(cases, "the cases");
    Some(finding.hint("say it within each case; the last case may go without `when`, and then holds where no other does"))
}

/// A tolerance is one of the response required; it is what complies.
fn response_of_nothing(said: &Node) -> Option<Finding> {
    let (within, _) = said.entry("response-within")?;
    let finding = |says: &str| Finding::unusable("response-within", within.place, says);
    match (said.entry("require"), ["comply", "nowhere-below", "nowhere-above"].iter().find_map(|verb| said.entry(verb))) {
        (None, _) => Some(finding("a tolerance of no response").hint("add `require` with the points of the curve that it is around")),
        (_, Some((comply, _))) => {
            let both = finding(&format!("a tolerance beside `{}`", comply.text())).because(comply.place, "this says what complies");
            Some(both.hint("leave one of the two out: each says what complies"))
        }
        _ => None,
    }
}

/// Every case has a condition, but for the last, which may hold wherever no other does.
fn case_in_line(case: &Node, last: bool) -> Option<Finding> {
    let first = case.entries().first().map_or(case.place, |(key, _)| key.place);
    let finding = |place, says: &str, help: &str| Some(Finding::unusable("cases", place, says).hint(help));
    match (case.entry("when"), case.entry("otherwise")) {
        (Some(_), Some((otherwise, _))) => finding(otherwise.place, "`otherwise` in a case with a condition", "leave one of the two out"),
        (None, Some((otherwise, _))) if !last => finding(otherwise.place, "`otherwise` before the last case", "move this case to the end"),
        (None, Some((otherwise, _))) if case.entries().len() > 1 => {
            finding(otherwise.place, "`otherwise` beside what the case says itself", "leave `otherwise` out, or all the rest")
        }
        (None, None) if !last => finding(first, "a case without `when` before the last", "add `when: …`, or move this case to the end"),
        _ => None,
    }
}

/// Statements of one setting.
struct StatementContext<'s> {
    /// Which; `None` where the catalogue has no such setting, which is reported by itself.
    setting: Option<SettingId>,
    key: Place,
    /// The file's sources; `None` where it has none, which is reported by itself.
    listed: Option<&'s [&'s str]>,
}

impl StatementContext<'_> {
    /// Checks a statement, or one of its cases.
    fn one(&self, said: &Node, findings: &mut Vec<Finding>) {
        for name in ["source", "range-source"] {
            findings.extend(said.get(name).and_then(|source| unknown_source(source, self.listed)));
        }
        let verb = VERBS.iter().find_map(|verb| said.entry(verb));
        match verb {
            None if said.entry("otherwise").is_none() => findings.extend(self.silent(said)),
            Some((verb, _)) if said.get("source").is_none() => {
                let finding = Finding::unusable("no-source", verb.place, "a requirement without a source");
                findings.push(finding.hint("add `source: …`, naming one of the file's `sources`"));
            }
            _ => {}
        }
        if let (Some((gap, _)), Some((verb, _))) = (said.entry("gap"), VERBS.iter().filter(|v| **v != "gap").find_map(|v| said.entry(v))) {
            let finding = Finding::unusable("gap", gap.place, "a gap beside a requirement").because(verb.place, "the requirement");
            findings.push(finding.hint("leave one of the two out: a gap says that nothing was seen"));
        }
        findings.extend(response_of_nothing(said));
        let sets = self.setting.into_iter().flat_map(|setting| SETS.iter().filter_map(move |verb| Some((setting, said.get(verb)?))));
        findings.extend(sets.flat_map(|(setting, points)| anchors::missing(setting, points)));
        let curve = said.get("require").is_none_or(|require| matches!(require.kind, Kind::List(_)));
        if let (true, Some((spacing, _)), None, None) = (curve, said.entry("spacing"), said.get("comply"), said.get("adjustable")) {
            let finding = Finding::unusable("no-points", spacing.place, "a spacing of no points");
            findings.push(finding.hint("add `comply` or `adjustable` with the points that it is between"));
        }
    }

    /// An empty group is reported by the schema.
    fn silent(&self, said: &Node) -> Option<Finding> {
        let (first, _) = said.entries().iter().find(|(key, _)| key.text() != "cases")?;
        let known = ["when", "because", "source", "moved-by", "outside-because", "range-source", "spacing", "step", "response-within"];
        let only_known = said.entries().iter().all(|(key, _)| known.contains(&key.text()));
        let place = if first.place.is_known() { first.place } else { self.key };
        let moves = said.entry("moved-by").is_some();
        (only_known && !moves).then(|| Finding::unusable("says-nothing", place, "the statement says nothing").hint(SAY_SOMETHING))
    }
}

/// `listed` are the file's sources; `None` where it has none, which is reported by itself.
fn unknown_source(source: &Node, listed: Option<&[&str]>) -> Option<Finding> {
    let listed = listed.filter(|listed| !source.text().is_empty() && !listed.contains(&source.text()))?;
    let finding = Finding::unusable("unknown-source", source.place, format!("`{}` is not among the file's sources", source.text()));
    Some(match nearest(source.text(), listed.iter().copied()) {
        Some(meant) => finding.hint(format!("did you mean `{meant}`?")),
        None if listed.is_empty() || listed.len() > 12 => finding.hint("list it under `sources`, with its document and basis"),
        None => finding.hint(format!("list it under `sources`, or name one of {}", crate::slip::listed(listed))),
    })
}
