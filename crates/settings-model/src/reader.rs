//! From text to a checked tree: every fault of a file in one reading, each reported once.
//!
//! The schema finds wrong shapes, units and words (`wording` puts its findings in people's words and
//! at the right bytes). What a schema cannot say, such as a source that is not listed, is looked for
//! in the same pass (`site`, `profile`), so that nothing waits for a second run.

mod anchors;
mod attestation;
mod cables;
mod checker;
mod column_map;
mod commas;
mod commissioning;
mod expected;
mod export_map;
mod label_map;
mod profile;
mod register_image;
mod scenario;
mod site;
mod texts;
mod wording;

pub use texts::MOST_TEXT;

use crate::document::{Node, parse};
use crate::files::Kind;
use crate::finding::{Finding, MOST_FAULTS, in_order};
use crate::source::SourceId;
use serde::Deserialize;

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
    check(&root, kind, &mut findings);
    commas::report(text, &root, &mut findings);
    sorted(root, findings)
}

/// Checks a tree that was put together from several texts.
///
/// # Errors
/// Every fault found, text by text in their order.
pub fn checked(root: Node, kind: Kind) -> Result<Node, Vec<Finding>> {
    let mut findings = Vec::new();
    check(&root, kind, &mut findings);
    sorted(root, findings)
}

fn check(root: &Node, kind: Kind, findings: &mut Vec<Finding>) {
    if texts::too_long(root, kind, findings) {
        return; // what follows would look at each of them, and show it
    }
    names_of_several_lines(root, findings);
    wording::report(checker::problems(kind, root, MOST_FAULTS + 1), root, findings);
    if findings.len() > MOST_FAULTS {
        return; // more than anybody is told
    }
    match kind {
        Kind::Site => site::check(root, findings),
        Kind::Standard | Kind::Overlay => profile::check(root, findings),
        Kind::LabelMap => label_map::check(root, findings),
        Kind::ColumnMap => column_map::check(root, findings),
        Kind::ExerciseKey => {}
        Kind::Attestation => attestation::check(root, findings),
        Kind::Scenario => scenario::check(root, findings),
        Kind::Commissioning => commissioning::check(root, findings),
        Kind::ExportMap => export_map::check(root, findings),
        Kind::RegisterImage => register_image::check(root, findings),
    }
}

/// Keys are names too, and stand on one line.
fn names_of_several_lines(node: &Node, findings: &mut Vec<Finding>) {
    for (key, value) in node.entries() {
        if findings.len() > MOST_FAULTS {
            return; // more than anybody is told
        }
        if let Err(slip) = crate::notation::one_line(key.text()) {
            findings.push(Finding::unusable("name", key.place, slip.says).hint(slip.help));
        }
        names_of_several_lines(value, findings);
    }
    node.items().iter().for_each(|item| names_of_several_lines(item, findings));
}

fn sorted(root: Node, findings: Vec<Finding>) -> Result<Node, Vec<Finding>> {
    if findings.is_empty() { Ok(root) } else { Err(in_order(findings)) }
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
    let refused = |place, says: String| match no_whole_number(&says) {
        Some(written) => {
            let says = format!("`{written}` is written with decimals where a whole number belongs");
            Finding::unusable("value", place, says).hint("write it without a decimal point")
        }
        None => Finding::unusable("value", place, says).hint(wording::see_schema(root)),
    };
    T::deserialize(root).map_err(|e| vec![refused(e.place.unwrap_or(root.place), e.message)])
}

/// What is written in place of a whole number: to a schema `1.0` is one.
fn no_whole_number(says: &str) -> Option<&str> {
    let (written, wanted) = says.strip_prefix("invalid type: string \"")?.split_once("\", expected ")?;
    (wanted.starts_with(['u', 'i']) && wanted[1..].parse::<u8>().is_ok()).then_some(written)
}

/// What kind of file it says it is, if it says so.
#[must_use]
pub fn kind_of(root: &Node) -> Option<Kind> {
    Kind::named(root.get("kind")?.text())
}

fn other_kind(root: &Node, wanted: Kind) -> Option<Finding> {
    let found = kind_of(root).filter(|found| *found != wanted)?;
    let place = root.get("kind").map_or(root.place, |node| node.place);
    let says = format!("a file of kind `{}` where one of kind `{}` belongs", found.word(), wanted.word());
    Some(Finding::unusable("wrong-kind", place, says).hint(wanted.instead()))
}
