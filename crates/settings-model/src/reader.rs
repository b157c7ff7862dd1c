//! From text to a checked tree: every fault of a file in one reading, each reported once.
//!
//! The schema finds wrong shapes, units and words; this room puts its findings in people's words
//! and at the right bytes. What a schema cannot say (a source that is not listed) is looked for in
//! the same pass, so that nothing waits for a second run.

use crate::catalogue::SettingId;
use crate::document::{Kind as NodeKind, Node, parse};
use crate::files::Kind;
use crate::finding::{Finding, nearest};
use crate::notation;
use crate::quantity::Dimension;
use crate::schema;
use crate::source::{Place, SourceId};
use schema_check::{Checker, Problem, ProblemKind, Slip};
use serde::Deserialize;
use serde_json::Value as Json;
use std::sync::OnceLock;

/// Reads a file of one kind into a tree that its type can be read from.
///
/// # Errors
/// Every fault found, in the order of the text.
pub fn read(source: SourceId, text: &str, kind: Kind) -> Result<Node, Vec<Finding>> {
    let mut findings = Vec::new();
    let Some(root) = parse(source, text, &mut findings) else { return Err(findings) };
    if let Some(other) = other_kind(&root, kind) {
        return Err(vec![other]);
    }
    report(checker(kind).problems(&root.to_json()), &root, &mut findings);
    match kind {
        Kind::Site => check_approvals(&root, &mut findings),
        Kind::Standard | Kind::Overlay => check_sources(&root, &mut findings),
    }
    findings.sort_by_key(|finding| finding.place);
    if findings.is_empty() { Ok(root) } else { Err(findings) }
}

/// Reads a file that the program itself ships: its shape was checked when it was built.
///
/// # Errors
/// When the text is not YAML at all.
pub fn read_shipped(source: SourceId, text: &str) -> Result<Node, Vec<Finding>> {
    let mut findings = Vec::new();
    parse(source, text, &mut findings).filter(|_| findings.is_empty()).ok_or(findings)
}

/// The typed form of a checked tree.
///
/// # Errors
/// Where the type is stricter than its schema.
pub fn typed<'n, T: Deserialize<'n>>(root: &'n Node) -> Result<T, Vec<Finding>> {
    T::deserialize(root).map_err(|e| vec![Finding::unusable("value", e.place.unwrap_or(root.place), e.message)])
}

/// What kind of file it says it is, if it says so.
#[must_use]
pub fn kind_of(root: &Node) -> Option<Kind> {
    let word = root.get("kind")?.text();
    Kind::ALL.into_iter().find(|kind| kind.word() == word)
}

fn other_kind(root: &Node, wanted: Kind) -> Option<Finding> {
    let found = kind_of(root).filter(|found| *found != wanted)?;
    let place = root.get("kind").map_or(root.place, |node| node.place);
    Some(Finding::unusable(
        "wrong-kind",
        place,
        format!("a file of kind `{}` where one of kind `{}` is needed", found.word(), wanted.word()),
    ))
}

fn checker(kind: Kind) -> &'static Checker {
    static CHECKERS: [OnceLock<Checker>; 3] = [const { OnceLock::new() }; 3];
    CHECKERS[kind as usize].get_or_init(|| {
        Checker::new(schema::of_kind(kind), schema::KEYWORDS).expect("the tool's own schemas are valid; a test builds each")
    })
}

fn report(problems: Vec<Problem>, root: &Node, findings: &mut Vec<Finding>) {
    let (mut unknown, mut missing) = (Vec::new(), Vec::new());
    // a truth value where a word belongs is of the wrong type and none of the words: one fault
    let worded: Vec<Vec<String>> = problems.iter().filter(|p| matches!(p.kind, ProblemKind::NotOneOf(_))).map(|p| p.path.clone()).collect();
    let doubled = |p: &Problem| matches!(p.kind, ProblemKind::WrongType { .. }) && worded.contains(&p.path);
    for problem in problems.into_iter().filter(|p| !doubled(p)) {
        match problem.kind {
            ProblemKind::UnknownKey { key, known } => unknown.push((problem.path, key, known)),
            ProblemKind::MissingKey(key) => missing.push((problem.path, key)),
            other => findings.push(value_finding(root, &problem.path, other)),
        }
    }
    for (path, key, known) in unknown {
        // a misspelt key is unknown and missing at once, and is reported once
        let meant = nearest(&key, known.iter().map(String::as_str));
        missing.retain(|(at, wanted)| !(*at == path && meant == Some(wanted)));
        findings.push(unknown_key(root, &path, &key, meant, &known));
    }
    findings.extend(missing.into_iter().map(|(path, key)| missing_key(root, &path, &key)));
}

fn unknown_key(root: &Node, path: &[String], key: &str, meant: Option<&str>, known: &[String]) -> Finding {
    let node = follow(root, path).0;
    let place = node.entry(key).map_or(node.place, |(key, _)| key.place);
    let finding = Finding::unusable("unknown-key", place, format!("unknown key `{key}`"));
    match meant {
        Some(meant) => finding.hint(format!("did you mean `{meant}`?")),
        None if known.is_empty() => finding,
        None if known.len() <= 12 => finding.hint(format!("known here: {}", known.join(", "))),
        None => finding.hint("`asleft list settings` names every key"),
    }
}

/// A missing key has no place of its own: the key of the group that lacks it, or the group's first.
fn missing_key(root: &Node, path: &[String], key: &str) -> Finding {
    let (node, own_key) = follow(root, path);
    let first = node.entries().first().map(|(key, _)| key.place);
    let place = own_key.or(first).unwrap_or(Place { end: node.place.start, ..node.place });
    Finding::unusable("missing-key", place, format!("`{key}` is missing")).hint(format!("add `{key}: …`"))
}

fn value_finding(root: &Node, path: &[String], kind: ProblemKind) -> Finding {
    let (node, _) = follow(root, path);
    let (name, headline) = match kind {
        ProblemKind::WrongType { wanted, schema } => return wrong_type(node, &wanted, &schema),
        ProblemKind::NotOneOf(options) => {
            let words: Vec<&str> = options.iter().map(String::as_str).collect();
            let says = match &node.kind {
                NodeKind::Text(text) => notation::word(&words, text).err().unwrap_or_default(),
                _ => format!("expected one of {}, found {}", words.join(", "), node.describe()),
            };
            ("value", says)
        }
        ProblemKind::Slip(says) => ("value", says),
        ProblemKind::Other(says) => ("value", says),
        ProblemKind::UnknownKey { .. } | ProblemKind::MissingKey(_) => unreachable!("sorted out before"),
    };
    Finding::unusable(name, node.place, headline)
}

fn wrong_type(node: &Node, wanted: &[String], schema: &Json) -> Finding {
    let dimension = ["x-quantity", "x-time-or-never", "x-interval"].iter().find_map(|key| Dimension::named(schema.get(key)?.as_str()?));
    let says = match (&node.kind, dimension) {
        (NodeKind::Number(written), _) => as_text(written, schema),
        (_, Some(dimension)) => {
            Some(format!("expected {} such as `{}`, found {}", dimension.a_name(), dimension.example(), node.describe()))
        }
        _ => None,
    };
    let in_quotes = matches!(node.kind, NodeKind::Number(_)) && says.is_none() && wanted.iter().any(|t| t == "string");
    let says = says.unwrap_or_else(|| format!("expected {}, found {}", types(wanted), node.describe()));
    let finding = Finding::unusable("value", node.place, says);
    if in_quotes { finding.hint(format!("write it in quotation marks: `\"{}\"`", node.text())) } else { finding }
}

/// What the tool's own parser says to a number that stands where text belongs: a quantity without
/// its unit, a version of two numbers.
fn as_text(written: &str, schema: &Json) -> Option<String> {
    schema::KEYWORDS.iter().find_map(|keyword| match (keyword.check)(schema.get(keyword.name)?, &Json::String(written.to_owned())) {
        Err(Slip::Whole(says)) => Some(says),
        _ => None,
    })
}

fn types(wanted: &[String]) -> String {
    let word = |json: &String| match json.as_str() {
        "string" => Some("text"),
        "object" => Some("a group of keys"),
        "array" => Some("a list"),
        "boolean" => Some("`true` or `false`"),
        "null" => None,
        _ => Some("a whole number"),
    };
    wanted.iter().filter_map(word).collect::<Vec<_>>().join(" or ")
}

fn follow<'n>(root: &'n Node, path: &[String]) -> (&'n Node, Option<Place>) {
    root.follow(path.iter().map(String::as_str))
}

/// An approval that names a device names one that the site has.
fn check_approvals(root: &Node, findings: &mut Vec<Finding>) {
    let devices: Vec<&str> = root.get("devices").map(Node::entries).unwrap_or_default().iter().map(|(key, _)| key.text()).collect();
    for setting in root.get("site-specific-approvals").map(Node::items).unwrap_or_default().iter().filter_map(|a| a.get("setting")) {
        let Some((device, rest)) = setting.text().split_once('/') else { continue };
        if SettingId::named(rest).is_some() && !devices.contains(&device) {
            let finding = Finding::unusable("unknown-device", setting.place, format!("the site has no device `{device}`"));
            findings.push(finding.hint(format!("its devices: {}; without a device in front, all are meant", devices.join(", "))));
        }
    }
}

/// Every statement rests on a source, and every source that is named is listed.
fn check_sources(root: &Node, findings: &mut Vec<Finding>) {
    if root.get("sources").is_none() {
        return; // that they are missing is said once
    }
    let listed: Vec<&str> = root.get("sources").map(Node::entries).unwrap_or_default().iter().map(|(key, _)| key.text()).collect();
    let regions = root.get("regions").map(Node::entries).unwrap_or_default();
    let blocks = regions.iter().filter_map(|(_, region)| region.get("settings")).chain(root.get("settings"));
    let functions = blocks.flat_map(Node::entries).flat_map(|(_, function)| function.entries());
    for (key, statement) in functions {
        let cases = statement.get("cases").map(Node::items).unwrap_or_default();
        for said in cases.iter().chain(std::iter::once(statement)) {
            check_statement_sources(key.place, said, &listed, findings);
        }
    }
}

fn check_statement_sources(key: Place, said: &Node, listed: &[&str], findings: &mut Vec<Finding>) {
    for name in ["source", "range-source"] {
        let Some(source) = said.get(name).filter(|node| !node.text().is_empty() && !listed.contains(&node.text())) else { continue };
        let finding = Finding::unusable("unknown-source", source.place, format!("`{}` is not among the file's sources", source.text()));
        findings.push(match nearest(source.text(), listed.iter().copied()) {
            Some(meant) => finding.hint(format!("did you mean `{meant}`?")),
            None => finding.hint(format!("listed under `sources`: {}", listed.join(", "))),
        });
    }
    let numbers = ["require", "comply", "also", "adjustable", "gap"].iter().find_map(|verb| said.entry(verb));
    if let (Some((verb, _)), None) = (numbers, said.get("source")) {
        let place = if verb.place.is_known() { verb.place } else { key };
        let finding = Finding::unusable("no-source", place, "a demand without a source");
        findings.push(finding.hint("add `source: …`, naming one of the file's `sources`"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_a_schema_that_compiles() {
        for kind in Kind::ALL {
            let _ = checker(kind);
        }
    }
}
