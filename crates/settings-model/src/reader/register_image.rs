//! What the schema of a register image cannot say: that rows are registers, and that runs lie apart.

use crate::document::{Kind, Node};
use crate::finding::Finding;

/// One past the last address.
const END: u64 = 1 << 16;

/// Adds what does not fit together.
pub(super) fn check(root: &Node, findings: &mut Vec<Finding>) {
    let mut seen: Vec<(u64, u64, &Node)> = Vec::new();
    for run in root.get("runs").map(Node::items).unwrap_or_default() {
        let Some(from) = run.get("from") else { continue };
        let Ok(first) = from.text().parse::<u64>() else { continue };
        let mut next = first;
        let rows = run.get("registers").map(Node::items).unwrap_or_default().iter();
        // that a row is no text at all is said already
        for row in rows.filter(|row| matches!(row.kind, Kind::Text(_))) {
            let words: Vec<&str> = row.text().split_whitespace().collect();
            if let Some(word) = words.iter().find(|word| word.len() != 4 || !word.bytes().all(|b| b.is_ascii_hexdigit())) {
                let finding = Finding::unusable("register", row.place, format!("`{word}` is no register"));
                findings.push(finding.hint("write each as four hexadecimal digits, as `002f`, with spaces between"));
            }
            next += words.len() as u64;
        }
        if next > END {
            let says = format!("the run reaches past the last address, which is {}", END - 1);
            findings.push(Finding::unusable("run-too-long", from.place, says).hint("begin it lower, or leave registers out"));
        }
        if let Some((.., other)) = seen.iter().find(|(start, end, _)| first < *end && *start < next) {
            let finding = Finding::unusable("runs-overlap", from.place, "two runs hold the same address");
            findings.push(finding.because(other.place, "the other begins here").hint("keep each register once"));
        }
        seen.push((first, next, from));
    }
}
