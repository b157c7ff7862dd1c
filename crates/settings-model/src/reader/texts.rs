//! Texts longer than anybody reads: each would be compared, laid out and shown again and again.

use crate::document::{Kind as Value, Node};
use crate::files::Kind;
use crate::finding::{Finding, MOST_FAULTS};

/// Bytes of one text, or of one key. The longest of a shipped file has some hundreds.
pub const MOST_TEXT: usize = 10_000;

/// Adds every text and every key that is longer; whether there is any. The registers of an image are numbers, however
/// many stand in a line. A file that is one text is no file of keys, which is said elsewhere.
pub(super) fn too_long(root: &Node, kind: Kind, findings: &mut Vec<Finding>) -> bool {
    if root.place.end - root.place.start <= MOST_TEXT as u32 || matches!(root.kind, Value::Text(_) | Value::Number(_)) {
        return false; // most files
    }
    let before = findings.len();
    let is_passed_over = |key: &Node| kind == Kind::RegisterImage && key.text() == "registers";
    below(root, &is_passed_over, findings);
    findings.len() > before
}

fn below(node: &Node, is_passed_over: &dyn Fn(&Node) -> bool, findings: &mut Vec<Finding>) {
    if findings.len() > MOST_FAULTS {
        return; // more than anybody is told
    }
    match &node.kind {
        Value::List(items) => items.iter().for_each(|item| below(item, is_passed_over, findings)),
        Value::Map(entries) => {
            for (key, value) in entries.iter().filter(|(key, _)| !is_passed_over(key)) {
                below(key, is_passed_over, findings);
                below(value, is_passed_over, findings);
            }
        }
        Value::Text(text) | Value::Number(text) if text.len() > MOST_TEXT => findings.push(long(node, text.len())),
        _ => {}
    }
}

fn long(node: &Node, length: usize) -> Finding {
    let says = format!("a text of {length} bytes, and nobody reads more than {MOST_TEXT}");
    Finding::unusable("long-text", node.place, says).hint("shorten it; see whether a quote or a line break is missing")
}
