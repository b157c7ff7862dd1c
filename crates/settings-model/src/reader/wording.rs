//! What a schema finds, in people's words and at the right bytes.

use super::expected::{expected, missing, size};
use crate::catalogue::SettingId;
use crate::document::{Kind, Node};
use crate::finding::{Finding, nearest};
use crate::notation;
use crate::schema::complaints_of_text;
use crate::slip::Slip;
use crate::source::Place;
use schema_check::{Problem, ProblemKind};
use serde_json::Value as Json;

/// Adds a finding for each problem.
pub(super) fn report(problems: Vec<Problem<'_>>, root: &Node, findings: &mut Vec<Finding>) {
    let (mut values, mut unknown, mut absent) = (Vec::new(), Vec::new(), Vec::new());
    for problem in problems {
        match &problem.kind {
            ProblemKind::UnknownKey(_) => unknown.push(problem),
            ProblemKind::MissingKey(_) => absent.push(problem),
            _ => values.push(problem),
        }
    }
    findings.extend(each_once(values).iter().map(|problem| value(root, problem)));
    for problem in unknown {
        let ProblemKind::UnknownKey(key) = &problem.kind else { continue };
        // a misspelt key is unknown and missing at once, and is reported once
        let meant = nearest(key, problem.known_keys());
        absent.retain(|other| other.path != problem.path || !matches!(&other.kind, ProblemKind::MissingKey(k) if meant == Some(k)));
        findings.push(unknown_key(root, &problem, key, meant));
    }
    findings.extend(absent.iter().map(|problem| missing_key(root, problem)));
}

/// Of several problems with one value, the most telling; of several items of a list that are no
/// points, the first.
fn each_once(mut problems: Vec<Problem<'_>>) -> Vec<Problem<'_>> {
    let rank = |problem: &Problem<'_>| match problem.kind {
        ProblemKind::Complaint { .. } => 0,
        ProblemKind::NotOneOf(_) => 1,
        ProblemKind::Size | ProblemKind::OutOfRange => 2,
        _ => 3,
    };
    problems.sort_by(|a, b| (&a.path, rank(a)).cmp(&(&b.path, rank(b))));
    problems.dedup_by(|later, first| later.path == first.path);
    let no_point = |problem: &Problem<'_>| problem.schema["title"] == "point" && matches!(problem.kind, ProblemKind::WrongType(_));
    let list = |problem: &Problem<'_>| problem.path.split_last().map(|(_, list)| list.to_vec());
    problems.dedup_by(|later, first| no_point(later) && no_point(first) && list(later) == list(first));
    problems
}

/// So many functions still fit into a hint.
const FEW: usize = 12;

/// Where it says what a file of this kind may hold.
pub(super) fn see_schema(root: &Node) -> String {
    let kind = root.get("kind").map(Node::text).unwrap_or("KIND");
    format!("`asleft schema {kind}` prints what may stand here")
}

fn unknown_key(root: &Node, problem: &Problem<'_>, key: &str, meant: Option<&str>) -> Finding {
    let node = follow(root, &problem.path).0;
    let known: Vec<&str> = problem.known_keys().collect();
    let place = node.entry(key).map_or(node.place, |(key, _)| key.place);
    Finding::unusable("unknown-key", place, format!("unknown key `{key}`")).hint(match meant {
        Some(meant) => format!("did you mean `{meant}`?"),
        None if known.is_empty() => "take it out".to_owned(),
        None if known.iter().any(|key| SettingId::of_function(key).is_some()) && known.len() > FEW => {
            "`asleft list settings` names every function and setting".to_owned()
        }
        None => format!("known here: {}", known.join(", ")),
    })
}

/// A missing key has no place of its own: the key of the group that lacks it, or the group's first.
fn missing_key(root: &Node, problem: &Problem<'_>) -> Finding {
    let ProblemKind::MissingKey(key) = &problem.kind else { unreachable!("sorted out before") };
    let (node, own_key) = follow(root, &problem.path);
    let first = node.entries().first().map(|(key, _)| key.place);
    let place = own_key.or(first).unwrap_or(Place { end: node.place.start, ..node.place });
    Finding::unusable("missing-key", place, format!("`{key}` is missing")).hint(missing(key, &problem.schema))
}

fn value(root: &Node, problem: &Problem<'_>) -> Finding {
    let (node, _) = follow(root, &problem.path);
    let slip = match &problem.kind {
        ProblemKind::WrongType(wanted) => wrong_type(node, wanted, &problem.schema),
        ProblemKind::NotOneOf(words) => not_one_of(node, words),
        ProblemKind::Size => size(node, &problem.schema),
        ProblemKind::OutOfRange => out_of_range(node, &problem.schema),
        ProblemKind::Complaint { says, help } => Slip::new(says, help),
        ProblemKind::Other(says) => Slip::new(says, see_schema(root)),
        ProblemKind::UnknownKey(_) | ProblemKind::MissingKey(_) => unreachable!("sorted out before"),
    };
    Finding::unusable("value", node.place, slip.says).hint(slip.help)
}

fn wrong_type(node: &Node, wanted: &[String], schema: &Json) -> Slip {
    // a word, or a group with how it is known
    if let (Kind::Bool(_) | Kind::Number(_), Some(words)) = (&node.kind, schema["then"]["enum"].as_array()) {
        return not_one_of(node, &words.iter().filter_map(Json::as_str).map(str::to_owned).collect::<Vec<_>>());
    }
    let (noun, help) = expected(wanted, schema);
    let says = format!("expected {noun}, found {}", node.describe());
    match &node.kind {
        Kind::Null => Slip::new(says, format!("{help}; or leave the key out")),
        Kind::Number(written) => match &complaints_of_text(schema, written)[..] {
            [complaint, ..] => Slip::new(&complaint.says, &complaint.help),
            [] => Slip::new(says, quoted(wanted, written).unwrap_or(help)),
        },
        Kind::Bool(value) => Slip::new(says, quoted(wanted, &value.to_string()).unwrap_or(help)),
        _ => Slip::new(says, help),
    }
}

/// Text that YAML takes for something else.
fn quoted(wanted: &[String], written: &str) -> Option<String> {
    wanted.iter().any(|t| t == "string").then(|| format!("put it in quotation marks: `\"{written}\"`"))
}

fn not_one_of(node: &Node, words: &[String]) -> Slip {
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let written = match &node.kind {
        Kind::Bool(value) => value.to_string(),
        _ => node.text().to_owned(),
    };
    match notation::word(&words, &written) {
        Err(slip) if !written.is_empty() => slip,
        _ => Slip::new(format!("expected a word, found {}", node.describe()), format!("write {}", crate::slip::one_of(&words))),
    }
}

fn out_of_range(node: &Node, schema: &Json) -> Slip {
    let says = format!("{} is out of range", node.describe());
    Slip::new(
        says,
        match (&schema["minimum"], &schema["maximum"]) {
            (Json::Null, most) => format!("write a number of at most {most}"),
            (least, Json::Null) => format!("write a number of at least {least}"),
            (least, most) => format!("write a number from {least} to {most}"),
        },
    )
}

fn follow<'n>(root: &'n Node, path: &[String]) -> (&'n Node, Option<Place>) {
    root.follow(path.iter().map(String::as_str))
}
